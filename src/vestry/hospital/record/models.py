"""Rows of the record: an entry and its events. An event is the fact; an entry's row is a cache of its state."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from vestry.hospital.ids import uuid7
from vestry.hospital.keeping import Once

_PERSON = settings.AUTH_USER_MODEL


class Entry(models.Model):
    """One colleague's pass. Who and along which version; `stage`, `position` and `events_folded` are a cache."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    version = models.ForeignKey("desk.ProcedureVersion", on_delete=models.PROTECT, related_name="entries")
    wearer = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="entries_worn")
    observer = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="entries_observed")
    assistant = models.ForeignKey(_PERSON, null=True, on_delete=models.PROTECT, related_name="entries_assisted")
    drill = models.BooleanField(default=False)
    created_at = models.DateTimeField()
    stage = models.CharField(max_length=12, default="not-opened")
    position = models.PositiveIntegerField(default=0)
    events_folded = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ("-created_at",)

    def __str__(self) -> str:
        return f"{self.wearer} on {self.created_at:%Y-%m-%d %H:%M}"


class Event(Once):
    """One event, in the server's order. `hash` chains it to the one before; neither model nor database lets it change.

    client_id, device, device_clock, device_counter   as the device told it
    sequence, server_time                             the server's own order and time
    """

    sequence = models.BigIntegerField(primary_key=True)
    client_id = models.UUIDField(unique=True)
    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=60)
    payload = models.JSONField()
    actor = models.CharField(max_length=60)
    device = models.UUIDField()
    device_clock = models.CharField(max_length=40)
    device_counter = models.BigIntegerField()
    plan_hash = models.CharField(max_length=64)
    server_time = models.CharField(max_length=40)
    previous = models.CharField(max_length=64)
    hash = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ("sequence",)

    def __str__(self) -> str:
        return f"{self.sequence} {self.kind}"

"""Rows of the record: an entry and its events. An event is the fact; an entry's row is a cache of its state."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models

from vestry.hospital.ids import uuid7
from vestry.hospital.keeping import Once

_PERSON = settings.AUTH_USER_MODEL


class Entry(models.Model):
    """One colleague's pass: who, along which version, in which room (its code; empty where nobody said).

    From `stage` on everything is a cache of what the events say (store.py), to list and search by.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    version = models.ForeignKey("desk.ProcedureVersion", on_delete=models.PROTECT, related_name="entries")
    wearer = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="entries_worn")
    observer = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="entries_observed")
    assistant = models.ForeignKey(_PERSON, null=True, on_delete=models.PROTECT, related_name="entries_assisted")
    drill = models.BooleanField(default=False)
    room = models.SlugField(max_length=40, blank=True)
    call = models.ForeignKey("call.Call", null=True, on_delete=models.PROTECT, related_name="entries")
    created_at = models.DateTimeField()
    stage = models.CharField(max_length=12, default="not-opened")
    position = models.PositiveIntegerField(default=0)
    events_folded = models.PositiveIntegerField(default=0)
    entered_at = models.DateTimeField(null=True)
    left_at = models.DateTimeField(null=True)
    deviations = models.PositiveIntegerField(default=0)
    exposures = models.PositiveIntegerField(default=0)
    contradictions = models.PositiveIntegerField(default=0)
    late = models.BooleanField(default=False)

    class Meta:
        ordering = ("-created_at",)
        indexes = (models.Index(fields=["-created_at"], name="entry_created"),)

    def __str__(self) -> str:
        return f"{self.wearer} on {self.created_at:%Y-%m-%d %H:%M}"


def paper_of(entry: Entry) -> str:
    """The device id of the printed sheet of an entry: what was on paper first is said as from there."""
    return str(uuid.uuid5(entry.pk, "paper"))


def remover_of(entry: Entry) -> str:
    """The device id of the server, where it says that content of an entry was removed."""
    return str(uuid.uuid5(entry.pk, "removal"))


class Event(Once):
    """One event, in the server's order. `hash` chains it to the one before; neither model nor database lets it change.

    client_id, device, device_clock, device_counter   as the device told it
    sequence, server_time                             the server's own order and time
    salt, commitment, previous, hash                  the server's chain (vestry.entry.chains); without a salt the
                                                      content was removed, lawfully (hospital.retention)
    device_previous, link                             the device's own chain, where it keeps one
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
    salt = models.CharField(max_length=32, null=True)
    commitment = models.CharField(max_length=64, null=True)
    device_previous = models.CharField(max_length=64, null=True)
    link = models.CharField(max_length=64, null=True)
    previous = models.CharField(max_length=64)
    hash = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ("sequence",)

    def __str__(self) -> str:
        return f"{self.sequence} {self.kind}"


class RecordRead(Once):
    """Who read or took away what of the record, and when. `what`: record, export, exposures, log."""

    entry = models.ForeignKey(Entry, null=True, on_delete=models.PROTECT, related_name="reads")
    what = models.CharField(max_length=20)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-pk")

    def __str__(self) -> str:
        return f"{self.by_id} read {self.what}"


class ExposureTaken(Once):
    """Occupational health has taken up an exposure: the event that opened it, who, when."""

    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="taken")
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"exposure {self.event_id} taken up"


class FirstAidVersion(Once):
    """The unit's own words after a breach or exposure, by kind (first_aid.KINDS). The newest of a kind is in force."""

    kind = models.CharField(max_length=20, db_index=True)
    text = models.TextField()
    reason = models.TextField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-pk")

    def __str__(self) -> str:
        return f"{self.kind}, {self.at:%Y-%m-%d}"

"""Rotas and what was done with them. Rows are written once; the roster in force is folded from them."""

from __future__ import annotations

import datetime
import secrets
from typing import Any

from django.conf import settings
from django.db import models

from vestry.hospital.access.codes import proof_of
from vestry.hospital.ids import uuid7
from vestry.hospital.keeping import Once

_PERSON = settings.AUTH_USER_MODEL


class RotaVersion(Once):
    """A rota as it was asked (vestry.roster.Rota). People by their staff code where they are from the register.

    procedure      along which the qualification of those from the register was asked; none: the rota was brought in
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    number = models.PositiveIntegerField(unique=True)
    rota = models.JSONField()
    procedure = models.ForeignKey("desk.ProcedureVersion", null=True, on_delete=models.PROTECT, related_name="+")
    reason = models.TextField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-number",)

    def __str__(self) -> str:
        return f"rota {self.number}"


class RosterAct(Once):
    """A proposal taken or left, or a cell changed by hand (vestry.roster.Act)."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    rota = models.ForeignKey(RotaVersion, on_delete=models.PROTECT, related_name="acts")
    act = models.JSONField()
    reason = models.TextField(blank=True)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("at", "id")

    def __str__(self) -> str:
        return f"{self.act.get('kind')} of {self.rota_id}"


class RosterFeed(models.Model):
    """A calendar feed: of one person's own shifts, or (person none) of the whole team. Only its proof stands here."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    proof = models.CharField(max_length=64, unique=True)
    person = models.ForeignKey(
        "registers.RegisteredPerson", null=True, on_delete=models.PROTECT, related_name="roster_feeds"
    )
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"roster feed of {self.by}"

    @classmethod
    def made_for(cls, by: Any, person: Any, at: datetime.datetime) -> tuple[str, RosterFeed]:
        """A new secret, and the feed that it opens; not stored yet."""
        secret = secrets.token_urlsafe(24)
        return secret, cls(proof=proof_of(secret), by=by, person=person, at=at)

    @classmethod
    def of(cls, secret: str) -> RosterFeed | None:
        """The feed that this secret opens, unless it was ended."""
        found = cls.objects.select_related("by", "person").filter(proof=proof_of(secret), ended_at=None)
        return found.first()

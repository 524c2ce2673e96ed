"""People on the register. Whoever signs in is a User; somebody on the register may or may not have a sign-in."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from vestry.hospital.ids import uuid7
from vestry.hospital.keeping import Once
from vestry.people import NOTE_KINDS

_USER = settings.AUTH_USER_MODEL


class RegisteredPerson(models.Model):
    """Somebody on the register: their code at this hospital, their name, and their sign-in if they have one.

    active, duties   a cache of the latest note on identity, to search by
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    code = models.CharField("staff code", max_length=40, unique=True)
    name = models.CharField(max_length=120, db_index=True)
    user = models.OneToOneField(_USER, null=True, on_delete=models.PROTECT, related_name="registered")
    active = models.BooleanField(default=True, db_index=True)
    duties = models.CharField(max_length=40, default="wearer")
    added_at = models.DateTimeField()

    class Meta:
        ordering = ("name", "code")

    def __str__(self) -> str:
        return self.name


class PersonNote(Once):
    """One note on somebody: `said` is the value of its kind (vestry.people.notes)."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    person = models.ForeignKey(RegisteredPerson, on_delete=models.PROTECT, related_name="notes")
    kind = models.CharField(max_length=12, choices=[(one, one) for one in NOTE_KINDS])
    said = models.JSONField()
    by = models.ForeignKey(_USER, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("at", "id")

    def __str__(self) -> str:
        return f"{self.kind} of {self.person_id}"


class AbsenceReason(Once):
    """Why somebody is away. Apart from the absence, so that whoever reads the register does not read this."""

    note = models.OneToOneField(PersonNote, on_delete=models.PROTECT, related_name="reason")
    reason = models.CharField(max_length=500)

    def __str__(self) -> str:
        return f"reason of {self.note_id}"


class HealthRead(Once):
    """Who read somebody's health data, and when."""

    person = models.ForeignKey(RegisteredPerson, on_delete=models.PROTECT, related_name="health_reads")
    by = models.ForeignKey(_USER, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at",)

    def __str__(self) -> str:
        return f"{self.by_id} read of {self.person_id}"

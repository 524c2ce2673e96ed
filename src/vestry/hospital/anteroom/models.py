"""Rows of the tablets: codes, tablets, badges with PINs, who was identified where, which entry went to which tablet;
the unit's own texts beside the steps.

All are written once. The newest badge of a person counts; a revoked tablet has a row that says so. Of a code, a token
and a PIN only hashes are kept.
"""

from __future__ import annotations

from django.conf import settings
from django.db import models

from vestry.hospital.ids import uuid7
from vestry.hospital.keeping import Once

_PERSON = settings.AUTH_USER_MODEL


class EnrolmentCode(Once):
    """A code that enrols one tablet, once, within a quarter of an hour."""

    code_hash = models.CharField(max_length=64, unique=True)
    name = models.CharField(max_length=60)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"code for {self.name}"


class Tablet(Once):
    """An enrolled tablet. Its id is the device id of its events."""

    id = models.UUIDField(primary_key=True, editable=False)
    name = models.CharField(max_length=60)
    code = models.OneToOneField(EnrolmentCode, on_delete=models.PROTECT, related_name="tablet")
    token_hash = models.CharField(max_length=64, unique=True)
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at",)

    def __str__(self) -> str:
        return self.name

    @property
    def revoked(self) -> bool:
        return hasattr(self, "revocation")


class TabletRevoked(Once):
    """A tablet whose token is worth nothing any more."""

    tablet = models.OneToOneField(Tablet, on_delete=models.PROTECT, related_name="revocation")
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    reason = models.TextField()

    def __str__(self) -> str:
        return f"{self.tablet} revoked"


class Badge(Once):
    """Someone's badge code and PIN. The newest counts.

    pin_hash                        as a password, for the server
    offline_salt, rounds, offline_hash   for a tablet without a network (PBKDF2, SHA-256)
    """

    person = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="badges")
    badge = models.CharField(max_length=40, db_index=True)
    pin_hash = models.CharField(max_length=200)
    offline_salt = models.CharField(max_length=32)
    offline_rounds = models.PositiveIntegerField()
    offline_hash = models.CharField(max_length=64)
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-pk")

    def __str__(self) -> str:
        return f"badge of {self.person}"


class Identified(Once):
    """Someone was identified on a tablet by badge and PIN. The token stands for it for one shift."""

    tablet = models.ForeignKey(Tablet, on_delete=models.PROTECT, related_name="+")
    person = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    token_hash = models.CharField(max_length=64, unique=True)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.person} on {self.tablet}"


class Carrying(Once):
    """An entry went to a tablet, on the word of whoever was identified there."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    tablet = models.ForeignKey(Tablet, on_delete=models.PROTECT, related_name="+")
    entry = models.ForeignKey("record.Entry", on_delete=models.PROTECT, related_name="carried")
    person = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.entry} on {self.tablet}"


class WearerLink(Once):
    """A secret address of the wearer's screen of one entry, until a time. Of the secret only a hash is kept."""

    secret_hash = models.CharField(max_length=64, unique=True)
    entry = models.ForeignKey("record.Entry", on_delete=models.PROTECT, related_name="wearer_links")
    tablet = models.ForeignKey(Tablet, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    until = models.DateTimeField()

    def __str__(self) -> str:
        return f"wearer's screen of {self.entry}"


class OwnTextVersion(Once):
    """A version of one of the unit's own texts (entry.beside.OWN_TEXTS): its lines. No lines: the unit took it back."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    name = models.CharField(max_length=30, db_index=True)
    number = models.PositiveIntegerField()
    lines = models.JSONField()
    reason = models.TextField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("name", "-number")
        constraints = (models.UniqueConstraint(fields=["name", "number"], name="one_own_text_of_a_number"),)

    def __str__(self) -> str:
        return f"{self.name}, version {self.number}"

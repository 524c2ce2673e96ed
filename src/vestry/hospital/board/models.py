"""Rows of the board: how the unit wants it, and who confirmed the case when. All are written once."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from vestry.hospital.ids import uuid7
from vestry.hospital.keeping import Once

_PERSON = settings.AUTH_USER_MODEL
FIRST_NAMES, INITIALS, NUMBERS = "first-names", "initials", "numbers"
NAMES = {FIRST_NAMES: _("first names"), INITIALS: _("initials"), NUMBERS: _("no names: wearer 1, wearer 2")}


class BoardChoice(Once):
    """What the unit lets the wall say of people, and how long its lane takes to turn around. The newest is in force.

    names                what stands for a person; initials where nobody chose
    turnaround_minutes   the unit's own figure; None: reckoned from the durations of the facts
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    names = models.CharField(max_length=12)
    turnaround_minutes = models.PositiveIntegerField(null=True)
    reason = models.TextField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return f"board of {self.at:%Y-%m-%d}"

    @classmethod
    def current(cls) -> BoardChoice:
        return cls.objects.first() or cls(names=INITIALS, turnaround_minutes=None)


class CaseConfirmed(Once):
    """Somebody who answers for it said that the case is still as the entries under way were planned for."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    case = models.CharField(max_length=80)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return f"{self.case} confirmed"


class WallCode(Once):
    """A code that opens the board on one wall, once, within a quarter of an hour. Only a hash is kept."""

    code_hash = models.CharField(max_length=64, unique=True)
    name = models.CharField(max_length=60)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"code for {self.name}"


class Wall(Once):
    """A screen that shows the board without anybody signed in, by a secret address; of that only a hash is kept."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    code = models.OneToOneField(WallCode, on_delete=models.PROTECT, related_name="wall")
    name = models.CharField(max_length=60)
    secret_hash = models.CharField(max_length=64, unique=True)
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return self.name

    @property
    def over(self) -> bool:
        return hasattr(self, "ended")


class WallEnded(Once):
    """A wall whose address is worth nothing any more."""

    wall = models.OneToOneField(Wall, on_delete=models.PROTECT, related_name="ended")
    reason = models.TextField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.wall} ended"


class WallOpened(Once):
    """A wall's page was loaded, from where."""

    wall = models.ForeignKey(Wall, on_delete=models.PROTECT, related_name="opened")
    address = models.CharField(max_length=45)
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-pk")

    def __str__(self) -> str:
        return f"{self.wall} opened"

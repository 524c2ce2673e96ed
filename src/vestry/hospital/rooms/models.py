"""Rows of rooms. All are written once: a register grows by versions, a log by lines, bags by events."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from vestry.hospital.ids import uuid7
from vestry.hospital.keeping import Once

_PERSON = settings.AUTH_USER_MODEL


class RoomVersion(Once):
    """What is written of a room. The newest of a code is in force.

    kind        as vestry.room.checks.RoomKind
    ach         its own ventilation, air changes an hour; volume in cubic metres; None where nobody has written it
    out_of_use  nobody is taken in there, with the reason
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=20)
    ach = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    volume = models.DecimalField(max_digits=9, decimal_places=3, null=True)
    mixing = models.DecimalField(max_digits=4, decimal_places=1)
    out_of_use = models.BooleanField(default=False)
    reason = models.TextField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-id")
        indexes = (models.Index(fields=["code", "at"], name="room_version_code"),)

    def __str__(self) -> str:
        return self.name


class RoomCheck(Once):
    """One reading of a room, in pascal or air changes an hour; `written` is what was typed, unit and all.

    within   against the limit that was in force then (`limit`, by record; `operations`, the digest); None: no limit
    seen     looked at besides: smoke or a strip moved inwards
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    code = models.SlugField(max_length=40)
    measure = models.CharField(max_length=12)
    value = models.DecimalField(max_digits=10, decimal_places=3)
    written = models.CharField(max_length=40)
    within = models.BooleanField(null=True)
    limit = models.CharField(max_length=120, blank=True)
    operations = models.CharField(max_length=64)
    seen = models.BooleanField(default=False)
    note = models.TextField(blank=True)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-id")
        indexes = (models.Index(fields=["code", "at"], name="room_check_code"),)

    def __str__(self) -> str:
        return f"{self.code}: {self.written}"


class HeatReading(Once):
    """Temperature and humidity read in a room, in degrees Celsius, percent, m/s; `written` is what was typed.

    radiant   None: taken as the air
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    code = models.SlugField(max_length=40)
    air = models.DecimalField(max_digits=6, decimal_places=3)
    humidity = models.DecimalField(max_digits=6, decimal_places=3)
    speed = models.DecimalField(max_digits=6, decimal_places=3)
    radiant = models.DecimalField(max_digits=6, decimal_places=3, null=True)
    written = models.CharField(max_length=120)
    note = models.TextField(blank=True)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-id")
        indexes = (models.Index(fields=["code", "at"], name="heat_reading_code"),)

    def __str__(self) -> str:
        return f"{self.code}: {self.written}"


class HeatGear(Once):
    """How warm a procedure's work and clothing are, by the unit's own word (vestry.heat.Gear). The newest counts.

    metabolic   W per square metre;  clothing in clo and permeability None where impermeable
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    procedure = models.SlugField(max_length=120, db_index=True)
    metabolic = models.DecimalField(max_digits=7, decimal_places=3)
    impermeable = models.BooleanField()
    clothing = models.DecimalField(max_digits=5, decimal_places=3, null=True)
    permeability = models.DecimalField(max_digits=5, decimal_places=3, null=True)
    reason = models.TextField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return self.procedure


class HeatFound(Once):
    """What the model said for the conditions of a reading and a procedure: a computation that is kept.

    key    SHA-256 over the conditions and the digest of the facts;  found: vestry.heat.Predicted, None where refused
    """

    key = models.CharField(max_length=64, primary_key=True)
    found = models.JSONField(null=True)
    reasons = models.JSONField()
    at = models.DateTimeField()

    def __str__(self) -> str:
        return self.key


class MadeUp(Once):
    """Disinfectant that was made up: what was asked, and the recipe as it was worked out then."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    code = models.SlugField(max_length=40)
    form = models.CharField(max_length=10)
    stock = models.CharField(max_length=40)
    wanted = models.CharField(max_length=40)
    recipe = models.JSONField()
    operations = models.CharField(max_length=64)
    discard_at = models.DateTimeField()
    note = models.TextField(blank=True)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return f"{self.wanted}, {self.code}"


class BagHappened(Once):
    """An event of vestry.room.bags, as it came. Roles are those that the person had then.

    holds, amount   what is in it, its weight or volume as it was written; None where nobody wrote it
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    act = models.CharField(max_length=12)
    number = models.CharField(max_length=40, blank=True, db_index=True)
    case = models.CharField(max_length=40, blank=True)
    room = models.SlugField(max_length=40, blank=True)
    stream = models.CharField(max_length=120, blank=True)
    result = models.CharField(max_length=12, blank=True)
    holds = models.CharField(max_length=120, null=True)
    amount = models.CharField(max_length=40, null=True)
    reason = models.TextField(blank=True)
    roles = models.JSONField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("at", "id")

    def __str__(self) -> str:
        return f"{self.number or self.case}: {self.act}"

"""Rows of calls, of the unit's own lists, of outsiders and of named overrides. All are written once.

A call's row says what was told when it was taken; everything after that is a line (CallLine), and what a call comes to
is worked out from them (vestry.call.stands).
"""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils.translation import gettext as _

from vestry.hospital.ids import uuid7
from vestry.hospital.keeping import Once
from vestry.trade.first_hour import ListName, UnitList, shipped_list

_PERSON = settings.AUTH_USER_MODEL
_REGISTERED = "registers.RegisteredPerson"


class Call(Once):
    """A patient is coming. A case has a code and never a name.

    stays        `transfer`: until transfer; `stay`; `undecided`
    expected_at  when the patient is expected; None: not known yet
    drill        nobody real is coming: marked everywhere, alarms nobody
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    code = models.CharField(max_length=40)
    hazard = models.CharField(max_length=120)
    presentation = models.CharField(max_length=10)
    tasks = models.JSONField()
    stays = models.CharField(max_length=10)
    hours = models.PositiveIntegerField()
    expected_at = models.DateTimeField(null=True)
    note = models.TextField(blank=True)
    drill = models.BooleanField(default=False)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return f"{self.code}, drill" if self.drill else self.code


class CallLine(Once):
    """One line on a call (vestry.call.Happened). Its id comes from the page: a line sent twice is one line."""

    id = models.UUIDField(primary_key=True, editable=False)
    call = models.ForeignKey(Call, on_delete=models.PROTECT, related_name="lines")
    kind = models.CharField(max_length=12)
    person = models.ForeignKey(_REGISTERED, null=True, on_delete=models.PROTECT, related_name="+")
    item = models.CharField(max_length=60, blank=True)
    when = models.DateTimeField()
    due = models.DateTimeField(null=True)
    note = models.TextField(blank=True)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("when", "at", "id")

    def __str__(self) -> str:
        return f"{self.kind} of {self.call_id}"


def _said(text: str) -> str:
    return _(text) if text else ""


class UnitListVersion(Once):
    """The unit's own list, as of one version: items of vestry.trade.first_hour.ListItem. The newest is in force."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    name = models.CharField(max_length=10, db_index=True)
    number = models.PositiveIntegerField()
    items = models.JSONField()
    reason = models.TextField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("name", "-number")
        constraints = (models.UniqueConstraint(fields=["name", "number"], name="one_list_of_a_number"),)

    def __str__(self) -> str:
        return f"{self.name}, version {self.number}"

    @classmethod
    def in_force(cls, name: ListName) -> tuple[int, UnitList]:
        """The version in force and its list; version 0 is common practice, where the unit has written none."""
        newest = cls.objects.filter(name=name).first()
        if newest is None:
            return 0, shipped_list(name)
        return newest.number, UnitList.model_validate({"name": name, "items": newest.items})

    @classmethod
    def shown(cls, name: ListName) -> tuple[int, UnitList]:
        """As in_force, for reading: what the unit left as it was shipped, in the language of the page."""
        number, listed = cls.in_force(name)
        said = (one.model_copy(update={"say": _(one.say), "else_do": _said(one.else_do)}) for one in listed.items)
        return number, listed.model_copy(update={"items": tuple(said)})


class Outsider(Once):
    """Somebody of no register who may go in for this case: added by the shift lead, without a sign-in of their own.

    user         who stands in the record for them: it can never sign in
    respirator   `fitted`: a fit test is known; `powered`: a powered hood instead; `not-known`
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    call = models.ForeignKey(Call, null=True, on_delete=models.PROTECT, related_name="outsiders")
    user = models.OneToOneField(_PERSON, on_delete=models.PROTECT, related_name="outsider")
    name = models.CharField(max_length=80)
    comes_as = models.CharField(max_length=80)
    glove = models.CharField(max_length=20, blank=True)
    gown = models.CharField(max_length=20, blank=True)
    respirator = models.CharField(max_length=10)
    model = models.CharField(max_length=60, blank=True)
    briefed_by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    consents = models.BooleanField()
    note = models.TextField(blank=True)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return self.name


class EntryOverride(Once):
    """A lead's own decision that an entry may begin although rules refuse: by name, for one entry only.

    rules   what refused, as `rule:part` (vestry.hospital.call.rules)
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    version = models.ForeignKey("desk.ProcedureVersion", on_delete=models.PROTECT, related_name="+")
    call = models.ForeignKey(Call, null=True, on_delete=models.PROTECT, related_name="overrides")
    wearer = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    observer = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    assistant = models.ForeignKey(_PERSON, null=True, on_delete=models.PROTECT, related_name="+")
    rules = models.JSONField()
    reason = models.TextField()
    alternative = models.TextField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return f"override by {self.by}"

    @property
    def used(self) -> bool:
        return hasattr(self, "use")


class OverrideUsed(Once):
    """The one entry that an override was for."""

    override = models.OneToOneField(EntryOverride, on_delete=models.PROTECT, related_name="use")
    entry = models.ForeignKey("record.Entry", on_delete=models.PROTECT, related_name="overrides")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.override} for {self.entry}"

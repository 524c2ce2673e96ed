"""Rows of the desk: the unit and its policy, cases that were planned, procedures and their versions."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import models

from vestry.hospital.ids import uuid7
from vestry.hospital.keeping import Once

_PERSON = settings.AUTH_USER_MODEL


class Unit(models.Model):
    """The hospital whose pages these are. `invented` marks every page as a demonstration."""

    name = models.CharField(max_length=120)
    invented = models.BooleanField(default=False)

    def __str__(self) -> str:
        return self.name

    @classmethod
    def current(cls) -> Unit:
        return cls.objects.order_by("pk").first() or cls(name="This hospital", invented=False)


class PolicyVersion(Once):
    """The unit's standing choices as of one day. The newest is in force."""

    number = models.PositiveIntegerField(unique=True)
    policy = models.JSONField()
    reason = models.TextField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"policy {self.number}"

    @classmethod
    def current(cls) -> dict[str, Any]:
        newest = cls.objects.order_by("-number").first()
        return dict(newest.policy) if newest else {}


class PlannedCase(models.Model):
    """A case that was taken, and what planning made of it. A cache of a computation: planning again fills it anew."""

    WAITING, PLANNED, REFUSED, FAILED = "waiting", "planned", "refused", "failed"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    case = models.JSONField()
    policy = models.JSONField()
    asked_by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    state = models.CharField(max_length=10, default=WAITING)
    plan_hash = models.CharField(max_length=64, blank=True)
    worked_out = models.JSONField(null=True)
    refusal = models.JSONField(null=True)
    done_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-asked_at",)

    def __str__(self) -> str:
        return str(self.case.get("code", "case"))


class NamedOverride(Once):
    """The lead's own decision to go in although the rules refuse: by name, with reason and the alternative offered."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    planned = models.ForeignKey(PlannedCase, on_delete=models.PROTECT, related_name="overrides")
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    reason = models.TextField()
    alternative = models.TextField()

    def __str__(self) -> str:
        return f"override by {self.by}"


class Procedure(models.Model):
    """A procedure by name; what it says stands in its versions."""

    slug = models.SlugField(max_length=80, unique=True)
    title = models.CharField(max_length=160)

    class Meta:
        ordering = ("title",)

    def __str__(self) -> str:
        return self.title


class ProcedureVersion(Once):
    """One approved version, whole: `approved` is a vestry.procedure.Approved; the columns repeat it to search."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    procedure = models.ForeignKey(Procedure, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    approved = models.JSONField()
    plan_hash = models.CharField(max_length=64, db_index=True)
    facts = models.CharField(max_length=64)
    model = models.CharField(max_length=40)
    reason = models.TextField()
    approved_by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    review_on = models.DateField()

    class Meta:
        ordering = (
            "procedure",
            "-number",
        )
        constraints = (models.UniqueConstraint(fields=["procedure", "number"], name="one_version_of_a_number"),)

    def __str__(self) -> str:
        return f"{self.procedure}, version {self.number}"

    @property
    def retired(self) -> bool:
        return hasattr(self, "retirement")


class Retirement(Once):
    """A version that starts no new entries any more. Entries under way go on to their end."""

    version = models.OneToOneField(ProcedureVersion, on_delete=models.PROTECT, related_name="retirement")
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    reason = models.TextField()

    def __str__(self) -> str:
        return f"{self.version} retired"


class LaterAssurance(Once):
    """What the model says of an approved plan on later facts. It changes no version; it tells the lead."""

    version = models.ForeignKey(ProcedureVersion, on_delete=models.PROTECT, related_name="later")
    facts = models.CharField(max_length=64)
    model = models.CharField(max_length=40)
    assurance = models.JSONField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at",)

    def __str__(self) -> str:
        return f"{self.version} assured again"

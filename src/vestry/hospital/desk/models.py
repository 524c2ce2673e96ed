"""Rows of the desk: the unit and its policy, cases that were planned, procedures and their versions."""

from __future__ import annotations

import datetime
import secrets
from typing import Any

from django.conf import settings
from django.db import models
from django.utils.translation import gettext as _

from vestry.hospital.access.codes import proof_of
from vestry.hospital.ids import uuid7
from vestry.hospital.keeping import Once
from vestry.readiness import TeamNeed

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

    @property
    def on_paper(self) -> str:
        """Its name at the foot of a printed page, which hangs where no screen says that the hospital is invented."""
        return _("%(unit)s, invented for demonstration") % {"unit": self.name} if self.invented else self.name


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
    FITTED = "fitted"  # the unit has its own procedure for it, so nothing was planned

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
    """What the model says of an approved plan on later facts. It changes no version; it tells the lead.

    `found` is a vestry.procedure.Again. Rows from before it was kept have an `assurance` alone.
    """

    version = models.ForeignKey(ProcedureVersion, on_delete=models.PROTECT, related_name="later")
    facts = models.CharField(max_length=64)
    model = models.CharField(max_length=40)
    assurance = models.JSONField(null=True)
    found = models.JSONField(null=True)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-pk")

    def __str__(self) -> str:
        return f"{self.version} assured again"


class ApprovalBasis(Once):
    """What an approval rests on besides plan, facts and model: the records used, and the compiled way out.

    used      `KIND:ID` to digest, from vestry.procedure.used
    program   the compiled way out, as docs/reference/program.md has it
    """

    version = models.OneToOneField(ProcedureVersion, on_delete=models.PROTECT, related_name="basis")
    used = models.JSONField()
    program = models.JSONField()

    def __str__(self) -> str:
        return f"basis of {self.version}"


class FactsSnapshot(Once):
    """All texts of facts of one digest, ours and the hospital's, so that what rests on them can be read again."""

    digest = models.CharField(max_length=64, unique=True)
    ours = models.JSONField()
    overlays = models.JSONField()
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"facts {self.digest[:12]}"


class FactsVersion(Once):
    """An overlay of the hospital's own facts as adopted. The newest is in force; one without files is ours alone."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    number = models.PositiveIntegerField(unique=True)
    files = models.JSONField()
    digest = models.CharField(max_length=64)
    reason = models.TextField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-number",)

    def __str__(self) -> str:
        return f"own facts, version {self.number}"


class RunningSnapshot(Once):
    """The texts of operations or of standards of one digest, ours and the hospital's: what was worked out on them can
    be read again.
    """

    sort = models.CharField(max_length=12)
    digest = models.CharField(max_length=64)
    ours = models.JSONField()
    overlays = models.JSONField()
    at = models.DateTimeField()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["sort", "digest"], name="one_snapshot_of_a_digest"),)

    def __str__(self) -> str:
        return f"{self.sort} {self.digest[:12]}"


class CaseRow(Once):
    """One row of the lead's table from case to procedure. The newest for a hazard, presentation and task is in force.

    version   none: the lead says that there is no procedure for it
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    hazard = models.CharField(max_length=120)
    presentation = models.CharField(max_length=10)
    task = models.CharField(max_length=40)
    version = models.ForeignKey(ProcedureVersion, null=True, on_delete=models.PROTECT, related_name="rows")
    reason = models.TextField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-id")
        indexes = (models.Index(fields=["hazard", "presentation", "task"], name="case_row_cell"),)

    def __str__(self) -> str:
        return f"{self.hazard}, {self.presentation}, {self.task}"


class Practice(Once):
    """Someone practised a version, told by the lead. What was practised in a closed entry stands in the record."""

    DRILL, ENTRY = "drill", "entry"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    version = models.ForeignKey(ProcedureVersion, on_delete=models.PROTECT, related_name="practice")
    person = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="practice")
    role = models.CharField(max_length=12)
    sort = models.CharField(max_length=5)
    on = models.DateField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-on", "-at")

    def __str__(self) -> str:
        return f"{self.person} as {self.role}, {self.sort}"


class TeamNeedVersion(Once):
    """The unit's minimum on a shift as of one day (vestry.readiness.TeamNeed). The newest is in force."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    need = models.JSONField()
    reason = models.TextField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return f"team of {self.at:%Y-%m-%d}"

    @classmethod
    def current(cls) -> TeamNeed:
        newest = cls.objects.first()
        return TeamNeed.model_validate(newest.need) if newest else TeamNeed()


class CalendarFeed(models.Model):
    """Somebody's feed of reminders. Its secret is in its address alone; here stands what proves it."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    proof = models.CharField(max_length=64, unique=True)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"feed of {self.by}"

    @classmethod
    def made_for(cls, person: Any, at: datetime.datetime) -> tuple[str, CalendarFeed]:
        """A new secret, and the feed that it opens; not stored yet."""
        secret = secrets.token_urlsafe(24)
        return secret, cls(proof=proof_of(secret), by=person, at=at)

    @classmethod
    def of(cls, secret: str) -> CalendarFeed | None:
        """The feed that this secret opens, unless it was ended."""
        return cls.objects.select_related("by").filter(proof=proof_of(secret), ended_at=None).first()

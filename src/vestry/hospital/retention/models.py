"""Rows of keeping and letting go. All are written once: what was decided, by whom, and what went."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from vestry.hospital.keeping import Once

_PERSON = settings.AUTH_USER_MODEL


class Policy(Once):
    """How long a sort of data is kept (vestry.retention.SORTS). `days` None: off, kept for ever; that holds at once.

    With days it holds when a second person has confirmed it. reason, source: in the hospital's own words.
    """

    sort = models.CharField(max_length=12, db_index=True)
    days = models.PositiveIntegerField(null=True)
    reason = models.CharField(max_length=400)
    source = models.CharField(max_length=400, blank=True)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return f"policy {self.pk}, {self.sort}"


class PolicyConfirmed(Once):
    """The second person's word."""

    policy = models.OneToOneField(Policy, on_delete=models.PROTECT, related_name="confirmed")
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.policy}, confirmed"


class LegalHold(Once):
    """What must stay whatever a policy says: an entry, a person or an exposure. It holds at once, until it is lifted.

    key   of an entry its id; of a person `user:N` or `registered:ID`; of an exposure the number of its event
    named   as whoever set it named it, to show
    """

    sort = models.CharField(max_length=10)
    key = models.CharField(max_length=60)
    named = models.CharField(max_length=120)
    reason = models.CharField(max_length=400)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return f"hold {self.pk} on {self.sort}"


class HoldLifted(Once):
    """A hold that holds nothing any more."""

    hold = models.OneToOneField(LegalHold, on_delete=models.PROTECT, related_name="lifted")
    reason = models.CharField(max_length=400)
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.hold}, lifted"


class Proposal(Once):
    """What one person proposes to remove: a list of that moment. Only what is on it can go by it.

    policies   those in force, by sort
    listed     keys of what would go, by sort; of what is many (reads, refusals, tablets) none: `counts` alone
    """

    reason = models.CharField(max_length=400)
    policies = models.JSONField()
    listed = models.JSONField()
    counts = models.JSONField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return f"proposal {self.pk}"


class Removal(Once):
    """A second person confirmed a proposal, and it was done. counts: what went, by sort."""

    proposal = models.OneToOneField(Proposal, on_delete=models.PROTECT, related_name="done")
    counts = models.JSONField()
    by = models.ForeignKey(_PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return f"removal {self.pk}"


class LetGo(Once):
    """A row that a proposal, once confirmed, removes: its table and key. The database lets no other row go.

    It names what is gone by a number that says nothing of anybody.
    """

    proposal = models.ForeignKey(Proposal, on_delete=models.PROTECT, related_name="+")
    of_table = models.CharField(max_length=60)
    key = models.CharField(max_length=40)

    class Meta:
        constraints = (models.UniqueConstraint(fields=["of_table", "key"], name="one_letting_go_of_a_row"),)

    def __str__(self) -> str:
        return f"{self.of_table} {self.key}"

"""Removing, lawfully: a dry run, a proposal by one person, the confirmation by another, and the removal itself.

1. The dry run, the proposal and the removal ask the same rules (vestry.retention); no list is made by hand.
2. Only what was listed when it was proposed can go by it, and of that only what no hold of then or now keeps.
3. The removal is one transaction: all of it is done, or nothing. Lines of the log of refusals follow it.
4. Of entries at most MOST_ENTRIES go at once, the oldest first; the rest is for the next time.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, cast

from django.db import connection
from django.utils.translation import gettext as _

from vestry.hospital.access.models import User
from vestry.hospital.record import counting
from vestry.hospital.registers import mapper
from vestry.hospital.retention import refusal_log, removing
from vestry.hospital.retention.models import LegalHold, Policy, Proposal, Removal
from vestry.hospital.retention.policies import NotSo, as_holds, holds_now, in_force, two_of
from vestry.hospital.retention.subjects import MANY, subjects
from vestry.hospital.writing import writing
from vestry.retention import SORTS, Decision, Sort, Subject, decide

MOST_ENTRIES = 100
GOOD_FOR = timedelta(days=14)
"""A proposal that nobody confirmed within this time is not confirmed any more: what it lists is too old a look."""


@dataclass(frozen=True)
class Due:
    """What would go now. `later`: entries that are due too, and are for the next time."""

    policies: Mapping[Sort, Policy]
    decision: Decision
    goes: tuple[Subject, ...]
    later: int

    def of(self, sort: Sort) -> list[Subject]:
        """Those of one sort."""
        return [one for one in self.goes if one.sort == sort]

    def stays(self, sort: Sort) -> Counter[str]:
        """How many of a sort stay, by the reason."""
        return Counter(why for one, why in self.decision.stays if one.sort == sort)


def due(now: datetime, *, live: bool = True) -> Due:
    """The dry run: nothing is changed by it."""
    policies = in_force()
    days = {sort: one.days for sort, one in policies.items() if one.days is not None}
    decision = decide(subjects(list(policies), live=live), days, as_holds(holds_now()), now)
    entries = [one for one in decision.goes if one.sort in ("entries", "drills")]
    late = {(one.sort, one.key) for one in entries[MOST_ENTRIES:]}
    goes = tuple(one for one in decision.goes if (one.sort, one.key) not in late)
    return Due(policies, decision, goes, len(late))


def propose(by: User, reason: str, now: datetime) -> Proposal:
    """Write down what would go now. NotSo where nothing would."""
    found = due(now)
    if not found.goes:
        raise NotSo(_("Nothing would go now, so there is nothing to propose."))
    with writing():
        return Proposal.objects.create(
            reason=reason,
            policies={sort: one.pk for sort, one in found.policies.items()},
            listed={sort: [one.key for one in found.of(sort)] for sort in found.policies if sort not in MANY},
            counts={sort: len(found.of(sort)) for sort in found.policies},
            by=by,
            at=now,
        )


def still_good(proposal: Proposal, now: datetime) -> str:
    """Why a proposal cannot be confirmed any more; empty where it can."""
    if hasattr(proposal, "done"):
        return _("It is done already.")
    if now - proposal.at > GOOD_FOR:
        return _("It is older than two weeks: propose again.")
    if {sort: one.pk for sort, one in in_force().items()} != proposal.policies:
        return _("A policy was changed since: propose again.")
    return ""


def confirm(proposal: Proposal, by: User, now: datetime, *, live: bool = True) -> Removal:
    """The second person's word, and the removal. NotSo, and nothing is done, where it cannot be."""
    two_of(proposal.by, by)
    removing.before()
    with writing():
        wrong = still_good(proposal, now)
        if wrong:
            raise NotSo(wrong)
        goes = _going(proposal, live)
        if not goes:
            raise NotSo(_("Nothing of what was proposed may go now: all of it is held, or was added to."))
        counts = Counter(one.sort for one in goes)
        done = Removal.objects.create(
            proposal=proposal, counts={sort: counts[sort] for sort in SORTS if counts[sort]}, by=by, at=now
        )
        removing.remove(done, goes, in_force())
    refusal_log.cut({one.key for one in goes if one.sort == "refusals"}, live=live)
    mapper.forget()
    counting.forget()
    removing.afterwards()
    return done


def _going(proposal: Proposal, live: bool) -> tuple[Subject, ...]:
    """What was due when it was proposed, is on its list, and is kept by no hold of then or of now."""
    policies = in_force()
    days = {sort: one.days for sort, one in policies.items() if one.days is not None}
    of_then = LegalHold.objects.filter(at__lte=proposal.at).exclude(lifted__at__lte=proposal.at)
    holds = as_holds([*holds_now(), *of_then])
    listed = {sort: set(keys) for sort, keys in cast("dict[str, list[str]]", proposal.listed).items()}
    found = decide(subjects(list(policies), live=live), days, holds, proposal.at).goes
    return tuple(one for one in found if one.sort in MANY or one.key in listed.get(one.sort, ()))


def in_a_file() -> bool:
    """Whether the record is in SQLite, where what is removed is overwritten at once."""
    return bool(connection.vendor == "sqlite")


def proposals() -> Any:
    """All of them, the newest first."""
    return Proposal.objects.select_related("by", "done__by")

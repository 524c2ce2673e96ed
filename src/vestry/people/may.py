"""Whether somebody may go in, asked and answered: needs, sizes, reasons, and who sees which of them."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Literal

from vestry.people.values import Duty

ReasonId = Literal[
    "off-the-register",
    "not-this-duty",
    "unavailable",
    "no-competency",
    "competency-lapsed",
    "no-clearance",
    "clearance-lapsed",
    "not-cleared",
    "powered-only",
    "no-fit-test",
    "fit-test-lapsed",
    "fit-test-not-passed",
    "fit-test-other-system",
    "fit-test-before-clearance",
    "fitted-size-not-on-shelf",
    "size-unknown",
    "size-not-on-shelf",
    "gown-too-short",
]
Viewer = Literal["observer", "lead", "health", "person"]
ABOUT_HEALTH: frozenset[ReasonId] = frozenset({"not-cleared", "powered-only"})
"""Reasons that tell of someone's health; the lead reads `no-clearance` in their place."""


@dataclass(frozen=True)
class Reason:
    """Why somebody may not. `item`: of which item. `since`: lapsed on, or away from; `until`: away to."""

    id: ReasonId
    item: str | None = None
    since: datetime.date | None = None
    until: datetime.date | None = None


@dataclass(frozen=True)
class OnShelf:
    """Some of an item in one size that may be used. `model` of a respirator; `length_mm` of a gown, where known."""

    item: str
    size: str
    quantity: int
    model: str | None = None
    length_mm: int | None = None


@dataclass(frozen=True)
class Need:
    """What somebody would do: in which part, along what, wearing what (items in donning order)."""

    duty: Duty
    subjects: tuple[str, ...]
    items: tuple[str, ...]


@dataclass(frozen=True)
class InSize:
    """An item and the size that this person wears; of a respirator also the model."""

    item: str
    size: str
    model: str | None = None


@dataclass(frozen=True)
class May:
    """Whether one person may, in which sizes, or why not; `until`: the last day before a lapse or an absence."""

    person: str
    sizes: tuple[InSize, ...]
    reasons: tuple[Reason, ...]
    until: datetime.date | None = None

    @property
    def may(self) -> bool:
        """Whether there is no reason against it."""
        return not self.reasons

    def seen_by(self, viewer: Viewer) -> May:
        """What this viewer gets to see. The observer: may or may not. The lead: no reason that tells of health."""
        match viewer:
            case "person" | "health":
                return self
            case "lead":
                reasons = tuple(dict.fromkeys(_without_health(one) for one in self.reasons))
                return May(self.person, self.sizes, reasons, self.until)
            case "observer":
                reasons = () if self.may else (Reason("unavailable"),)
                return May(self.person, self.sizes if self.may else (), reasons, None)


@dataclass(frozen=True)
class WhoCanGoIn:
    """The answer for everyone asked about, those who may first, in the order given."""

    need: Need
    on: datetime.date
    answers: tuple[May, ...]

    @property
    def may(self) -> tuple[May, ...]:
        """Those who may."""
        return tuple(one for one in self.answers if one.may)

    @property
    def may_not(self) -> tuple[May, ...]:
        """Those who may not."""
        return tuple(one for one in self.answers if not one.may)


def _without_health(reason: Reason) -> Reason:
    return Reason("no-clearance") if reason.id in ABOUT_HEALTH else reason

"""What a hospital has, as values: what the question "tonight?" is held against. The shell maps its rows to these."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from vestry.people import OnShelf, Person
from vestry.readiness.laid_out import LaidOut
from vestry.sequence import Plan
from vestry.stock import Counts, LeadTimes, Lot, PoweredUnit, Reserve, UnitEvent, on_hand
from vestry.trade.jurisdictions import UNSTATED
from vestry.trade.operations import Operations
from vestry.trade.values import Presentation


@dataclass(frozen=True, eq=False)
class ProcedureHere:
    """What the lead's table has for one presentation of the case.

    slug, version   none: the table names none
    hard, soft      troubles that keep it from being taken on the night; and those that are told
    review_on       the day on which it is to be reviewed
    practised       person of the register to the last day on which they practised it
    """

    presentation: Presentation
    slug: str | None = None
    version: int | None = None
    plan: Plan | None = None
    hard: tuple[str, ...] = ()
    soft: tuple[str, ...] = ()
    review_on: datetime.date | None = None
    practised: Mapping[str, datetime.date] = field(default_factory=dict)


@dataclass(frozen=True)
class RoomHere:
    """A room that could take the patient.

    why         what keeps it from that; empty: nothing
    watch       what is to be looked at before
    cleared     the last day on which it may not be cleared yet of whoever was there last
    free        an entry is led there: when it is expected to be ready again, in the hospital's own time; None: none is
    until       the last day on which nothing new is to be looked at, as far as it is known
    isolation   air flows into it and out by its own exhaust
    """

    id: str
    why: tuple[str, ...] = ()
    watch: tuple[str, ...] = ()
    until: datetime.date | None = None
    isolation: bool = True
    cleared: datetime.date | None = None
    free: datetime.datetime | None = None


@dataclass(frozen=True)
class RosterDay:
    """One day of a roster that was taken.

    have, need    places that somebody fills, of all
    broken        of those, how many no longer hold: somebody is away, or not qualified any more
    """

    have: int
    need: int
    broken: int = 0


@dataclass(frozen=True, eq=False)
class SuppliesHere:
    """What is known of supplies besides the counts of their lots.

    kept        supplies of which the register has ever held a lot; of any other it knows nothing
    made_up     of disinfectant for surfaces that is in date now: the day on which each batch is thrown away
    operations  published amounts of waste
    """

    kept: frozenset[str]
    made_up: tuple[datetime.date, ...]
    operations: Operations


@dataclass(frozen=True, eq=False)
class Here:
    """The hospital as it stands now. `rooms` None: no register of rooms is kept, and the answer says so.

    `roster`: the days of rosters that were taken; empty: none was; None: nobody was asked.

    units   powered units with their events
    reserves    how many of an item in a size the unit wants to have at least
    lead_times  from an order to its delivery
    system  the country's system of fit tests and intervals
    supplies    None: nobody was asked for disinfectant and containers for waste
    laid_out    the very lots, counts and holds as they were laid out for another question; None: not yet
    """

    procedures: tuple[ProcedureHere, ...]
    people: tuple[Person, ...] = ()
    lots: tuple[Lot, ...] = ()
    counts: Counts = field(default_factory=dict)
    held: frozenset[str] = frozenset()
    units: tuple[tuple[PoweredUnit, tuple[UnitEvent, ...]], ...] = ()
    reserves: tuple[Reserve, ...] = ()
    lead_times: LeadTimes = LeadTimes()  # noqa: RUF009  frozen
    rooms: tuple[RoomHere, ...] | None = None
    roster: Mapping[datetime.date, RosterDay] | None = None
    system: str = UNSTATED
    supplies: SuppliesHere | None = None
    laid_out: LaidOut | None = None

    def shelf(self, day: datetime.date) -> tuple[OnShelf, ...]:
        """What may be used on a day if nothing is used until then: neither expired nor on hold."""
        return tuple(
            OnShelf(one.lot.item, one.lot.size, one.usable, one.lot.model, one.lot.length_mm)
            for one in on_hand(self.counts, self.lots, self.held, day)
            if one.usable
        )

    def kinds(self, day: datetime.date, items: Collection[str]) -> tuple[OnShelf, ...]:
        """As `shelf`, of these items, with what is alike to a person in one row: item, size, model, length."""
        return self._laid_out.kinds(day, items)

    def usable(self, item: str, size: str | None, first: datetime.date, last: datetime.date) -> int:
        """Pieces of an item (in a size, or all) that may be used on every day from `first` to `last`."""
        return self._laid_out.usable(item, size, first, last)

    @cached_property
    def _laid_out(self) -> LaidOut:
        return self.laid_out or LaidOut(self.lots, self.counts, self.held)

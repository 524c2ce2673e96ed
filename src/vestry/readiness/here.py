"""What a hospital has, as values: what the question "tonight?" is held against. The shell maps its rows to these."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from vestry.people import OnShelf, Person
from vestry.sequence import Plan
from vestry.stock import Counts, Lot, PoweredUnit, UnitEvent, Where, on_hand
from vestry.trade.jurisdictions import UNSTATED
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
    until       the last day on which nothing new is to be looked at, as far as it is known
    isolation   air flows into it and out by its own exhaust
    """

    id: str
    why: tuple[str, ...] = ()
    watch: tuple[str, ...] = ()
    until: datetime.date | None = None
    isolation: bool = True


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
class Here:
    """The hospital as it stands now. `rooms` None: no register of rooms is kept, and the answer says so.

    `roster`: the days of rosters that were taken; empty: none was; None: nobody was asked.

    units   powered units with their events
    system  the country's system of fit tests and intervals
    """

    procedures: tuple[ProcedureHere, ...]
    people: tuple[Person, ...] = ()
    lots: tuple[Lot, ...] = ()
    counts: Counts = field(default_factory=dict)
    held: frozenset[str] = frozenset()
    units: tuple[tuple[PoweredUnit, tuple[UnitEvent, ...]], ...] = ()
    rooms: tuple[RoomHere, ...] | None = None
    roster: Mapping[datetime.date, RosterDay] | None = None
    system: str = UNSTATED

    def shelf(self, day: datetime.date) -> tuple[OnShelf, ...]:
        """What may be used on a day if nothing is used until then: neither expired nor on hold."""
        return tuple(
            OnShelf(one.lot.item, one.lot.size, one.usable, one.lot.model, one.lot.length_mm)
            for one in on_hand(self.counts, self.lots, self.held, day)
            if one.usable
        )

    def usable(self, item: str, size: str | None, first: datetime.date, last: datetime.date) -> int:
        """Pieces of an item (in a size, or all) that may be used on every day from `first` to `last`."""
        counts, lots = self._of_item.get(item, ({}, ()))
        return sum(
            one.usable
            for one in on_hand(counts, lots, self.held, last)
            if size in (None, one.lot.size) and not one.lot.expired(first)
        )

    @cached_property
    def _of_item(self) -> Mapping[str, tuple[Counts, tuple[Lot, ...]]]:
        """What there is of each item. Asked for item by item and day by day: the whole shelf each time is slow."""
        known = {lot.id: lot for lot in self.lots}
        found: dict[str, tuple[dict[Where, int], list[Lot]]] = {}
        for lot in self.lots:
            found.setdefault(lot.item, ({}, []))[1].append(lot)
        for where, count in self.counts.items():
            if count:
                found[known[where.lot].item][0][where] = count
        return {item: (counts, tuple(lots)) for item, (counts, lots) in found.items()}

"""The ledger: movements folded to counts.

1. A count is the sum of what came to a place less what went from it. Sums do not mind the order.
2. A movement told twice is one movement, by its id.
3. Nothing is refused for want of stock: what happened is recorded, and a count below nought is shown as one.
4. A count by hand that differs is a movement of its own, with its reason; the ledger is never set.
5. A lot is on hold by the latest word on it; of two at one moment, by the one that holds.
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from vestry.stock.values import Kind, Lot, Movement, Quarantine, Reserve


class Where(NamedTuple):
    """A lot at a place."""

    lot: str
    place: str


Counts = Mapping[Where, int]


@dataclass(frozen=True)
class OnHand:
    """Some of a lot at a place, as it stands on a day. `usable`: not expired, not on hold, and above nought."""

    lot: Lot
    place: str
    quantity: int
    expired: bool
    held: bool

    @property
    def usable(self) -> int:
        """How many may be used."""
        return 0 if self.expired or self.held else max(0, self.quantity)


@dataclass(frozen=True)
class Level:
    """An item in a size, all places together. `earliest`: the first expiry among what is usable."""

    item: str
    size: str
    usable: int
    held: int
    expired: int
    earliest: datetime.date | None
    reserve: int | None = None

    @property
    def short(self) -> int:
        """How many are wanting to the reserve."""
        return max(0, (self.reserve or 0) - self.usable)


@dataclass(frozen=True)
class UsedIn:
    """Where some of a lot went: the entry, and how many; whether the lot was scanned or assumed."""

    entry: str
    kind: Kind
    quantity: int
    assumed: bool


def fold(movements: Iterable[Movement]) -> Counts:
    """The counts that these movements come to; a lot at a place where it comes to nought is left out."""
    counts: defaultdict[Where, int] = defaultdict(int)
    seen: set[str] = set()
    for one in movements:
        if one.id in seen:
            continue
        seen.add(one.id)
        if one.from_ is not None:
            counts[Where(one.lot, one.from_)] -= one.quantity
        if one.to is not None:
            counts[Where(one.lot, one.to)] += one.quantity
    return {where: count for where, count in counts.items() if count}


def held_lots(quarantines: Iterable[Quarantine]) -> frozenset[str]:
    """The lots that are on hold."""
    latest: dict[str, Quarantine] = {}
    for one in quarantines:
        known = latest.get(one.lot)
        if known is None or _later(one, known):
            latest[one.lot] = one
    return frozenset(lot for lot, one in latest.items() if one.act == "held")


def _later(one: Quarantine, than: Quarantine) -> bool:
    if one.at == than.at:
        return one.act == "held"
    return one.at > than.at


def on_hand(counts: Counts, lots: Iterable[Lot], held: frozenset[str], on: datetime.date) -> tuple[OnHand, ...]:
    """What stands where on a day, by item, size, expiry (none last), lot, place. An unknown lot: KeyError."""
    known = {lot.id: lot for lot in lots}
    found = [
        OnHand(known[where.lot], where.place, count, known[where.lot].expired(on), where.lot in held)
        for where, count in counts.items()
        if count
    ]
    return tuple(sorted(found, key=_first_expired))


def _first_expired(one: OnHand) -> tuple[str, str, datetime.date, str, str]:
    return (one.lot.item, one.lot.size, one.lot.expiry or datetime.date.max, one.lot.number, one.place)


def levels(there: Iterable[OnHand], reserves: Iterable[Reserve] = ()) -> tuple[Level, ...]:
    """By item and size; also those that only a reserve names. A reserve for all sizes stands with size `all`."""
    rows: defaultdict[tuple[str, str], list[OnHand]] = defaultdict(list)
    for one in there:
        rows[(one.lot.item, one.lot.size)].append(one)
    wanted = {(one.item, one.size): one.least for one in reserves}
    found = [
        _level(item, size, rows.get((item, size), []), wanted.get((item, size)))
        for item, size in sorted({*rows, *((item, size) for item, size in wanted if size is not None)})
    ]
    for (item, no_size), least in sorted(wanted.items(), key=lambda one: one[0][0]):
        if no_size is None:
            every = [one for (other, _), several in rows.items() if other == item for one in several]
            found.append(_level(item, "all", every, least))
    return tuple(found)


def _level(item: str, size: str, there: list[OnHand], reserve: int | None) -> Level:
    expiries = [one.lot.expiry for one in there if one.usable and one.lot.expiry is not None]
    return Level(
        item=item,
        size=size,
        usable=sum(one.usable for one in there),
        held=sum(max(0, one.quantity) for one in there if one.held),
        expired=sum(max(0, one.quantity) for one in there if one.expired and not one.held),
        earliest=min(expiries, default=None),
        reserve=reserve,
    )


def where_used(lot: str, movements: Iterable[Movement]) -> tuple[UsedIn, ...]:
    """Every entry for which some of this lot was used, torn or changed, once a movement, in order of time."""
    unique = {one.id: one for one in movements if one.lot == lot and one.entry is not None}
    return tuple(
        UsedIn(one.entry or "", one.kind, one.quantity, one.assumed)
        for one in sorted(unique.values(), key=lambda one: (one.at, one.id))
    )


@dataclass(frozen=True)
class Counted:
    """A count by hand against the ledger: `difference` is counted less expected."""

    where: Where
    expected: int
    counted: int

    @property
    def difference(self) -> int:
        """Above nought: more was there than the ledger said."""
        return self.counted - self.expected

    @property
    def kind(self) -> Kind | None:
        """The movement that squares the ledger; None: nothing to square."""
        if not self.difference:
            return None
        return "counted-more" if self.difference > 0 else "counted-less"


def count(where: Where, counted: int, counts: Counts) -> Counted:
    """A count by hand. ValueError for a count below nought."""
    if counted < 0:
        raise ValueError(f"nobody counts {counted}: a count is 0 or more")
    return Counted(where, counts.get(where, 0), counted)

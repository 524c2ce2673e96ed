"""The lots of a hospital laid out by item, size and expiry: asked day by day, they are gone through once."""

from __future__ import annotations

import bisect
import datetime
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from functools import cached_property

from vestry.people import OnShelf
from vestry.stock import Counts, Lot


class LaidOut:
    """Lots with what there is of each, without those on hold; what expired is among them."""

    def __init__(self, lots: Iterable[Lot], counts: Counts, held: frozenset[str]) -> None:
        known = {lot.id: lot for lot in lots}
        self._there = tuple(
            (known[where.lot], count) for where, count in counts.items() if count > 0 and where.lot not in held
        )

    def kinds(self, day: datetime.date, items: Collection[str]) -> tuple[OnShelf, ...]:
        """What of these items may be used on a day, what is alike to a person in one row: item, size, model, length."""
        found: list[OnShelf] = []
        for item in items:
            for (size, model, length), till in self._kinds.get(item, {}).items():
                if day <= till:
                    found.append(OnShelf(item, size, 1, model, length))
        return tuple(found)

    @cached_property
    def _kinds(self) -> Mapping[str, Mapping[tuple[str, str | None, int | None], datetime.date]]:
        """Of each item the sizes, models and lengths of which there is any, and the last day of each."""
        found: dict[str, dict[tuple[str, str | None, int | None], datetime.date]] = {}
        for lot, _ in self._there:
            last, alike = lot.expiry or datetime.date.max, (lot.size, lot.model, lot.length_mm)
            own = found.setdefault(lot.item, {})
            own[alike] = max(last, own.get(alike, last))
        return found

    def usable(self, item: str, size: str | None, first: datetime.date, last: datetime.date) -> int:
        """Pieces of an item (in a size, or all) that may be used on every day from `first` to `last`."""
        days, left = self._until.get((item, size), ((), (0,)))
        return left[bisect.bisect_left(days, max(first, last))]

    @cached_property
    def _until(self) -> Mapping[tuple[str, str | None], tuple[tuple[datetime.date, ...], tuple[int, ...]]]:
        """By item and size (None: all of them) the days on which some expires, and what there is until each of them.

        Asked for size by size and day by day: to go through a shelf of years each time is slow.
        """
        rows: dict[tuple[str, str | None], Counter[datetime.date]] = {}
        for lot, pieces in self._there:
            for size in (None, lot.size):
                rows.setdefault((lot.item, size), Counter())[lot.expiry or datetime.date.max] += pieces
        found = {}
        for name, by_day in rows.items():
            days = sorted(by_day)
            left = [0]
            for day in reversed(days):
                left.append(left[-1] + by_day[day])
            found[name] = (tuple(days), tuple(reversed(left)))
        return found

"""Which size of an item somebody is given from a shelf on a day, or why none; for many people and several needs.

What hangs on the item, the size or the height alone is worked out once, and looked up for the next person.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property

from vestry.people.fit import Judged, Judging
from vestry.people.may import InSize, OnShelf, Reason
from vestry.people.sizes import OffTheTable, glove_size, reaches_mid_calf
from vestry.people.values import FitTest, Hand, Person
from vestry.trade import Catalogue

NO_SIZES = frozenset({"one-size"})
Size = InSize | Reason | None
"""The size that somebody wears, or why there is none; None: it was said already, as a reason of its own."""
Found = tuple[Size, tuple[datetime.date, ...]]
"""The same, and until when a fit test for it holds."""
Known = dict[tuple[str, str], Found]
"""By person and item."""


class Sizing:
    """One shelf on one day.

    shelf    None: nobody is asked for what is on it
    known    sizes found before, on the same day and for the same people and shelf; what is found is added
    """

    def __init__(
        self,
        shelf: Iterable[OnShelf] | None,
        on: datetime.date,
        catalogue: Catalogue,
        judging: Judging,
        known: Known | None = None,
    ) -> None:
        self.on, self.catalogue, self.judging, self.known = on, catalogue, judging, known
        self.standards = judging.standards
        self.shelf = None if shelf is None else tuple(one for one in shelf if one.quantity > 0)
        self._hands: dict[int, str | None] = {}
        self._given: dict[tuple[str, str, int | None], Size] = {}
        self._person: Person | None = None
        self._tried: Mapping[str, str] = {}

    def for_everybody(self, item_id: str) -> Size:
        """The answer for an item that comes in one size and is not fitted; None where it differs between people."""
        item = self.catalogue.items[item_id]
        if item.fit_tested or item.kind == "gown" or not set(item.sizes) <= NO_SIZES:
            return None
        return self._from_shelf(item_id, item.sizes[0] if item.sizes else "one-size", None)

    def of(self, person: Person, item: str) -> Found:
        """The answer for one person."""
        if self.known is None:
            return self._found(person, item)
        name = person.id, item
        found = self.known.get(name)
        if found is None:
            found = self.known[name] = self._found(person, item)
        return found

    def _found(self, person: Person, item_id: str) -> Found:
        item = self.catalogue.items[item_id]
        if item.fit_tested:
            last: list[datetime.date] = []
            return self._fitted(person, item_id, last), tuple(last)
        if set(item.sizes) <= NO_SIZES:
            size: str | None = item.sizes[0] if item.sizes else "one-size"
        else:
            size = self._tried_on(person, item_id, item.kind) or self._by_table(person, item.kind, item.sizes)
        if size is None:
            return Reason("size-unknown", item_id), ()
        name = item_id, size, person.height_mm if item.kind == "gown" else None
        if name not in self._given:
            self._given[name] = self._from_shelf(*name)
        return self._given[name], ()

    def _tried_on(self, person: Person, item: str, kind: str) -> str | None:
        """The size last tried on of the item, else of its kind."""
        if person is not self._person:
            self._person, self._tried = person, {one.what: one.size for one in person.tried}
        return self._tried.get(item) or self._tried.get(kind)

    def _by_table(self, person: Person, kind: str, sizes: tuple[str, ...]) -> str | None:
        if kind != "gloves" or person.hand is None:
            return None
        size = self._hand(person.hand)
        return size if size in sizes else None

    def _hand(self, hand: Hand) -> str | None:
        """The row of the table goes by the circumference alone; many people have one hand between them."""
        if hand.circumference_mm not in self._hands:
            try:
                self._hands[hand.circumference_mm] = glove_size(hand, self.standards).row.size
            except OffTheTable:
                self._hands[hand.circumference_mm] = None
        return self._hands[hand.circumference_mm]

    # ---- what is there ----

    @cached_property
    def _there(self) -> Mapping[tuple[str, str], tuple[OnShelf, ...]]:
        """What is on the shelf, by item and size."""
        found: dict[tuple[str, str], list[OnShelf]] = {}
        for one in self.shelf or ():
            found.setdefault((one.item, one.size), []).append(one)
        return {key: tuple(several) for key, several in found.items()}

    def _from_shelf(self, item: str, size: str, height_mm: int | None) -> InSize | Reason:
        """`height_mm` of a gown: of who wears it, where it is known."""
        if self.shelf is None:
            return InSize(item, size)
        there = self._there.get((item, size), ())
        if not there:
            return Reason("size-not-on-shelf", item)
        if height_mm is not None and not self._long_enough(there, height_mm):
            return Reason("gown-too-short", item)
        return InSize(item, size)

    def _long_enough(self, there: Sequence[OnShelf], height_mm: int) -> bool:
        known = [one.length_mm for one in there if one.length_mm is not None]
        if len(known) < len(there):
            return True  # of one lot at least the length is not known: the mirror says
        return any(reaches_mid_calf(height_mm, length, self.standards) for length in known)

    # ---- what is fitted ----

    def _fitted(self, person: Person, item_id: str, ends: list[datetime.date]) -> Size:
        tests = [one for one in person.fit_tests if one.item == item_id and one.on <= self.on]
        tests.sort(key=lambda one: one.on, reverse=True)
        newest: dict[tuple[str, str], FitTest] = {}
        for test in tests:
            newest.setdefault((test.model, test.size), test)
        judged = [self.judging.on(test, self.on) for test in newest.values()]
        counting = [one for one in judged if one.counts]
        if not counting:
            return _why_not(judged, item_id)
        if not _cleared_on(person, self.on):
            return None
        cleared = [one for one in counting if _cleared_on(person, one.test.on)]
        if not cleared:
            return Reason("fit-test-before-clearance", item_id, since=counting[0].test.on)
        there = [one for one in cleared if self._on_shelf(item_id, one)]
        if not there:
            return Reason("fitted-size-not-on-shelf", item_id)
        best = max(there, key=lambda one: one.until)
        ends.append(best.until)
        return InSize(item_id, best.test.size, best.test.model)

    def _on_shelf(self, item: str, one: Judged) -> bool:
        return self.shelf is None or any(
            shelf.model == one.test.model for shelf in self._there.get((item, one.test.size), ())
        )


def _cleared_on(person: Person, day: datetime.date) -> bool:
    newest = max((one for one in person.clearances if one.on <= day), key=lambda one: one.on, default=None)
    return newest is not None and newest.cleared == "any" and (newest.until is None or day <= newest.until)


def _why_not(judged: list[Judged], item: str) -> Reason:
    """The nearest to counting of the tests that do not: lapsed, else of another system, else not passed."""
    if not judged:
        return Reason("no-fit-test", item)
    lapsed = [one for one in judged if one.why == ("fit-test-lapsed",)]
    if lapsed:
        return Reason("fit-test-lapsed", item, since=max(one.until for one in lapsed))
    if any(set(one.why) <= {"other-system", "fit-test-lapsed"} for one in judged):
        return Reason("fit-test-other-system", item)
    return Reason("fit-test-not-passed", item)

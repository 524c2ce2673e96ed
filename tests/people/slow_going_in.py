"""Who can go in, the plain way: as it was before sizes, shelf and hands were looked up once for all."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from vestry.people.fit import Judged, judge
from vestry.people.going_in import EVERYDAY, ONE_DAY
from vestry.people.may import InSize, May, Need, OnShelf, Reason
from vestry.people.sizes import OffTheTable, glove_size, reaches_mid_calf
from vestry.people.sizing import NO_SIZES
from vestry.people.values import FitTest, Person
from vestry.trade import Catalogue
from vestry.trade.dates import months_after
from vestry.trade.standards import Standards


def slow_answer(
    need: Need,
    person: Person,
    shelf: Iterable[OnShelf] | None,
    on: datetime.date,
    catalogue: Catalogue,
    standards: Standards,
    system: str,
) -> May:
    """The answer for one person."""
    found: dict[str, tuple[OnShelf, ...]] | None = None
    if shelf is not None:
        found = {}
        for one in shelf:
            if one.quantity > 0:
                found[one.item] = (*found.get(one.item, ()), one)
    return _Asked(need, found, on, catalogue, standards, system).of(person)


@dataclass(frozen=True)
class _Asked:
    need: Need
    shelf: Mapping[str, tuple[OnShelf, ...]] | None
    on: datetime.date
    catalogue: Catalogue
    standards: Standards
    system: str

    def of(self, person: Person) -> May:
        reasons = [*self._there(person)]
        ends = [one.from_ - ONE_DAY for one in person.absences if one.from_ > self.on]
        reasons += self._able(person, ends)
        reasons += self._cleared(person, ends)
        sizes: list[InSize] = []
        for item in self.need.items:
            found = self._size(person, item, ends)
            if isinstance(found, InSize):
                sizes.append(found)
            elif found is not None:
                reasons.append(found)
        until = min(ends, default=None) if not reasons else None
        return May(person.id, tuple(sizes), tuple(dict.fromkeys(reasons)), until)

    def _there(self, person: Person) -> list[Reason]:
        reasons = [] if person.active else [Reason("off-the-register")]
        if self.need.duty not in person.duties:
            reasons.append(Reason("not-this-duty"))
        reasons += [
            Reason("unavailable", since=one.from_, until=one.until) for one in person.absences if one.covers(self.on)
        ][:1]
        return reasons

    def _able(self, person: Person, ends: list[datetime.date]) -> list[Reason]:
        given = [
            months_after(one.on, one.months or self.standards.months("competency", self.system))
            for one in person.competencies
            if one.duty == self.need.duty and one.subject in self.need.subjects and one.on <= self.on
        ]
        if not given:
            return [Reason("no-competency")]
        ends.append(max(given))
        return [] if max(given) >= self.on else [Reason("competency-lapsed", since=max(given))]

    def _cleared(self, person: Person, ends: list[datetime.date]) -> list[Reason]:
        filtering = [one for one in self.need.items if self.catalogue.items[one].filters_air]
        if not filtering:
            return []
        newest = max((one for one in person.clearances if one.on <= self.on), key=lambda one: one.on, default=None)
        if newest is None:
            return [Reason("no-clearance")]
        if newest.cleared == "none":
            return [Reason("not-cleared")]
        until = newest.until or months_after(newest.on, self.standards.months("clearance", self.system))
        ends.append(until)
        reasons = [Reason("clearance-lapsed", since=until)] if until < self.on else []
        if newest.cleared == "powered-only" and any(self.catalogue.items[one].fit_tested for one in filtering):
            reasons.append(Reason("powered-only"))
        return reasons

    def _size(self, person: Person, item_id: str, ends: list[datetime.date]) -> InSize | Reason | None:
        item = self.catalogue.items[item_id]
        if item.kind in EVERYDAY:
            return None
        if item.fit_tested:
            return self._fitted(person, item_id, ends)
        if set(item.sizes) <= NO_SIZES:
            size: str | None = item.sizes[0] if item.sizes else "one-size"
        else:
            size = _tried(person, item_id, item.kind) or self._by_table(person, item.kind, item.sizes)
        if size is None:
            return Reason("size-unknown", item_id)
        if self.shelf is None:
            return InSize(item_id, size)
        there = [one for one in self.shelf.get(item_id, ()) if one.size == size]
        if not there:
            return Reason("size-not-on-shelf", item_id)
        if item.kind == "gown" and person.height_mm is not None and not self._long_enough(there, person.height_mm):
            return Reason("gown-too-short", item_id)
        return InSize(item_id, size)

    def _by_table(self, person: Person, kind: str, sizes: tuple[str, ...]) -> str | None:
        if kind != "gloves" or person.hand is None:
            return None
        try:
            size = glove_size(person.hand, self.standards).row.size
        except OffTheTable:
            return None
        return size if size in sizes else None

    def _long_enough(self, there: list[OnShelf], height_mm: int) -> bool:
        known = [one.length_mm for one in there if one.length_mm is not None]
        if len(known) < len(there):
            return True  # of one lot at least the length is not known: the mirror says
        return any(reaches_mid_calf(height_mm, length, self.standards) for length in known)

    def _fitted(self, person: Person, item_id: str, ends: list[datetime.date]) -> InSize | Reason | None:
        tests = sorted((one for one in person.fit_tests if one.item == item_id), key=lambda one: one.on, reverse=True)
        newest: dict[tuple[str, str], FitTest] = {}
        for test in tests:
            if test.on <= self.on:
                newest.setdefault((test.model, test.size), test)
        judged = [judge(test, self.on, self.standards, self.system) for test in newest.values()]
        counting = [one for one in judged if one.counts]
        if not counting:
            return _why_not(judged, item_id)
        if not self._cleared_on(person, self.on):
            return None  # said already, as a reason of its own
        cleared = [one for one in counting if self._cleared_on(person, one.test.on)]
        if not cleared:
            return Reason("fit-test-before-clearance", item_id, since=counting[0].test.on)
        there = [one for one in cleared if self._on_shelf(item_id, one)]
        if not there:
            return Reason("fitted-size-not-on-shelf", item_id)
        best = max(there, key=lambda one: one.until)
        ends.append(best.until)
        return InSize(item_id, best.test.size, best.test.model)

    def _cleared_on(self, person: Person, day: datetime.date) -> bool:
        newest = max((one for one in person.clearances if one.on <= day), key=lambda one: one.on, default=None)
        return newest is not None and newest.cleared == "any" and (newest.until is None or day <= newest.until)

    def _on_shelf(self, item: str, one: Judged) -> bool:
        return self.shelf is None or any(
            (shelf.size, shelf.model) == (one.test.size, one.test.model) for shelf in self.shelf.get(item, ())
        )


def _tried(person: Person, item: str, kind: str) -> str | None:
    for what in (item, kind):
        size = next((one.size for one in reversed(person.tried) if one.what == what), None)
        if size is not None:
            return size
    return None


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

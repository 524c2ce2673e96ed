"""Who can go in now, in which sizes, and why not the others.

1. On the register, for this part, and not away.
2. Found able for this procedure or its ensemble, in this part, and that not lapsed.
3. Cleared for a respirator, where one is worn; powered only, where only that was cleared.
4. A fit test that counts (fit.py), for a model and size on the shelf, for each fit-tested item worn. It was done on or
   after a day on which they were cleared: clearance comes before any fit test.
5. A size of each other item: as tried on, else by the hand table; and that size on the shelf.
6. A gown on the shelf whose length is known reaches mid-calf.

All reasons are given, not the first. They are ids with a date or an item; words stand in trade/words.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from vestry.people.fit import Judged, judge
from vestry.people.may import InSize, May, Need, OnShelf, Reason, WhoCanGoIn
from vestry.people.sizes import OffTheTable, glove_size, reaches_mid_calf
from vestry.people.values import Duty, FitTest, Hand, Person
from vestry.sequence import Plan
from vestry.trade import Catalogue
from vestry.trade.dates import months_after
from vestry.trade.jurisdictions import UNSTATED
from vestry.trade.standards import IntervalOf, Standards

ONE_DAY = datetime.timedelta(days=1)
NO_SIZES = frozenset({"one-size"})
EVERYDAY = frozenset({"scrubs", "shoes", "boots"})
"""Kinds that people bring or are issued; their size is no reason to stay out."""

Found = tuple["InSize | Reason | None", tuple[datetime.date, ...]]
"""The size that somebody wears, or why there is none, and until when a fit test for it holds."""
Known = dict[tuple[str, str], Found]
"""By person and item."""


def ensemble_of(items: Iterable[str], catalogue: Catalogue) -> str:
    """The name under which competency in an ensemble is kept: garment, airway, pairs of gloves.

    `gown.powered-hood.2-pairs`; what one learns with it is the same for every item of these kinds.
    """
    worn = [catalogue.items[one] for one in items if one in catalogue.items]
    kinds = {one.kind for one in worn}
    garment = next((kind for kind in ("coverall", "gown") if kind in kinds), "no-garment")
    airway = next(
        (name for kind, name in _AIRWAYS if kind in kinds),
        "open-face",
    )
    pairs = sum(1 for one in worn if one.kind == "gloves" and one.layer != "fresh")
    return f"{garment}.{airway}.{pairs}-{'pair' if pairs == 1 else 'pairs'}"


_AIRWAYS = (
    ("papr-hood", "powered-hood"),
    ("papr-helmet", "powered-helmet"),
    ("respirator", "respirator"),
    ("mask", "mask"),
)


def need_of(plan: Plan, catalogue: Catalogue, duty: Duty = "wearer", procedure: str | None = None) -> Need:
    """What going along this plan asks: the wearer's ensemble with the fresh gloves, or what a colleague wears."""
    if duty == "wearer":
        later = (item for step in plan.steps if step.act == "don" for item in step.items)
        items = tuple(dict.fromkeys((*plan.worn, *later)))
    else:
        items = next((one.worn for one in plan.team if one.role == duty), ())
    ensemble = ensemble_of(plan.worn, catalogue)
    return Need(duty, (procedure, ensemble) if procedure else (ensemble,), items)


def who_can_go_in(
    need: Need,
    people: Iterable[Person],
    shelf: Iterable[OnShelf] | None,
    on: datetime.date,
    catalogue: Catalogue,
    standards: Standards,
    system: str = UNSTATED,
    known: Known | None = None,
) -> WhoCanGoIn:
    """Who may, in which sizes, and why not the others. `shelf` None: nobody is asked for what is on it.

    known    sizes found for another need, on the same day and for the same people and shelf; what is found is added
    """
    there = None if shelf is None else _by_item(shelf)
    asked = _Asked(need, there, on, catalogue, standards, system, known)
    answers = sorted((asked.of(person) for person in people), key=lambda one: not one.may)
    return WhoCanGoIn(need, on, tuple(answers))


def practised_on_shift(practised: Iterable[str], on_shift: Iterable[str]) -> tuple[int, int]:
    """n of m on shift have practised it."""
    there = set(on_shift)
    return len(there & set(practised)), len(there)


def _by_item(shelf: Iterable[OnShelf]) -> Mapping[str, tuple[OnShelf, ...]]:
    found: dict[str, list[OnShelf]] = {}
    for one in shelf:
        if one.quantity > 0:
            found.setdefault(one.item, []).append(one)
    return {item: tuple(several) for item, several in found.items()}


@dataclass(frozen=True)
class _Asked:
    need: Need
    shelf: Mapping[str, tuple[OnShelf, ...]] | None
    on: datetime.date
    catalogue: Catalogue
    standards: Standards
    system: str
    known: Known | None

    @cached_property
    def there(self) -> Mapping[tuple[str, str], tuple[OnShelf, ...]]:
        """What is on the shelf, by item and size."""
        found: dict[tuple[str, str], list[OnShelf]] = {}
        for item, several in (self.shelf or {}).items():
            for one in several:
                found.setdefault((item, one.size), []).append(one)
        return {key: tuple(several) for key, several in found.items()}

    @cached_property
    def filtering(self) -> tuple[str, ...]:
        """Items that filter the air."""
        return tuple(one for one in self.need.items if self.catalogue.items[one].filters_air)

    @cached_property
    def sized(self) -> tuple[str, ...]:
        """Items whose size is asked for: all but what people bring."""
        return tuple(one for one in self.need.items if self.catalogue.items[one].kind not in EVERYDAY)

    @cached_property
    def one_size(self) -> Mapping[str, str | None]:
        """The size of what comes in one; None where it differs from one person to another."""
        sizes = {item: self.catalogue.items[item].sizes for item in self.sized}
        return {
            item: (known[0] if known else "one-size") if set(known) <= NO_SIZES else None
            for item, known in sizes.items()
        }

    @cached_property
    def months(self) -> Mapping[IntervalOf, int]:
        """How long competency and clearance hold."""
        asked: tuple[IntervalOf, ...] = ("competency", "clearance")
        return {of: self.standards.months(of, self.system) for of in asked}

    @cached_property
    def hands(self) -> dict[Hand, str | None]:
        """Size of gloves by hand, as they are looked up: many people have one hand between them."""
        return {}

    def of(self, person: Person) -> May:
        reasons = [*self._there(person)]
        ends = [one.from_ - ONE_DAY for one in person.absences if one.from_ > self.on]
        reasons += self._able(person, ends)
        reasons += self._cleared(person, ends)
        sizes: list[InSize] = []
        for item in self.sized:
            found, last = self._size_known(person, item)
            ends.extend(last)
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
            months_after(one.on, one.months or self.months["competency"])
            for one in person.competencies
            if one.duty == self.need.duty and one.subject in self.need.subjects and one.on <= self.on
        ]
        if not given:
            return [Reason("no-competency")]
        ends.append(max(given))
        return [] if max(given) >= self.on else [Reason("competency-lapsed", since=max(given))]

    def _cleared(self, person: Person, ends: list[datetime.date]) -> list[Reason]:
        if not self.filtering:
            return []
        newest = max((one for one in person.clearances if one.on <= self.on), key=lambda one: one.on, default=None)
        if newest is None:
            return [Reason("no-clearance")]
        if newest.cleared == "none":
            return [Reason("not-cleared")]
        until = newest.until or months_after(newest.on, self.months["clearance"])
        ends.append(until)
        reasons = [Reason("clearance-lapsed", since=until)] if until < self.on else []
        if newest.cleared == "powered-only" and any(self.catalogue.items[one].fit_tested for one in self.filtering):
            reasons.append(Reason("powered-only"))
        return reasons

    def _size_known(self, person: Person, item: str) -> Found:
        name = person.id, item
        if self.known is not None and name in self.known:
            return self.known[name]
        last: list[datetime.date] = []
        found = self._size(person, item, last), tuple(last)
        if self.known is not None:
            self.known[name] = found
        return found

    def _size(self, person: Person, item_id: str, ends: list[datetime.date]) -> InSize | Reason | None:
        item = self.catalogue.items[item_id]
        if item.fit_tested:
            return self._fitted(person, item_id, ends)
        size = self.one_size[item_id]
        if size is None:
            size = _tried(person, item_id, item.kind) or self._by_table(person, item.kind, item.sizes)
        if size is None:
            return Reason("size-unknown", item_id)
        if self.shelf is None:
            return InSize(item_id, size)
        there = self.there.get((item_id, size), ())
        if not there:
            return Reason("size-not-on-shelf", item_id)
        if item.kind == "gown" and person.height_mm is not None and not self._long_enough(there, person.height_mm):
            return Reason("gown-too-short", item_id)
        return InSize(item_id, size)

    def _by_table(self, person: Person, kind: str, sizes: tuple[str, ...]) -> str | None:
        if kind != "gloves" or person.hand is None:
            return None
        if person.hand not in self.hands:
            try:
                self.hands[person.hand] = glove_size(person.hand, self.standards).row.size
            except OffTheTable:
                self.hands[person.hand] = None
        size = self.hands[person.hand]
        return size if size in sizes else None

    def _long_enough(self, there: Sequence[OnShelf], height_mm: int) -> bool:
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
            shelf.model == one.test.model for shelf in self.there.get((item, one.test.size), ())
        )


def _tried(person: Person, item: str, kind: str) -> str | None:
    """The size last tried on of the item, else of its kind."""
    of_kind = None
    for one in reversed(person.tried):
        if one.what == item:
            return one.size
        if of_kind is None and one.what == kind:
            of_kind = one.size
    return of_kind


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

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
from collections.abc import Iterable

from vestry.people.fit import Judging
from vestry.people.may import InSize, May, Need, OnShelf, Reason, WhoCanGoIn
from vestry.people.sizing import Known, Size, Sizing
from vestry.people.values import Duty, Person
from vestry.sequence import Plan
from vestry.trade import Catalogue
from vestry.trade.dates import months_after
from vestry.trade.jurisdictions import UNSTATED
from vestry.trade.standards import Standards

ONE_DAY = datetime.timedelta(days=1)
EVERYDAY = frozenset({"scrubs", "shoes", "boots"})
"""Kinds that people bring or are issued; their size is no reason to stay out."""


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
    judging: Judging | None = None,
) -> WhoCanGoIn:
    """Who may, in which sizes, and why not the others. `shelf` None: nobody is asked for what is on it.

    known      sizes found for another need, on the same day and for the same people and shelf; what is found is added
    judging    fit tests judged by the same standards and system before
    """
    asked = _Asked(need, Sizing(shelf, on, catalogue, judging or Judging(standards, system), known))
    answers = sorted((asked.of(person) for person in people), key=lambda one: not one.may)
    return WhoCanGoIn(need, on, tuple(answers))


def practised_on_shift(practised: Iterable[str], on_shift: Iterable[str]) -> tuple[int, int]:
    """n of m on shift have practised it."""
    there = set(on_shift)
    return len(there & set(practised)), len(there)


class _Asked:
    def __init__(self, need: Need, sizing: Sizing) -> None:
        self.need, self.on, self.sizing = need, sizing.on, sizing
        items, judging = sizing.catalogue.items, sizing.judging
        filtering = [items[one] for one in need.items if items[one].filters_air]
        self.filters, self.fit_tested = bool(filtering), any(one.fit_tested for one in filtering)
        sized = [one for one in need.items if items[one].kind not in EVERYDAY]
        # Of most items everybody is given the same; only of the others each one is asked.
        self.sized: tuple[tuple[str, Size], ...] = tuple((one, sizing.for_everybody(one)) for one in sized)
        self.competency, self.clearance = (
            judging.standards.months(of, judging.system) for of in ("competency", "clearance")
        )

    def of(self, person: Person) -> May:
        reasons = [*self._there(person)]
        ends = [one.from_ - ONE_DAY for one in person.absences if one.from_ > self.on]
        reasons += self._able(person, ends)
        reasons += self._cleared(person, ends)
        sizes: list[InSize] = []
        for item, found in self.sized:
            if found is None:
                found, last = self.sizing.of(person, item)
                ends.extend(last)
            if isinstance(found, InSize):
                sizes.append(found)
            elif found is not None:
                reasons.append(found)
        until = min(ends, default=None) if not reasons else None
        return May(person.id, tuple(sizes), tuple(dict.fromkeys(reasons) if len(reasons) > 1 else reasons), until)

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
            months_after(one.on, one.months or self.competency)
            for one in person.competencies
            if one.duty == self.need.duty and one.subject in self.need.subjects and one.on <= self.on
        ]
        if not given:
            return [Reason("no-competency")]
        ends.append(max(given))
        return [] if max(given) >= self.on else [Reason("competency-lapsed", since=max(given))]

    def _cleared(self, person: Person, ends: list[datetime.date]) -> list[Reason]:
        if not self.filters:
            return []
        newest = max((one for one in person.clearances if one.on <= self.on), key=lambda one: one.on, default=None)
        if newest is None:
            return [Reason("no-clearance")]
        if newest.cleared == "none":
            return [Reason("not-cleared")]
        until = newest.until or months_after(newest.on, self.clearance)
        ends.append(until)
        reasons = [Reason("clearance-lapsed", since=until)] if until < self.on else []
        if newest.cleared == "powered-only" and self.fit_tested:
            reasons.append(Reason("powered-only"))
        return reasons

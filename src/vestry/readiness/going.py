"""Who could go in on each of the days ahead, asked again only of those for whom something changes.

The answer for a person changes when something they hold begins or lapses, at both ends of an absence, and when a size
or a model of what they need leaves the shelf. On any other day yesterday's answer stands, and it is the same object:
what is worked out from it once holds for all its days.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from functools import cached_property

from vestry.people import May, Need, OnShelf, Person, who_can_go_in
from vestry.people.fit import Judging
from vestry.people.sizing import Known
from vestry.readiness.here import Here
from vestry.trade import Catalogue
from vestry.trade.dates import day_after, months_after
from vestry.trade.standards import Standards

ONE_DAY = datetime.timedelta(days=1)


class Answers(dict[str, May]):
    """Everyone's answer, by person; never changed once it is made."""

    @cached_property
    def able(self) -> frozenset[str]:
        """Those who may."""
        return frozenset(person for person, said in self.items() if said.may)


class Going:
    """One register and one shelf over the days ahead; when somebody's answer turns is worked out once for all needs.

    sizes    whether theirs have to be on the shelf
    """

    def __init__(
        self,
        here: Here,
        first: datetime.date,
        days: int,
        catalogue: Catalogue,
        standards: Standards,
        sizes: bool = True,
    ) -> None:
        self.here, self.first, self.days = here, first, days
        self.catalogue, self.standards, self.sizes = catalogue, standards, sizes
        self.judging = Judging(standards, here.system)
        self.known: Known = {}  # on the first day, when everybody is asked, for one need after the other

    @cached_property
    def turning(self) -> dict[datetime.date, list[Person]]:
        """Days after the first to those whose answer may be another than on the day before."""
        last = self.first + ONE_DAY * self.days
        found: dict[datetime.date, list[Person]] = {}
        for person in self.here.people:
            for day in set(_turns(person, self.judging)):
                if self.first < day <= last:
                    found.setdefault(day, []).append(person)
        return found

    def ahead(self, need: Need) -> list[Answers]:
        """The answer for everyone on the register, on the first day and on each of the days after it."""
        shelf = self.here.kinds(self.first, need.items) if self.sizes else None
        days = [self._asked(need, self.here.people, shelf, self.first)]
        for day in (self.first + ONE_DAY * n for n in range(1, self.days + 1)):
            before, shelf = shelf, self.here.kinds(day, need.items) if self.sizes else None
            asked = self.turning.get(day, ()) if shelf == before else self.here.people
            changed = self._asked(need, asked, shelf, day)
            days.append(Answers(days[-1] | changed) if changed else days[-1])
        return days

    def _asked(
        self, need: Need, people: Sequence[Person], shelf: Iterable[OnShelf] | None, day: datetime.date
    ) -> Answers:
        if not people:
            return Answers()
        known = self.known if day == self.first else None
        found = who_can_go_in(
            need, people, shelf, day, self.catalogue, self.standards, self.here.system, known, self.judging
        )
        return Answers((one.person, one) for one in found.answers)


def ahead(
    need: Need,
    here: Here,
    first: datetime.date,
    days: int,
    catalogue: Catalogue,
    standards: Standards,
    sizes: bool = True,
) -> list[Answers]:
    """One need alone: the answers on `first` and on each of so many days after it."""
    return Going(here, first, days, catalogue, standards, sizes).ahead(need)


def _turns(person: Person, judging: Judging) -> Iterable[datetime.date]:
    """Every day on which the answer for this person may be another than on the day before."""
    yield from (one.on for one in person.competencies)
    yield from (one.on for one in person.clearances)
    yield from (one.on for one in person.fit_tests)
    yield from (one.from_ for one in person.absences)
    competency, clearance = (judging.standards.months(of, judging.system) for of in ("competency", "clearance"))
    for given in person.competencies:
        yield day_after(months_after(given.on, given.months or competency))
    for one in person.clearances:
        yield day_after(one.until or months_after(one.on, clearance))
    for test in person.fit_tests:
        yield day_after(judging.whenever(test).until)
    for away in person.absences:
        if away.until is not None:
            yield day_after(away.until)

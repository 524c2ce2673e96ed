"""Who could go in on each of the days ahead, asked again only of those for whom something changes.

The answer for a person changes when something they hold begins or lapses, at both ends of an absence, and when a size
or a model leaves the shelf. On any other day yesterday's answer stands.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping

from vestry.people import May, Need, Person, judge, who_can_go_in
from vestry.readiness.here import Here
from vestry.trade import Catalogue
from vestry.trade.dates import months_after
from vestry.trade.standards import Standards

ONE_DAY = datetime.timedelta(days=1)


def ahead(
    need: Need,
    here: Here,
    first: datetime.date,
    days: int,
    catalogue: Catalogue,
    standards: Standards,
    sizes: bool = True,
) -> Iterator[Mapping[str, May]]:
    """The answer for everyone on the register, on `first` and each of so many days after it.

    sizes    whether theirs have to be on the shelf
    """
    answers: dict[str, May] = {}
    turns = {person.id: _turns(person, standards, here.system) for person in here.people}
    shelf_then: object = None
    for day in (first + ONE_DAY * n for n in range(days + 1)):
        shelf = here.shelf(day) if sizes else None
        kinds = frozenset((one.item, one.size, one.model, one.length_mm) for one in shelf or ())
        asked = [one for one in here.people if kinds != shelf_then or day in turns[one.id]]
        for one in who_can_go_in(need, asked, shelf, day, catalogue, standards, here.system).answers:
            answers[one.person] = one
        shelf_then = kinds
        yield dict(answers)


def _turns(person: Person, standards: Standards, system: str) -> frozenset[datetime.date]:
    """Every day on which the answer for this person may be another than on the day before."""
    begins = [
        *(one.on for one in person.competencies),
        *(one.on for one in person.clearances),
        *(one.on for one in person.fit_tests),
        *(one.from_ for one in person.absences),
    ]
    last = [
        *(months_after(one.on, one.months or standards.months("competency", system)) for one in person.competencies),
        *(one.until or months_after(one.on, standards.months("clearance", system)) for one in person.clearances),
        *(judge(one, one.on, standards, system).until for one in person.fit_tests),
        *(one.until for one in person.absences if one.until is not None),
    ]
    return frozenset((*begins, *(one + ONE_DAY for one in last)))

"""People of the stay as the form shows them: those alike in one row, so many of them on each shift. No names."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from vestry.readiness import Stay
from vestry.readiness.stay import Person

MOST_ALIKE = 200
Likeness = tuple[tuple[str, ...], tuple[tuple[str, str], ...]]


@dataclass(frozen=True)
class Row:
    """People who may do the same in the same sizes. counts: by shift; field names by shift."""

    may: tuple[str, ...]
    sizes: dict[str, str]
    counts: dict[str, int]
    names: dict[str, str]


def rows_of(stay: Stay) -> list[Row]:
    """By what they may do and their sizes; the most first."""
    found: dict[Likeness, Counter[str]] = {}
    for one in stay.people:
        alike: Likeness = one.may, tuple(sorted(one.sizes.items()))
        for shift in one.shifts:
            found.setdefault(alike, Counter())[shift] += one.count
    ordered = sorted(found.items(), key=lambda pair: (-sum(pair[1].values()), pair[0]))
    return [
        Row(
            may,
            dict(sizes),
            {shift.id: counts[shift.id] for shift in stay.shifts},
            {shift.id: f"p-{n}-{shift.id}" for shift in stay.shifts},
        )
        for n, ((may, sizes), counts) in enumerate(ordered)
    ]


def people_asked(rows: list[Row], data: Mapping[str, Any]) -> tuple[tuple[Person, ...], list[str], list[Row]]:
    """The people that the address asks for, what is wrong with it by field name, and the rows as they were asked."""
    people, wrong, asked = [], [], []
    for number, row in enumerate(rows):
        counts = {}
        for shift, count in row.counts.items():
            said = str(data.get(row.names[shift], count)).strip() or "0"
            if not said.isascii() or not said.isdigit() or int(said) > MOST_ALIKE:
                wrong.append(row.names[shift])
                said = "0"
            counts[shift] = int(said)
            if counts[shift]:
                people.append(
                    Person(
                        id=f"p-{number + 1}-{shift}",
                        count=counts[shift],
                        may=row.may,
                        shifts=(shift,),
                        sizes=row.sizes,
                    )
                )
        asked.append(Row(row.may, row.sizes, counts, row.names))
    return tuple(people), wrong, asked

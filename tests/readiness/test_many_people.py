"""A register larger than a stay can name: those alike stand together, and nobody is lost or made up."""

from __future__ import annotations

from vestry.readiness.stay import MOST_ALIKE, MOST_PEOPLE, Person
from vestry.readiness.stay_here import _alike


def people(many: int, sizes: str = "sml") -> list[Person]:
    return [
        Person(
            id=f"p-{number + 1}",
            may=("wearer", "observer") if number % 3 else ("wearer",),
            shifts=(f"shift-{number % 2 + 1}",),
            sizes={"gown-isolation": sizes[number % len(sizes)]},
        )
        for number in range(many)
    ]


def test_those_alike_stand_together_and_as_many_of_each_are_there():
    before = people(3_000)
    after = _alike(before)

    def of(some: list[Person] | tuple[Person, ...], may: int, shift: str, size: str) -> int:
        return sum(
            one.count
            for one in some
            if (len(one.may), one.shifts, one.sizes["gown-isolation"]) == (may, (shift,), size)
        )

    for asked in ((may, shift, size) for may in (1, 2) for shift in ("shift-1", "shift-2") for size in "sml"):
        assert of(after, *asked) == of(before, *asked), asked
    assert max(one.count for one in after) <= MOST_ALIKE
    assert len({one.id for one in after}) == len(after) <= MOST_PEOPLE

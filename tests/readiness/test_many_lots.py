"""What may be used of an item is told from its own lots, and is what the whole shelf says."""

from __future__ import annotations

import datetime

from hypothesis import given
from hypothesis import strategies as st

from vestry.readiness.here import Here
from vestry.stock import Lot, Where, on_hand

DAY = datetime.date(2027, 3, 1)
DAYS = st.integers(-3, 3).map(lambda days: DAY + datetime.timedelta(days=days))
LOTS = st.lists(
    st.tuples(st.sampled_from(["apron", "goggles"]), st.sampled_from(["s", "m"]), st.none() | DAYS), max_size=8
)


@given(LOTS, st.lists(st.integers(-2, 5), min_size=16, max_size=16), st.sets(st.integers(0, 7)), DAYS, DAYS)
def test_it_is_what_the_whole_shelf_says(
    said: list[tuple[str, str, datetime.date | None]],
    numbers: list[int],
    held: set[int],
    first: datetime.date,
    last: datetime.date,
):
    lots = tuple(
        Lot(id=f"l{n}", item=item, size=size, number=f"{n}", expiry=on) for n, (item, size, on) in enumerate(said)
    )
    places = [Where(lot.id, place) for lot in lots for place in ("store", "anteroom")]
    counts = {where: number for where, number in zip(places, numbers, strict=False) if number}
    here = Here(procedures=(), lots=lots, counts=counts, held=frozenset(f"l{n}" for n in held))

    for item in ("apron", "goggles", "gown-isolation"):
        for size in (None, "s", "m"):
            whole = sum(
                one.usable
                for one in on_hand(counts, lots, here.held, last)
                if one.lot.item == item and size in (None, one.lot.size) and not one.lot.expired(first)
            )
            assert here.usable(item, size, first, last) == whole


@given(LOTS, st.lists(st.integers(-2, 5), min_size=16, max_size=16), st.sets(st.integers(0, 7)), DAYS)
def test_what_a_person_can_be_given_is_what_the_whole_shelf_says(
    said: list[tuple[str, str, datetime.date | None]], numbers: list[int], held: set[int], day: datetime.date
):
    lots = tuple(
        Lot(id=f"l{n}", item=item, size=size, number=f"{n}", expiry=on) for n, (item, size, on) in enumerate(said)
    )
    places = [Where(lot.id, place) for lot in lots for place in ("store", "anteroom")]
    here = Here(
        procedures=(),
        lots=lots,
        counts={where: number for where, number in zip(places, numbers, strict=False) if number},
        held=frozenset(f"l{n}" for n in held),
    )

    kinds = {(one.item, one.size) for one in here.kinds(day, ("apron", "goggles"))}

    assert kinds == {(one.item, one.size) for one in here.shelf(day)}

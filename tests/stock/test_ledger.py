"""The ledger folds to the same counts whatever the order, and never refuses what happened."""

import datetime
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from vestry.stock import Lot, Movement, Quarantine, Reserve, Where, count, fold, held_lots, levels, on_hand, where_used

DAY = datetime.date(2026, 6, 1)
PLACES = ("store", "anteroom", "doffing-area")
KINDS = ("received", "moved", "used", "damaged", "discarded", "counted-more", "counted-less")


def movement(number, kind="received", quantity=1, lot="l1", **changed):
    ends = {"received": (None, "store"), "counted-more": (None, "store"), "moved": ("store", "anteroom")}
    start, end = ends.get(kind, ("store", None))
    said = {"from": start, "to": end, "at": f"2026-05-01T{number % 24:02}:00:00Z", "by": "x", "why": "said"}
    return Movement(**({"id": f"m{number}", "lot": lot, "kind": kind, "quantity": quantity} | said | changed))


def lot(key="l1", item="gloves-long", size="m", expiry=None, **changed):
    return Lot(id=key, item=item, size=size, number=key.upper(), expiry=expiry, **changed)


@st.composite
def movements(draw):
    kind = draw(st.sampled_from(KINDS))
    place, other = draw(st.permutations(PLACES))[:2]
    needs_from = kind in ("moved", "used", "damaged", "discarded", "counted-less")
    needs_to = kind in ("moved", "received", "counted-more")
    return movement(
        draw(st.integers(0, 10_000)),
        kind,
        draw(st.integers(1, 500)),
        draw(st.sampled_from(("l1", "l2", "l3"))),
        **{"from": place if needs_from else None, "to": other if needs_to else None},
    )


def plain_counts(told):
    """The same by hand: one list of comings and goings, summed."""
    found = Counter()
    for one in told:
        if one.to:
            found[(one.lot, one.to)] += one.quantity
        if one.from_:
            found[(one.lot, one.from_)] -= one.quantity
    return {key: number for key, number in found.items() if number}


@pytest.mark.property
@given(st.lists(movements(), max_size=40, unique_by=lambda one: one.id), st.randoms())
def test_the_sums_are_the_counts_whatever_the_order_and_however_often_told(told, chance):
    shuffled = [*told, *told[: len(told) // 2]]
    chance.shuffle(shuffled)

    assert fold(shuffled) == fold(told) == plain_counts(told)


@pytest.mark.property
@given(st.lists(movements(), max_size=30, unique_by=lambda one: one.id), st.integers(0, 30))
def test_a_ledger_in_two_parts_adds_up(told, cut):
    first, second = Counter(fold(told[:cut])), Counter(fold(told[cut:]))
    first.update(second)

    assert {key: number for key, number in first.items() if number} == fold(told)


def test_what_was_used_beyond_the_count_is_recorded_and_shows_below_nought():
    counts = fold([movement(1, "received", 2), movement(2, "used", 5)])

    assert counts == {Where("l1", "store"): -3}
    assert on_hand(counts, [lot()], frozenset(), DAY)[0].usable == 0


@pytest.mark.parametrize(
    ("kind", "changed", "says"),
    [
        ("received", {"from": "store", "to": None}, "received has `to`"),
        ("used", {"to": "anteroom"}, "used has `from`"),
        ("moved", {"to": None}, "moved has `from` and `to`"),
        ("moved", {"to": "store"}, "that same place"),
        ("counted-less", {"why": " "}, "counted-less needs a reason"),
        ("received", {"quantity": 0}, "greater than or equal to 1"),
    ],
)
def test_a_movement_that_makes_no_sense_is_refused_with_what_would(kind, changed, says):
    with pytest.raises(ValidationError, match=says):
        movement(1, kind, **changed)


def test_a_count_says_the_difference_and_the_movement_that_squares_it():
    counts = fold([movement(1, "received", 10)])

    short, same = count(Where("l1", "store"), 7, counts), count(Where("l1", "store"), 10, counts)

    assert (short.difference, short.kind) == (-3, "counted-less")
    assert (same.difference, same.kind) == (0, None)
    assert count(Where("l1", "anteroom"), 2, counts).kind == "counted-more"
    with pytest.raises(ValueError, match="nobody counts -1"):
        count(Where("l1", "store"), -1, counts)


def hold(number, act, at, lot="l1"):
    return Quarantine(id=f"q{number}", lot=lot, act=act, at=at, by="x", why="seam")


@pytest.mark.property
@given(
    st.permutations(
        [
            hold(1, "held", "2026-05-01T10"),
            hold(2, "released", "2026-05-02T10"),
            hold(3, "held", "2026-05-02T10"),
            hold(4, "held", "2026-05-03T10", "l2"),
            hold(5, "released", "2026-05-04T10", "l2"),
        ]
    )
)
def test_the_latest_word_holds_in_whatever_order_it_came_and_a_tie_stays_on_hold(told):
    assert held_lots(told) == {"l1"}


def test_a_lot_on_hold_or_expired_is_there_but_not_usable():
    lots = [lot("l1"), lot("l2", expiry=datetime.date(2026, 5, 31)), lot("l3", expiry=DAY)]
    counts = fold([movement(n, "received", 10, f"l{n}") for n in (1, 2, 3)])

    there = on_hand(counts, lots, frozenset({"l1"}), DAY)
    level = levels(there, [Reserve(item="gloves-long", size="m", least=12), Reserve(item="hair-cover", least=3)])

    assert {one.lot.id: one.usable for one in there} == {"l1": 0, "l2": 0, "l3": 10}  # good on its last day
    assert [(one.item, one.size, one.usable, one.held, one.expired, one.earliest, one.short) for one in level] == [
        ("gloves-long", "m", 10, 10, 10, DAY, 2),
        ("hair-cover", "all", 0, 0, 0, None, 3),
    ]


def test_where_a_lot_went_names_each_entry_once_a_movement():
    told = [
        movement(3, "used", 1, entry="e2", assumed=True),
        movement(2, "used", 1, entry="e1"),
        movement(2, "used", 1, entry="e1"),
        movement(4, "used", 1, lot="l2", entry="e3"),
        movement(5, "discarded", 1),
    ]

    assert [(one.entry, one.assumed) for one in where_used("l1", told)] == [("e1", False), ("e2", True)]

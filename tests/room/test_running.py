"""Checks with limits, bags on hold, turning a room around."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from fractions import Fraction
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.room.bags import Bag, BagEvent, Flag, cannot, fold_bags
from vestry.room.checks import ReadingRefused, checked, due
from vestry.room.dilution import contact_time
from vestry.room.turning import turned_around
from vestry.room.waste import routed, who_may
from vestry.trade.catalogue import load_catalogue
from vestry.trade.operations import load_operations

OPERATIONS, CATALOGUE = load_operations(), load_catalogue()
LEAD, STAFF = ("programme-lead",), ("staff-member",)
NOW = datetime(2026, 11, 3, 2, 0, tzinfo=UTC)

# ---- checks ----


@pytest.mark.parametrize(
    ("measure", "value", "kind", "within"),
    [
        ("pressure", "-2.5", "isolation-new", True),
        ("pressure", "-8", "isolation-existing", True),
        ("pressure", "-2.4", "isolation-new", False),
        ("pressure", "2.5", "isolation-new", False),  # the sign forgotten: a room that blows out
        ("air-changes", "12", "isolation-new", True),
        ("air-changes", "11.9", "isolation-new", False),
        ("air-changes", "6", "isolation-existing", True),
        ("air-changes", "3", "other", None),
    ],
)
def test_a_reading_against_the_limit_of_its_room(measure, value, kind, within) -> None:
    assert checked(measure, Fraction(value), kind, OPERATIONS).within is within


def test_a_reading_that_no_room_has_is_refused() -> None:
    with pytest.raises(ReadingRefused):
        checked("pressure", Fraction(-2500), "isolation-new", OPERATIONS)


def test_a_room_in_use_is_looked_at_every_day() -> None:
    assert due(None, NOW, OPERATIONS)
    assert not due(NOW - timedelta(hours=24), NOW, OPERATIONS)
    assert due(NOW - timedelta(hours=24, minutes=1), NOW, OPERATIONS)


# ---- bags ----


def event(at: int, act, number: str = "", roles=LEAD, **more) -> BagEvent:
    return BagEvent(id=f"{at:04}", at=f"2026-11-03T{at:02}:00", act=act, by="x", roles=roles, number=number, **more)


CLOSED = event(1, "closed", "B1", STAFF, case="night", room="room-1", stream="infectious-lined")
NEGATIVE = event(2, "result", case="night", result="negative")
POSITIVE = event(2, "result", case="night", result="positive")


def flags(bag: Bag) -> set[Flag]:
    return {one.flag for one in bag.flags}


def test_a_closed_bag_is_on_hold_until_somebody_lets_it_go() -> None:
    bag = fold_bags([CLOSED], OPERATIONS)["B1"]
    assert (bag.stands, bag.case, bag.stream, flags(bag)) == ("on-hold", "night", "infectious-lined", set())


def test_after_the_result_the_lead_releases_it_and_it_is_collected() -> None:
    told = [CLOSED, POSITIVE, event(3, "released", "B1"), event(4, "collected", "B1", ("shift-lead",))]
    bag = fold_bags(told, OPERATIONS)["B1"]
    assert (bag.stands, flags(bag)) == ("collected", set())


def test_a_negative_result_lets_it_into_another_stream() -> None:
    told = [CLOSED, NEGATIVE, event(3, "downgraded", "B1", stream="ordinary-clinical")]
    bag = fold_bags(told, OPERATIONS)["B1"]
    assert (bag.stands, bag.stream, flags(bag)) == ("released", "ordinary-clinical", set())


BROKEN = {
    "released before the result": ([CLOSED, event(3, "released", "B1")], {"before-result"}),
    "released on an unclear result": (
        [CLOSED, event(2, "result", case="night", result="inconclusive"), event(3, "released", "B1")],
        {"before-result"},
    ),
    "a result of another case": (
        [CLOSED, event(2, "result", case="other", result="negative"), event(3, "released", "B1")],
        {"before-result"},
    ),
    "downgraded though positive": (
        [CLOSED, POSITIVE, event(3, "downgraded", "B1", stream="ordinary-clinical")],
        {"not-negative"},
    ),
    "released by one who may not": ([CLOSED, NEGATIVE, event(3, "released", "B1", STAFF)], {"not-entitled"}),
    "collected while on hold": ([CLOSED, NEGATIVE, event(3, "collected", "B1")], {"not-released"}),
    "never closed": ([NEGATIVE, event(3, "collected", "B1")], {"not-closed", "not-released"}),
    "a number twice": ([CLOSED, event(3, "closed", "B1", STAFF, case="other", stream="x")], {"number-twice"}),
}


@pytest.mark.parametrize("name", BROKEN)
def test_what_happened_is_kept_and_flagged(name: str) -> None:
    told, expected = BROKEN[name]
    bag = fold_bags(told, OPERATIONS)["B1"]

    assert flags(bag) == expected
    assert len(bag.events) == sum(one.act != "result" for one in told)


def test_a_number_used_again_does_not_move_the_first_bag() -> None:
    bag = fold_bags(BROKEN["a number twice"][0], OPERATIONS)["B1"]
    assert (bag.case, bag.stands) == ("night", "on-hold")


def test_the_order_in_which_events_arrive_and_doubles_change_nothing() -> None:
    told = [CLOSED, NEGATIVE, event(3, "released", "B1"), event(4, "collected", "B1")]
    expected = fold_bags(told, OPERATIONS)
    for order in permutations(told):
        assert fold_bags([*order, *order], OPERATIONS) == expected


@pytest.mark.property
@given(st.lists(st.sampled_from([CLOSED, NEGATIVE, POSITIVE, *(one for told, _ in BROKEN.values() for one in told)])))
def test_no_bag_is_collected_or_released_by_anything_but_an_event_that_says_so(told: list[BagEvent]) -> None:
    for bag in fold_bags(told, OPERATIONS).values():
        acts = {one.act for one in bag.events}
        assert bag.stands != "collected" or "collected" in acts
        assert bag.stands != "released" or acts & {"released", "downgraded"}


def test_what_speaks_against_it_is_told_beforehand() -> None:
    held = fold_bags([CLOSED], OPERATIONS)["B1"]
    assert cannot("released", held) == ("before-result",)
    assert cannot("downgraded", held) == ("not-negative",)
    assert cannot("collected", held) == ("not-released",)
    assert who_may("release", OPERATIONS) == LEAD


def test_waste_of_the_highest_category_is_held_and_goes_by_the_countrys_rule() -> None:
    found = routed("lassa", CATALOGUE, OPERATIONS, "us")
    assert (found.stream, found.held, found.settled) == ("infectious-lined", True, True)
    other = routed("mers", CATALOGUE, OPERATIONS, "us")
    assert (other.stream, other.held) == ("ordinary-clinical", False)
    assert routed("chapare", CATALOGUE, OPERATIONS).held  # on no list, and yet into the lined container
    unknown = routed("lassa", CATALOGUE, OPERATIONS, "uk")
    assert (unknown.held, unknown.settled) == (True, False)


# ---- turning around ----

CONTACT = contact_time("surfaces", OPERATIONS)


def test_cleaning_waits_for_the_air_where_it_matters() -> None:
    found = turned_around(NOW, OPERATIONS, contact=CONTACT, air_minutes=35)
    starts = {one.name: (one.start - NOW).total_seconds() / 60 for one in found.parts}

    assert starts == {"air": 0, "cleaning": 35, "contact": 80, "restock": 95, "check": 115}
    assert found.ready == NOW + timedelta(minutes=125)


def test_where_the_air_is_beside_the_point_cleaning_starts_at_once() -> None:
    found = turned_around(NOW, OPERATIONS, contact=CONTACT)
    assert found.ready == NOW + timedelta(minutes=45 + 15 + 20 + 10)
    assert "air" not in {one.name for one in found.parts}


def test_a_room_is_not_ready_before_its_air_is_clear_whoever_cleans() -> None:
    found = turned_around(NOW, OPERATIONS, contact=CONTACT, air_minutes=300, cleaning_waits=False)
    assert found.last == "air"
    assert found.ready == NOW + timedelta(minutes=310)


@pytest.mark.property
@given(st.integers(0, 600), st.integers(0, 600), st.booleans())
def test_more_air_to_wait_for_is_never_ready_earlier(one: int, other: int, waits: bool) -> None:
    short, long = sorted((one, other))
    by = [
        turned_around(NOW, OPERATIONS, contact=CONTACT, air_minutes=minutes, cleaning_waits=waits, pace=pace).ready
        for pace in ("brisk", "usual", "slow")
        for minutes in (short, long)
    ]
    assert by[0] <= by[1]
    assert by[0] <= by[2] <= by[4]

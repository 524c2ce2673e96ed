"""One lane, several people: its laws, and every order of leaving tried for small queues."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.entry.lane import Pass
from vestry.entry.queue import LaneNow, lane_now

NOW = datetime(2026, 11, 25, 2, 0, tzinfo=UTC)


def minutes(count: int) -> timedelta:
    return timedelta(minutes=count)


def inside(code: str, left: int, way_out: int = 20, **more: object) -> Pass:
    """Somebody inside with so many minutes left of the limit."""
    return replace(Pass(code, "inside", NOW + minutes(left), minutes(way_out)), **more)  # type: ignore[arg-type]


def lane(*passes: Pass, turnaround: int = 10) -> LaneNow:
    return lane_now(passes, NOW, minutes(turnaround))


def by(found: LaneNow, code: str) -> int:
    """Start out by, in minutes from now."""
    turn = found.turn(code)
    assert turn is not None
    assert turn.start_by is not None
    return round((turn.start_by - NOW).total_seconds() / 60)


# ---- as a reader would reckon it ----


def test_alone_one_starts_out_when_the_way_out_still_fits_the_limit():
    found = lane(inside("noor", 100))

    assert (found.state, found.who, found.free_at) == ("free", None, NOW)
    assert by(found, "noor") == 80


def test_the_first_starts_earlier_for_the_one_behind():
    found = lane(inside("noor", 60), inside("emre", 70))

    assert [turn.code for turn in found.turns] == ["noor", "emre"]
    assert (by(found, "noor"), by(found, "emre")) == (20, 50)
    assert found.turns[1].waits == minutes(30)


def test_who_is_in_the_lane_keeps_it_and_the_next_waits_for_its_turnaround():
    found = lane(inside("noor", 15, 12, where="in-lane"), inside("emre", 30))

    assert (found.state, found.who, found.free_at) == ("occupied", "noor", NOW + minutes(22))
    assert found.turns[0].start_by is None
    assert [turn.late for turn in found.turns] == [minutes(0), minutes(12)]


def test_a_lane_is_to_be_cleared_until_everything_was_said_to_be_done():
    out = Pass("noor", "out", out_at=NOW - minutes(4), cleared=("seat",))
    found = lane(out, inside("emre", 90))
    assert (found.state, found.who, found.free_at) == ("to-clear", "noor", NOW + minutes(6))
    assert found.to_do == ("floor", "bins", "restock")
    assert found.turns[0].starts == NOW + minutes(6)

    assert lane(replace(out, clear_at=NOW - minutes(1)), inside("emre", 90)).state == "free"
    earlier = Pass("petra", "out", out_at=NOW - minutes(60), clear_at=NOW - minutes(50))
    assert lane(out, earlier).state == "to-clear"


def test_the_unwell_go_first_and_relief_is_who_is_dressed_and_has_not_gone_in():
    found = lane(inside("noor", 40), inside("emre", 90, unwell=True), Pass("kofi", "dressed"), Pass("marit", "donning"))

    assert [turn.code for turn in found.turns] == ["emre", "noor"]
    assert found.relief == ("kofi",)


# ---- laws ----

PEOPLE = st.lists(
    st.builds(
        lambda left, way, lane, unwell: (left, way, lane, unwell),
        st.integers(-30, 240),
        st.integers(0, 40),
        st.booleans(),
        st.booleans(),
    ),
    max_size=6,
)


def people(drawn: list[tuple[int, int, bool, bool]], calm: bool = False) -> list[Pass]:
    return [
        inside(f"p{n}", left, way, where="in-lane" if first and n == 0 else "inside", unwell=unwell and not calm)
        for n, (left, way, first, unwell) in enumerate(drawn)
    ]


def start_by(found: LaneNow) -> dict[str, datetime]:
    return {turn.code: turn.start_by for turn in found.turns if turn.start_by is not None}


@pytest.mark.property
@given(PEOPLE, st.integers(0, 30), st.integers(-30, 240), st.integers(0, 40), st.booleans())
def test_a_longer_queue_never_gives_a_later_start_out_by(drawn, turnaround, left, way, unwell):
    before = start_by(lane(*people(drawn), turnaround=turnaround))
    after = start_by(lane(*people(drawn), inside("z", left, way, unwell=unwell), turnaround=turnaround))

    assert all(after[code] <= moment for code, moment in before.items())


@pytest.mark.property
@given(PEOPLE, st.integers(0, 30), st.integers(0, 120))
def test_a_longer_limit_of_the_unit_never_gives_an_earlier_one(drawn, turnaround, longer):
    found = people(drawn)
    before = start_by(lane(*found, turnaround=turnaround))
    longer_for_all = [replace(one, until=one.until + minutes(longer)) for one in found if one.until]
    after = start_by(lane(*longer_for_all, turnaround=turnaround))

    assert all(after[code] >= moment for code, moment in before.items())


@pytest.mark.property
@given(PEOPLE.filter(bool), st.integers(0, 30), st.integers(0, 120))
def test_nor_does_a_longer_limit_of_ones_own_ensemble(drawn, turnaround, longer):
    found = people(drawn)
    last = found[-1]
    before = start_by(lane(*found, turnaround=turnaround)).get(last.code)
    assert last.until is not None
    other = replace(last, until=last.until + minutes(longer))
    after = start_by(lane(*found[:-1], other, turnaround=turnaround)).get(last.code)

    assert before is None or (after is not None and after >= before)


@pytest.mark.property
@given(PEOPLE, st.integers(0, 30))
def test_starting_out_by_then_everyone_from_there_on_makes_it_and_a_minute_later_somebody_does_not(drawn, turnaround):
    found = lane(*people(drawn), turnaround=turnaround)
    order = {one.code: one for one in people(drawn)}
    for turn in found.turns:
        if turn.start_by is not None:
            behind = [order[one.code] for one in found.turns if one.place >= turn.place]
            assert lateness(behind, turn.start_by, turnaround) <= 0
            assert lateness(behind, turn.start_by + minutes(1), turnaround) > 0


def lateness(order: list[Pass], begin: datetime, turnaround: int) -> float:
    """Minutes by which the latest of them is late, leaving in this order from then on; below 0 where all are early."""
    at, worst = begin, float("-inf")
    for one in order:
        at += one.way_out
        assert one.until is not None
        worst = max(worst, (at - one.until).total_seconds() / 60)
        at += minutes(turnaround)
    return worst


@pytest.mark.property
@given(PEOPLE.filter(lambda drawn: 0 < len(drawn) < 6), st.integers(0, 30))
def test_no_order_of_leaving_makes_the_latest_less_late(drawn, turnaround):
    """Every order tried. Who is in the lane already stays first: nobody is turned back."""
    found = people(drawn, calm=True)
    turns = lane(*found, turnaround=turnaround).turns
    own = [next(one for one in found if one.code == turn.code) for turn in turns]
    first = [one for one in found if one.where == "in-lane"]
    others = [one for one in found if one.where == "inside"]

    best = min(lateness([*first, *order], NOW, turnaround) for order in permutations(others))
    assert lateness(own, NOW, turnaround) == best
    assert max((turn.late for turn in turns), default=minutes(0)) == minutes(max(0, round(best)))

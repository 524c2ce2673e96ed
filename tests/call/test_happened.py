"""A call as a specification: what was said last holds, twice is once, late takes its own place."""

from __future__ import annotations

import datetime
import itertools

from hypothesis import given
from hypothesis import strategies as st

from vestry.call import CALL_KINDS, Happened, stands

TAKEN = datetime.datetime(2026, 11, 27, 2, 0, tzinfo=datetime.UTC)
_numbers = itertools.count(1)


def minutes(count: int) -> datetime.datetime:
    return TAKEN + datetime.timedelta(minutes=count)


def said(kind: str, subject: str = "", at: int = 0, written: int | None = None, due: int | None = None) -> Happened:
    number = next(_numbers)
    later = minutes(at if written is None else written)
    there = None if due is None else minutes(due)
    return Happened(f"line-{number:04}", kind, minutes(at), later, "Sander Brook", subject, there)  # type: ignore[arg-type]


def test_nothing_said_leaves_the_call_as_it_was_taken():
    state = stands(minutes(60), [])

    assert (state.expected, state.open, state.replies, state.made) == (minutes(60), True, {}, {})


def test_of_a_person_the_latest_word_holds_whatever_order_it_came_in():
    coming, cannot = said("coming", "noor", at=3, due=30), said("cannot", "noor", at=9)

    assert stands(None, [cannot, coming]).replies["noor"].says == "cannot"
    assert stands(None, [coming]).replies["noor"].due == minutes(30)


def test_a_line_written_late_takes_the_place_of_the_time_that_it_tells():
    first = said("cannot", "noor", at=5, written=40)
    then = said("coming", "noor", at=20, due=45)

    assert stands(None, [then, first]).replies["noor"].says == "coming"


def test_somebody_who_is_asked_again_is_still_coming_and_whoever_is_here_was_due_as_told():
    coming, asked = said("coming", "noor", at=3, due=30), said("asked", "noor", at=8)
    assert stands(None, [coming, asked]).replies["noor"].says == "coming"

    here = stands(None, [coming, said("arrived", "noor", at=28)]).replies["noor"]
    assert (here.here, here.arrived, here.due) == (True, minutes(28), minutes(30))


def test_a_line_that_was_wrong_counts_as_never_written_and_stays_known():
    wrong = said("arrived", "noor", at=4)
    state = stands(None, [wrong, said("taken-back", wrong.id, at=5)])

    assert (state.replies, state.taken_back) == ({}, {wrong.id})


def test_a_call_stood_down_stays_so_unless_that_was_taken_back():
    down = said("stood-down", at=10)

    assert stands(None, [down, said("closed", at=20)]).ended == down
    assert stands(None, [down, said("taken-back", down.id, at=11)]).open


def test_the_newest_arrival_and_the_newest_decision_hold():
    state = stands(minutes(60), [said("expected", at=5, due=90), said("transfer", at=6), said("stay", at=30)])

    assert (state.expected, state.decision.kind) == (minutes(90), "stay")


LINES = st.lists(
    st.builds(
        said,
        st.sampled_from([one for one in CALL_KINDS if one != "taken-back"]),
        st.sampled_from(["noor", "tomas", "laboratory"]),
        st.integers(0, 60),
        st.integers(0, 90),
        st.none() | st.integers(0, 90),
    ),
    max_size=12,
)


@given(LINES, st.randoms(use_true_random=False))
def test_any_order_and_any_number_of_arrivals_come_to_the_same(lines, chance):
    came = [*lines, *chance.sample(lines, len(lines) // 2)]
    chance.shuffle(came)

    assert stands(minutes(60), came) == stands(minutes(60), lines)

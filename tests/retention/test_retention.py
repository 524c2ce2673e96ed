"""Keeping and letting go: the laws, over generated subjects, policies and holds."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vestry.retention import HELD_SORTS, SORTS, Hold, Subject, decide

pytestmark = pytest.mark.property
NOW = datetime(2040, 1, 1, tzinfo=UTC)
KEYS = st.frozensets(st.sampled_from("abcd"), max_size=3)
SUBJECTS = st.lists(
    st.builds(
        Subject,
        sort=st.sampled_from(SORTS),
        key=st.text("xyz0", min_size=1, max_size=4),
        last=st.integers(0, 9000).map(lambda days: NOW - timedelta(days=days)),
        open=st.booleans(),
        needed=st.sampled_from(["", "record"]),
        entries=KEYS,
        people=KEYS,
        exposures=KEYS,
    ),
    max_size=12,
)
DAYS = st.dictionaries(st.sampled_from(SORTS), st.integers(30, 9000), max_size=7)
HOLDS = st.lists(st.builds(Hold, sort=st.sampled_from(HELD_SORTS), key=st.sampled_from("abcd")), max_size=4)


@given(SUBJECTS, HOLDS)
def test_without_a_policy_nothing_ever_goes(subjects: list[Subject], holds: list[Hold]):
    assert decide(subjects, {}, holds, NOW + timedelta(days=100_000)).goes == ()


@given(SUBJECTS, DAYS, HOLDS)
@settings(max_examples=200)
def test_a_hold_wins_what_is_open_stays_and_everything_is_in_one_of_the_two_lists(subjects, days, holds):
    found = decide(subjects, days, holds, NOW)

    assert len(found.goes) + len(found.stays) == len(subjects)
    for one in found.goes:
        assert not one.open
        assert not one.needed
        assert NOW - one.last >= timedelta(days=days[one.sort])
        for hold in holds:
            belongs = {"entry": one.entries, "person": one.people, "exposure": one.exposures}[hold.sort]
            assert hold.key not in belongs


@given(SUBJECTS, DAYS, HOLDS, st.builds(Hold, sort=st.sampled_from(HELD_SORTS), key=st.sampled_from("abcd")))
def test_one_hold_more_never_lets_more_go(subjects, days, holds, more):
    assert set(decide(subjects, days, [*holds, more], NOW).goes) <= set(decide(subjects, days, holds, NOW).goes)


@given(SUBJECTS, DAYS, HOLDS, st.integers(0, 4000))
def test_what_goes_now_goes_later_too_while_nobody_says_otherwise(subjects, days, holds, later):
    assert set(decide(subjects, days, holds, NOW).goes) <= set(
        decide(subjects, days, holds, NOW + timedelta(days=later)).goes
    )


def test_the_day_itself_counts_and_the_moment_before_does_not():
    one = Subject("entries", "e", NOW - timedelta(days=30))
    assert decide([one], {"entries": 30}, [], NOW).goes == (one,)
    assert decide([one], {"entries": 30}, [], NOW - timedelta(milliseconds=1)).stays == ((one, "young"),)

"""Joining antichains: the quick ways give what taking the minimal sets of everything gives."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.contact.cutsets import at_most, minimal, plus, times

pytestmark = pytest.mark.property

ORDER = 3
ANTICHAINS = st.sets(st.integers(0, 63).filter(lambda one: one.bit_count() <= ORDER), max_size=8).map(minimal)


@given(ANTICHAINS, ANTICHAINS)
def test_plus_keeps_the_minimal_sets_of_both(a, b):
    assert plus(a, b) == minimal({*a, *b})


@given(ANTICHAINS, st.integers(0, 6))
def test_times_joins_an_event_and_keeps_what_is_minimal_and_small_enough(a, event):
    joined = {one | 1 << event for one in a}

    assert times(a, event, ORDER) == minimal({one for one in joined if one.bit_count() <= ORDER})


@given(ANTICHAINS, ANTICHAINS)
def test_at_most_says_whether_the_one_adds_nothing_to_the_other(a, b):
    assert at_most(a, b) == (plus(a, b) == b)

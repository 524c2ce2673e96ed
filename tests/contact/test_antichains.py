"""Joining antichains: the quick ways give what taking the minimal sets of everything gives."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.contact.cutsets import at_most, minimal, plus, times
from vestry.contact.scenarios import minimal_scenarios, scenarios_with

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


@given(st.sets(st.integers(0, 63), max_size=12))
def test_the_minimal_scenarios_are_the_minimal_sets_of_those_that_reach(reaching):
    scenarios = [subset for size in range(7) for subset in combinations(range(6), size)]
    masks = [sum(1 << event for event in subset) for subset in scenarios]
    bits = sum(1 << masks.index(one) for one in reaching)

    assert minimal_scenarios(bits, scenarios, scenarios_with(scenarios)) == minimal(reaching)

"""Laws of the fold: whatever arrives, in whatever order and however often, one record has one state."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.entry.making import LED, OTHER, TABLET

from vestry.entry import KINDS, Event, fold, in_order

pytestmark = pytest.mark.property

STEP_IDS = [step.id for step in LED.plan.steps] + ["hands-again", "nowhere"]


@st.composite
def records(draw: st.DrawFn) -> list[Event]:
    """The events of one entry from two devices with clocks that jump; each id once."""
    counters = {TABLET: 0, OTHER: 0}
    found = []
    for number in range(draw(st.integers(0, 25))):
        device = draw(st.sampled_from([TABLET, OTHER]))
        counters[device] += draw(st.integers(0, 2))
        kind = draw(st.sampled_from([*KINDS, "not-known-here"]))
        payload = {
            "step": draw(st.sampled_from(STEP_IDS)), "events": ["slip"],
            "recovery": draw(st.sampled_from(["answer-1", "x"])),
            "reason": "r", "text": "t", "wearer": "noor", "observer": "tomas", "to": "ilse", "site": "neck",
        }  # fmt: skip
        second = draw(st.integers(0, 59))
        clock = f"2026-11-25T02:00:{second:02d}.000+00:00"
        identity = f"01936f2e-0000-7000-8000-{number:012x}"
        found.append(Event(identity, "e", kind, payload, "tomas", device, clock, counters[device], "p"))
    return found


@st.composite
def uploads(draw: st.DrawFn) -> tuple[list[Event], list[Event]]:
    """A record, and the same record as it came: shuffled, some of it more than once."""
    record = draw(records())
    again = draw(st.lists(st.sampled_from(record), max_size=10)) if record else []
    return record, draw(st.permutations([*record, *again]))


@given(uploads())
def test_any_order_and_any_number_of_uploads_give_the_same_state(both: tuple[list[Event], list[Event]]):
    record, came = both

    assert fold(LED, came) == fold(LED, record)


@given(uploads())
def test_ordering_keeps_each_event_once_and_each_devices_own_order(both: tuple[list[Event], list[Event]]):
    record, came = both
    ordered = in_order(came)

    assert sorted(one.id for one in ordered) == sorted(one.id for one in record)
    for device in (TABLET, OTHER):
        counters = [one.counter for one in ordered if one.device == device]
        assert counters == sorted(counters)


@given(records(), st.integers(0, 25))
def test_a_state_is_the_same_folded_at_once_or_after_a_part_was_looked_at(record: list[Event], cut: int):
    fold(LED, record[:cut])

    assert fold(LED, record) == fold(LED, list(record))


@given(records())
def test_nothing_that_was_said_is_an_error(record: list[Event]):
    state = fold(LED, record)

    assert 0 <= state.position <= len(LED.plan.steps)
    assert {flag.event for flag in state.flags} <= {one.id for one in record}

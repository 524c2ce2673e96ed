"""Laws of the fold: whatever arrives, in whatever order and however often, one record has one state."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.entry.making import LED, OTHER, TABLET

from vestry.entry import KINDS, Event, fold, in_order

pytestmark = pytest.mark.property

STEP_IDS = [step.id for step in LED.plan.steps] + ["hands-again", "nowhere"]


FIELDS = sorted({field.name for fields in KINDS.values() for field in fields})
ODD = st.sampled_from([None, True, False, 0, 7, "", "x", "gown-on", [], ["b", "a", "a", 3], [None], {}, {"a": ["b"]}])
ANYTHING = st.dictionaries(st.sampled_from(FIELDS), ODD, max_size=4)
"""Payloads that lack what their kind needs, or hold it in another way: read_event refuses them, the fold need not."""


@st.composite
def records(draw: st.DrawFn) -> list[Event]:
    """Events of one entry from two devices with clocks that jump; each id once. Some hold what no reader lets in."""
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
            "may": draw(st.booleans()), "drill": True, "item": "gloves-long",
            "event": f"01936f2e-0000-7000-8000-{draw(st.integers(0, 25)):012x}",
        }  # fmt: skip
        payload = draw(st.one_of(st.just(payload), ANYTHING))
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


@given(records(), st.integers(0, 25))
@settings(max_examples=50)
@pytest.mark.slow
def test_more_of_one_device_never_takes_back_what_was_done_but_by_a_wrong_press(record: list[Event], cut: int):
    told = [one for one in record if one.kind not in ("pressed-wrongly", "recovery-taken")]
    before, after = fold(LED, in_order(told)[:cut]), fold(LED, told)

    assert {one.step for one in before.steps if one.done} <= {one.step for one in after.steps if one.done}


@given(records())
@settings(max_examples=50)
@pytest.mark.slow
def test_an_unknown_kind_of_the_same_device_changes_nothing_but_the_list_of_unknown_kinds(record: list[Event]):
    record = [one for one in record if one.device == TABLET]
    known = fold(LED, [one for one in record if one.kind in KINDS]).as_json()
    state = fold(LED, record).as_json()

    spoke = {"unknown", "devices"}
    assert [value for key, value in state.items() if key not in spoke] == [
        value for key, value in known.items() if key not in spoke
    ]


@given(records())
@settings(max_examples=50)
@pytest.mark.slow
def test_the_state_can_be_written_as_json_and_read_back_alike(record: list[Event]):
    state = fold(LED, record).as_json()

    assert json.loads(json.dumps(state)) == state

"""What the one before leaves in the lane is met by the next: more where something went wrong, less once it is clear."""

from __future__ import annotations

import pytest
from tests.entry.making import done, event, opened
from tests.entry.real import real
from tests.procedure.example import example, plan

from vestry.contact.program import Program
from vestry.entry import Event, fold
from vestry.entry.left_behind import Gone, Met, gone_of, met_by_next
from vestry.sequence.lane import lane_program, left_in_lane, shared_owners, turnaround
from vestry.sequence.setting import setting_for
from vestry.trade import load_catalogue


def program() -> Program:
    return real(example()).program


def out(*wrong: Event) -> Gone:
    """An exit along the example, with this said on the way."""
    steps = (step.id for step in plan().steps)
    events = [opened(), event("area-confirmed"), event("entered"), *done(*steps), *wrong, event("left")]
    return gone_of(program(), fold(real(example()).led, events))


def met(*before: Gone, clear: bool) -> Met:
    catalogue = load_catalogue()
    between = turnaround(plan().policy, catalogue, setting_for(plan().case, catalogue)) if clear else ()
    return met_by_next(before, program(), between, shared_owners(catalogue))


def test_nobody_before_leaves_nothing():
    assert met(clear=True).reached == ()


@pytest.mark.parametrize("clear", [True, False])
def test_exits_as_taught_leave_what_the_lane_of_the_plan_leaves(clear: bool):
    catalogue = load_catalogue()
    lane = lane_program(
        program(), 2, plan().policy, catalogue, setting_for(plan().case, catalogue), turned_around=clear
    )
    found = met(out(), clear=clear)

    assert found.whole
    assert set(found.left) <= left_in_lane(lane, catalogue) | {"assistant.gloves"}
    assert set(met(out(), clear=True).left) <= set(met(out(), clear=False).left)
    assert "place.floor" in met(out(), clear=False).left


def test_a_step_gone_wrong_can_leave_more_and_never_less():
    slips = [event.id for event in program().events if event.sort == "slip"]
    taught = met(out(), clear=False)
    more = []
    for slip in slips[:30]:
        at = program().steps[next(one.step for one in program().events if one.id == slip)]
        found = met(out(event("deviation", at, events=[slip])), clear=False)
        assert set(found.left) >= set(taught.left)
        assert set(found.reached) >= set(taught.reached)
        more.append(set(found.left) > set(taught.left))

    assert any(more)


def test_what_the_model_does_not_know_leaves_everything_contaminated():
    at = program().steps[0]
    unknown = out(event("deviation", at, events=["something-else"]))
    found = met(unknown, clear=False)

    assert not found.whole
    stays = {name for name in program().surfaces if name.partition(".")[0] in {"place", "assistant", "observer"}}
    assert stays <= set(found.left)
    assert set(met(unknown, clear=True).left) < set(found.left)

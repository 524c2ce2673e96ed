"""One lane, several exits: what one leaves meets the next, and nothing else passes between them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.contact.strategies import orders

from vestry.contact.check import check
from vestry.contact.compiler import compile_order
from vestry.contact.cutsets import cut_sets
from vestry.contact.lane import Between, BetweenTouch, in_one_lane, left_behind
from vestry.contact.program import Program
from vestry.contact.reach import reach
from vestry.contact.scenarios import all_scenarios, run_scenarios
from vestry.trade import Lane, Order, load_catalogue

CATALOGUE = load_catalogue()
SHARED = frozenset({"place", "air", *CATALOGUE.helpers})
WIPED_SEAT = Between("seat", (BetweenTouch("clean", "place.seat", None, "turnaround:seat:lane:left-out", "judgement"),))
few = settings(max_examples=25, deadline=None)


def contaminated(program: Program, happening: tuple[int, ...] = ()) -> set[str]:
    return {program.surfaces[number] for number in reach(program, happening).at_end}


def of_exit(names: set[str], number: int) -> set[str]:
    return {name.removeprefix(f"{number}/") for name in names if name.startswith(f"{number}/")}


def kept(names: set[str]) -> set[str]:
    return {name for name in names if name.partition(".")[0] in SHARED}


@given(first=orders(plain=True), second=orders(plain=True))
@few
def test_the_second_exit_is_the_second_alone_with_the_first_ones_lane(first: Order, second: Order) -> None:
    one = compile_order(first, CATALOGUE)
    lane = in_one_lane([one, compile_order(second, CATALOGUE)], (), SHARED)
    left = tuple(sorted(left_behind(one, SHARED)))
    alone = compile_order(second.model_copy(update={"lane": Lane(contaminated=left)}), CATALOGUE)
    joined = contaminated(lane)
    assert of_exit(joined, 1) == {n for n in contaminated(one) if n.partition(".")[0] not in SHARED}
    assert of_exit(joined, 2) == {n for n in contaminated(alone) if n.partition(".")[0] not in SHARED}
    assert kept(joined) - {"air.room"} == kept(contaminated(alone)) - {"air.room"}


@given(
    order=orders(plain=True),
    a=st.sets(st.sampled_from(["place.seat", "place.floor", "assistant.gloves"])),
    b=st.sets(st.sampled_from(["place.dispenser", "place.floor", "observer.gloves"])),
)
@few
def test_two_lanes_together_reach_at_least_what_each_does(order: Order, a: set[str], b: set[str]) -> None:
    def ever(lane: set[str]) -> set[str]:
        laid = order.model_copy(update={"lane": Lane(contaminated=tuple(sorted(lane)))})
        program = compile_order(laid, CATALOGUE)
        return {program.surfaces[number] for number in reach(program).ever}

    assert ever(a | b) >= ever(a) | ever(b)


@given(order=orders(plain=True))
@few
def test_one_exit_alone_is_its_own_program(order: Order) -> None:
    program = compile_order(order, CATALOGUE)
    lane = in_one_lane([program], (WIPED_SEAT,), SHARED)
    assert check(lane, 2).vector() == check(program, 2).vector()
    assert len(lane.steps) + 1 == len(lane.worn)


@given(order=orders(plain=True, max_steps=4))
@settings(max_examples=10, deadline=None)
def test_cut_sets_across_two_exits_are_those_of_all_scenarios(order: Order) -> None:
    program = compile_order(order, CATALOGUE)
    lane = in_one_lane([program, program], (WIPED_SEAT,), SHARED)
    scenarios = all_scenarios(lane, 1, True)
    ever, _ = run_scenarios(lane, scenarios, True)
    sets = cut_sets(lane, 1, True).ever
    for surface in range(len(lane.surfaces)):
        reaching = {n for n, events in enumerate(scenarios) if ever.get(surface, 0) >> n & 1}
        minimal = sets.get(surface, ())
        expected = {
            n for n, events in enumerate(scenarios) if any(one & sum(1 << e for e in events) == one for one in minimal)
        }
        assert reaching == expected


def test_a_seat_wiped_between_two_exits_passes_nothing_on_unless_the_wipe_is_left_out() -> None:
    order = Order.model_validate(
        {
            "format-version": 1,
            "title": "sits",
            "worn": ["scrubs", "washable-shoes", "gown-impermeable"],
            "steps": [{"act": "sit"}],
        }
    )
    dirty = compile_order(order.model_copy(update={"loads": {"gown-impermeable.skirt": "high"}}), CATALOGUE)
    clean = compile_order(order.model_copy(update={"loads": {}}), CATALOGUE)
    assert "place.seat" in left_behind(dirty, SHARED)
    lane = in_one_lane([dirty, clean], (WIPED_SEAT,), SHARED)
    [left_out] = [n for n, event in enumerate(lane.events) if event.id.startswith("turnaround:seat")]
    assert "place.seat" in contaminated(in_one_lane([dirty, clean], (), SHARED))
    assert not of_exit(contaminated(lane), 2)
    assert of_exit(contaminated(lane, (left_out,)), 2)


def test_a_lane_without_exits_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one exit"):
        in_one_lane([], (), SHARED)


def test_a_hidden_hole_in_the_assistants_glove_is_one_fault_for_all_exits() -> None:
    order = Order.model_validate(
        {
            "format-version": 1,
            "title": "helped",
            "worn": ["scrubs", "gown-impermeable"],
            "loads": {"gown-impermeable.front": "high"},
            "steps": [{"act": "touch", "touches": ["assistant.gloves", "gown-impermeable.front"]}],
        }
    )
    program = compile_order(order, CATALOGUE)
    lane = in_one_lane([program, program], (), SHARED)
    latent = [event.id for event in lane.events if event.sort == "latent" and "assistant" in event.id]
    assert latent == ["latent:assistant:hole"]

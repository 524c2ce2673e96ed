"""What may be contaminated after something went wrong, and the answer that covers it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.entry.making import event
from tests.entry.real import real
from tests.procedure.example import example, shield_step

from vestry.contact.program import Event, Op, Program
from vestry.entry import Deviation, EntryState, Flag, fold
from vestry.entry.actual import actual, still_here
from vestry.entry.offering import offered

PROGRAM = Program(
    surfaces=("gown.front", "gloves.palm", "body.eyes"),
    events=(Event("slip-1", "slip", 0), Event("latent:gloves:hole", "latent", -1), Event("left-out", "omission", 1)),
    ops=(
        Op("contact", 0, 1, 0, 0, "t"),  # the palm touches the front only with slip-1
        Op("slide", 1, 2, 1, 1, "t"),  # and passes through a hole to the eyes
        Op("clean", 1, -1, 2, 1, "t"),  # cleaned, unless left out
    ),
    start=((0, "high"),),
    endpoints=((2, "mucosa"),),
    steps=("off", "rub"),
    worn=(("gown", "gloves"), ("gloves",), ("gloves",)),
)


def after(*deviations: Deviation, flags: tuple[Flag, ...] = ()) -> tuple[set[str], bool]:
    now = actual(PROGRAM, EntryState(deviations=deviations, flags=flags))
    return set(now.after["rub"]), now.whole


def said(step: str, *events: str, **more: str) -> Deviation:
    return Deviation("t", step, events, **more)


def test_without_a_deviation_it_is_as_taught():
    assert after() == ({"gown.front"}, True)


def test_what_was_seen_to_happen_happens_and_what_was_not_does_not():
    assert actual(PROGRAM, EntryState(deviations=(said("off", "slip-1"),))).after["off"] == {
        "gown.front",
        "gloves.palm",
    }
    assert after(said("off", "slip-1")) == ({"gown.front"}, True)
    assert after(said("off", "slip-1"), said("rub", "left-out")) == ({"gown.front", "gloves.palm"}, True)


def test_not_sure_lets_everything_happen_that_the_step_knows():
    assert after(said("off", "slip-1"), said("rub", "not-sure")) == ({"gown.front", "gloves.palm"}, True)


def test_a_tear_lets_every_fault_of_the_item_act():
    torn = said("off", kind="tear", touched="gloves")

    assert after(said("off", "slip-1"), torn) == ({"gown.front", "body.eyes"}, True)
    assert after(said("off", kind="tear", touched="gown")) == ({"gown.front"}, False)
    assert after(said("off", kind="tear")) == ({"gown.front"}, False)


def test_soil_counts_from_the_step_at_which_it_was_seen():
    now = actual(PROGRAM, EntryState(deviations=(said("rub", kind="soiling", touched="gloves.palm"),)))

    assert (now.after["off"], now.after["rub"]) == ({"gown.front"}, {"gown.front", "gloves.palm"})


@pytest.mark.parametrize(
    "unknown",
    [
        said("off", "something-else"), said("off", "never-heard-of"), said("off"), said("nowhere", "slip-1"),
        said("off", kind="zone-crossed"), said("nowhere", kind="soiling", touched="gown.front"),
        said("off", kind="soiling", touched="boot.sole"),
    ],
)  # fmt: skip
def test_what_the_program_cannot_know_makes_it_not_whole(unknown: Deviation):
    assert after(unknown)[1] is False


def test_acts_done_out_of_order_make_it_not_whole():
    assert after(flags=(Flag("t", "e", "done out of order"),))[1] is False


def test_what_has_come_off_and_the_air_are_not_here_any_more():
    surfaces = {"air.room", "gown.front", "gloves.palm", "body.eyes", "place.floor"}

    assert still_here(surfaces, {"gloves"}, {"gown", "gloves"}) == {"gloves.palm", "body.eyes", "place.floor"}


# ---- the answer that covers it, on a real plan ----


def held(*events: str, step: str | None = None) -> EntryState:
    way = real(example()).led
    step = step or shield_step()
    told = [event("opened", wearer="noor", observer="tomas", counter=0, second=0)]
    for one in way.plan.steps[: [one.id for one in way.plan.steps].index(step)]:
        told += [event("read", one.id), event("done-seen", one.id)]
    told += [event("stopped", step), event("deviation", step, events=list(events))]
    return fold(way, told)


def answered(state: EntryState, **changes: object) -> str | None:
    one = real(example())
    found = offered(one.approved.answers, one.approved.plan.steps, state, one.program, one.carried.items)
    return found.recovery.happened[0] if found else None


def test_every_slip_of_the_step_has_the_answer_made_for_it_and_not_sure_the_envelope():
    slips = next(scene.slips for scene in example().scenes if scene.step == shield_step())

    assert len(slips) > 2
    assert [answered(held(slip)) for slip in slips] == list(slips)
    assert answered(held("not-sure")) == "envelope"


def test_no_answer_where_more_may_be_contaminated_than_it_assumes():
    slip = next(scene.slips for scene in example().scenes if scene.step == shield_step())[0]
    state = held(slip)
    one = real(example())
    less = [
        one.model_copy(update={"recovery": one.recovery.model_copy(update={"assumed": ("place.floor",)})})
        for one in example().answers
    ]

    assert offered(one.approved.answers, one.approved.plan.steps, state, one.program, one.carried.items)
    assert offered(less, one.approved.plan.steps, state, one.program, one.carried.items) is None


def test_no_answer_to_something_else_to_a_second_thing_or_after_acts_out_of_order():
    state = held("not-sure")

    assert answered(held("something-else")) is None
    assert answered(replace(state, deviations=state.deviations * 2)) is None
    assert answered(replace(state, flags=(Flag("t", "e", "done out of order"),))) is None
    assert answered(replace(state, worn=state.worn[1:])) is None

"""Observer and assistant: what they wear, how they undress, what is on them; and the lane of several wearers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from vestry.contact.compiler import compile_order
from vestry.contact.reach import reach
from vestry.sequence import Case, Plan, Policy, assure, plan_case, program_of
from vestry.sequence.checking import check_plan
from vestry.sequence.lane import lane_program, left_in_lane, turnaround
from vestry.sequence.setting import setting_for
from vestry.sequence.team import assumed_loads, beyond_assumed, order_of_member
from vestry.trade import BadFacts, Catalogue, load_catalogue

CATALOGUE = load_catalogue()


def plan_of(case: dict[str, Any] | None = None, **policy: Any) -> Plan:
    chosen = {"hazard": "ebola", "presentation": "wet", **(case or {})}
    return plan_case(Case.model_validate(chosen), Policy(**policy), CATALOGUE)


def test_whoever_is_there_by_policy_has_an_ensemble_and_undresses_after_the_wearer_the_observer_last() -> None:
    assert [one.role for one in plan_of().team] == ["assistant", "observer"]
    assert [one.role for one in plan_of(assistant=False).team] == ["observer"]


@pytest.mark.published
def test_the_observer_wears_what_the_published_text_lists_for_haemorrhagic_fever() -> None:
    # CDC, VHF procedures (guidance-rules P4, seen): gown or coverall without hood, full face shield, two pairs of
    # gloves, shoe covers; no respirator is listed.
    observer = plan_of().team[-1]
    kinds = [CATALOGUE.items[item].kind for item in observer.worn]
    assert kinds.count("gloves") == 2
    assert {"gown", "shield", "foot-covers"} <= set(kinds)
    assert "respirator" not in kinds


def test_where_the_hazard_goes_through_the_air_observer_and_assistant_wear_a_respirator() -> None:
    for member in plan_of({"hazard": "mers"}).team:
        assert "respirator-disposable" in member.worn
        assert "surgical-mask" not in member.worn


def test_everything_worn_over_work_clothing_comes_off_and_the_hands_are_clean_at_the_end() -> None:
    for member in plan_of(respirator="belt-blower").team:
        program = compile_order(order_of_member(member, Case(hazard="ebola"), CATALOGUE), CATALOGUE)
        assert {CATALOGUE.items[item].kind for item in program.worn[-1]} <= {"scrubs", "shoes", "boots"}
        assert member.steps[-1].act == "hand-hygiene"


def test_a_place_that_nothing_at_hand_fills_is_named_and_not_passed_over() -> None:
    covers = ("foot-covers-low", "boot-covers-high")
    gear = [item for item in CATALOGUE.items if item not in covers]
    plan = plan_of({"gear": gear, "hazard": "lassa", "presentation": "dry"}, with_foot_covers=False)
    assert [one.missing for one in plan.team] == [(covers,), (covers,)]
    assert all(one.missing == () for one in plan_of().team)


def test_nobody_who_is_away_is_asked_to_look_a_member_over() -> None:
    [observer] = plan_of(assistant=False).team
    assert [step.who for step in observer.steps if step.topic == "integrity-check"] == ["wearer"]
    both = plan_of().team
    assert [step.who for one in both for step in one.steps if step.topic == "integrity-check"] == [
        "observer",
        "assistant",
    ]


def test_what_a_member_takes_off_goes_into_the_stream_of_the_wearers_gear() -> None:
    plan = plan_of()
    wearers = {step.waste for step in plan.phase("doffing") if step.waste}
    assert {step.waste for one in plan.team for step in one.steps if step.waste} <= wearers


def test_the_steps_checked_for_a_member_are_the_steps_of_the_plan() -> None:
    plan = plan_of()
    for member in plan.team:
        program = compile_order(order_of_member(member, plan.case, CATALOGUE), CATALOGUE)
        assert [f"{member.role}.{step}" for step in program.steps] == [
            step.id for step in member.steps if step.phase == "doffing"
        ]


def test_a_plan_file_whose_member_steps_were_edited_is_refused() -> None:
    plan = plan_of()
    check_plan(plan, CATALOGUE)
    member = plan.team[0]
    swapped = member.model_copy(update={"steps": (*member.steps[:-2], member.steps[-1], member.steps[-2])})
    with pytest.raises(BadFacts, match="hand-hygiene"):
        check_plan(plan.model_copy(update={"team": (swapped, plan.team[1])}), CATALOGUE)


@pytest.mark.slow
def test_the_assumed_loads_stand_for_all_that_a_wearers_way_out_leaves_on_the_helper() -> None:
    for policy in ({}, {"respirator": "belt-blower"}, {"garment": "coverall"}, {"hands_on": "observer"}):
        found = assure(plan_of(**policy), CATALOGUE)
        assert [(one.role, one.beyond) for one in found.team if one.beyond] == []


def test_a_load_that_the_record_does_not_stand_for_is_named() -> None:
    member = plan_of().team[0]
    record = CATALOGUE.colleagues[member.record].model_copy(update={"loads": {}})
    without = _with(record)
    assert beyond_assumed(member, without, {"assistant.gloves", "observer.gloves"}) == ("assistant.gloves",)
    assert assumed_loads(member, without) == {}


def _with(record: Any) -> Catalogue:
    return replace(CATALOGUE, colleagues={**CATALOGUE.colleagues, record.id: record})


def test_members_start_with_what_the_wearers_leave_on_things_of_the_place() -> None:
    plan = plan_of()
    program = program_of(plan, CATALOGUE)
    left = {name for name in left_in_lane(program, CATALOGUE) if name.startswith("place.")}
    assert left
    assert all(left <= set(one.assumed) for one in assure(plan, CATALOGUE).team)


# ---- who may touch -------------------------------------------------------------------------------------------------


def test_who_helps_is_the_units_choice() -> None:
    def helpers(plan: Plan) -> set[str]:
        return {step.who for step in plan.phase("doffing")} - {"wearer", "observer"}

    assert helpers(plan_of(respirator="belt-blower")) == {"both"}
    assert helpers(plan_of(respirator="belt-blower", hands_on="observer")) == {"wearer-and-observer"}
    assert helpers(plan_of(respirator="belt-blower", hands_on="nobody")) == set()


def test_where_the_observer_helps_it_is_the_observers_gloves_that_are_reached() -> None:
    plan = plan_of(respirator="belt-blower", hands_on="observer")
    program = program_of(plan, CATALOGUE)
    ever = {program.surfaces[number] for number in reach(program).ever}
    assert "observer.gloves" in ever
    assert "assistant.gloves" not in ever


# ---- the lane ------------------------------------------------------------------------------------------------------


def test_one_wearer_has_no_turnaround_and_no_lane_to_share() -> None:
    plan = plan_of()
    assert plan.turnaround == ()
    assert assure(plan, CATALOGUE).lane is None


def test_two_wearers_have_a_turnaround_and_the_model_says_what_the_first_leaves() -> None:
    plan = plan_of({"wearers": 2})
    found = assure(plan, CATALOGUE).lane
    assert found is not None
    assert plan.turnaround == tuple(CATALOGUE.turnarounds)
    assert set(found.left_after) < set(found.left)
    assert "place.floor" in found.left
    assert "place.floor" not in found.left_after


def test_what_the_second_meets_is_never_less_without_a_turnaround() -> None:
    for policy in ({}, {"respirator": "belt-blower"}, {"garment": "coverall"}):
        found = assure(plan_of({"wearers": 2}, **policy), CATALOGUE).lane
        assert found is not None
        assert {one.surface for one in found.added} <= {one.surface for one in found.added_unturned}


def test_an_error_of_the_first_that_reaches_the_second_is_listed_and_one_of_their_own_is_not() -> None:
    found = assure(plan_of({"wearers": 2}), CATALOGUE).lane
    assert found is not None
    for one in found.weak:
        assert len(one.events) == 1
        assert not one.events[0].startswith(one.surface.partition("/")[0] + "/")


def test_a_dispenser_that_is_not_touched_leaves_nothing_on_itself_for_the_next() -> None:
    touched = assure(plan_of({"wearers": 2}), CATALOGUE).lane
    by_itself = {"glove_agent": "alcohol-rub-no-touch", "hand_agent": "alcohol-rub-no-touch"}
    untouched = assure(plan_of({"wearers": 2}, **by_itself), CATALOGUE).lane
    assert touched is not None
    assert untouched is not None
    assert "place.dispenser" in touched.left_after
    assert "place.dispenser" not in untouched.left


def test_more_wearers_never_leave_less() -> None:
    plan = plan_of({"wearers": 2})
    program = program_of(plan, CATALOGUE)
    setting = setting_for(plan.case, CATALOGUE)
    left = [
        left_in_lane(lane_program(program, wearers, plan.policy, CATALOGUE, setting), CATALOGUE)
        for wearers in (1, 2, 3)
    ]
    assert left[0] <= left[1] <= left[2]


def test_a_turnaround_cleans_only_with_agents_that_clear() -> None:
    policy = Policy()
    weak = setting_for(Case(hazard="ebola"), CATALOGUE, frozenset({"cleaning-clears"}))
    touches = [touch.verb for one in turnaround(policy, CATALOGUE, weak) for touch in one.touches]
    assert "clean" not in touches


def test_a_plan_made_before_teams_keeps_its_name() -> None:
    plan = plan_of()
    bare = plan.model_copy(update={"team": (), "turnaround": ()})
    document = bare.as_json()
    assert not {"team", "turnaround"} & set(document)
    assert "wearers" not in document["case"]
    assert "hands-on" not in document["policy"]
    assert Plan.model_validate(document).hash == bare.model_copy().hash

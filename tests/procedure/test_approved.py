"""An approval names plan, facts and model; parts that do not belong together are refused."""

from __future__ import annotations

import json

import pytest
from tests.procedure.example import example

from vestry.procedure import Approved, NotWhole, differences, recovery_scenes, standing
from vestry.trade import load_catalogue


def test_it_comes_back_from_json_as_it_was():
    approved = example()

    assert Approved.model_validate(json.loads(json.dumps(approved.as_json()))) == approved


@pytest.mark.parametrize(
    ("name", "says"),
    [("plan", "approved is plan 0000"), ("facts", "other facts than those approved"), ("model", "another model")],
)
def test_an_approval_of_something_else_is_refused(name: str, says: str):
    document = example().as_json()
    document["approval"][name] = "0" * 64

    with pytest.raises(NotWhole, match=says):
        Approved(**document)


def test_the_assurance_of_another_plan_is_refused():
    document = example().as_json()
    document["assurance"]["plan"] = "0" * 64

    with pytest.raises(NotWhole, match="the assurance is of another plan"):
        Approved(**document)


def test_there_is_a_scene_for_every_step_and_what_is_worn_follows_the_steps():
    approved = example()

    assert [scene.step for scene in approved.scenes] == [step.id for step in approved.plan.steps]
    assert approved.scenes[0].worn == ()
    first_off = next(scene for scene in approved.scenes if scene.step.startswith("doff:"))
    assert set(first_off.worn) == set(approved.plan.worn)
    assert first_off.slips


def test_every_answer_leads_to_the_end_of_the_way_out():
    approved = example()

    for answer in approved.answers:
        assert answer.steps[-1].topic == "exit-time"
        off = {item for step in answer.steps if step.act == "doff" for item in step.items}
        assert off >= set(answer.recovery.worn) - {"scrubs", "washable-shoes", "washable-boots"}


def test_the_scenes_of_an_answer_begin_with_what_it_assumes():
    approved = example()
    answer = approved.answers[0]

    scenes = recovery_scenes(approved, answer, load_catalogue())

    assert [scene.step for scene in scenes] == [step.id for step in answer.steps]
    assert set(scenes[0].worn) == set(answer.recovery.worn)
    assert set(scenes[0].contaminated) >= {name for name in answer.recovery.assumed if name.startswith("body.")}


def test_standing_says_what_changed_since_approval():
    approval = example().approval
    same = {"facts": approval.facts, "model": approval.model, "today": "2026-06-01"}

    assert standing(approval, **same).changed == ()
    assert standing(approval, **(same | {"facts": "0" * 64})).assure_again
    assert standing(approval, **(same | {"model": "contact-2"})).changed == ("model",)
    assert standing(approval, **(same | {"today": approval.review_on})).changed == ("review-due",)


def test_retired_blocks_new_entries_only_and_a_changed_fact_does_not():
    approval = example().approval

    assert not standing(
        approval, facts=approval.facts, model=approval.model, today="2026-06-01", retired=True
    ).may_start
    assert standing(approval, facts="0" * 64, model=approval.model, today="2026-06-01").may_start


def test_differences_name_steps_gone_new_and_moved():
    plan = example().plan
    steps = list(plan.steps)
    swapped = plan.model_copy(update={"steps": (*steps[:-3], steps[-2], steps[-3], steps[-1])})
    shorter = plan.model_copy(update={"steps": plan.steps[:-1]})

    assert not differences(plan, plan)
    assert differences(plan, shorter).gone == (steps[-1].id,)
    assert differences(shorter, plan).new == (steps[-1].id,)
    assert len(differences(plan, swapped).moved) == 1

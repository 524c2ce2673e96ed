"""An item cannot be had: the plan without it, its inverse, the unit's own order, and where there is none."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vestry.sequence import Assurance, Case, NoPlan, Plan, Policy, Substitution, assure, plan_case, settled, substitute
from vestry.sequence.requirements import requirements_of, unmet
from vestry.sequence.telling import told_change, told_substitution
from vestry.trade import BadFacts, load_catalogue
from vestry.trade.words import load_words

CATALOGUE, WORDS = load_catalogue(), load_words("en")
OWN = ("gloves", "shield", "hair-cover", "gown", "foot-covers", "respirator")


@cache
def plan(hazard: str = "lassa", presentation: str = "wet", **policy: object) -> Plan:
    case = Case.model_validate({"hazard": hazard, "presentation": presentation})
    return plan_case(case, Policy.model_validate(policy), CATALOGUE)


def tables(made: Plan) -> Assurance:
    """What the contact model says of a plan, but for the plan's name."""
    return assure(made, CATALOGUE).model_copy(update={"plan": None})


def wearers(found: Assurance) -> Assurance:
    """What it says of the wearer's way out alone."""
    return found.model_copy(update={"team": (), "lane": None})


# ---- the law ----


@st.composite
def questions(draw: st.DrawFn) -> tuple[Plan, str]:
    """A plan and an item of it."""
    policy = {
        "respirator": draw(st.sampled_from(["disposable", "belt-blower", "helmet-blower"])),
        "garment": draw(st.sampled_from(["gown", "coverall"])),
        "eye_protection": draw(st.sampled_from(["shield", "goggles"])),
        "glove_change": draw(st.sampled_from(["before-face-item", "none"])),
        "with_apron": draw(st.booleans()),
    }
    hazard = draw(st.sampled_from(["lassa", "mers", "suspected-hcid"]))
    presentation = draw(st.sampled_from(["dry", "wet"]))
    made = plan(hazard, presentation, **policy)
    return made, draw(st.sampled_from(made.worn))


@pytest.mark.slow
@pytest.mark.property
@settings(max_examples=25, deadline=None)
@given(questions())
def test_a_substitution_and_its_inverse_end_at_the_same_plan_and_the_same_assurance(question: tuple[Plan, str]):
    made, item = question
    try:
        there = substitute(made, item, CATALOGUE)
    except NoPlan:
        return
    gained, lost = there.comparison.added, there.comparison.dropped
    if not gained:
        return
    named = substitute(made, item, CATALOGUE, gained)
    back = substitute(named.plan, gained[0], CATALOGUE, lost)

    assert named.plan.worn == there.plan.worn
    assert (back.plan.ensemble, back.plan.steps) == (made.ensemble, made.steps)
    assert wearers(tables(back.plan)) == wearers(tables(made))
    # What the way back calls lost is lost to observer and assistant too.
    if not set(gained) & {item for member in made.team for item in member.worn}:
        assert back.plan.hash == settled(made, CATALOGUE).hash
        assert tables(back.plan) == tables(made)


@pytest.mark.slow
@pytest.mark.property
@settings(max_examples=15, deadline=None)
@given(questions())
def test_what_is_lost_is_not_worn_and_every_requirement_is_met(question: tuple[Plan, str]):
    made, item = question
    try:
        found = substitute(made, item, CATALOGUE)
    except NoPlan:
        return

    assert item not in found.plan.worn
    assert not unmet(CATALOGUE, found.plan.worn, requirements_of(found.plan.case, CATALOGUE))
    assert found.assurance == assure(found.plan, CATALOGUE)
    assert found.plan == plan_case(found.plan.case, found.plan.policy, CATALOGUE)


@pytest.mark.slow
def test_shield_for_goggles_and_back_is_the_same_plan():
    there = substitute(plan(), "face-shield", CATALOGUE, ("goggles",))
    back = substitute(there.plan, "goggles", CATALOGUE, ("face-shield",))

    assert there.plan.worn != plan().worn
    assert back.plan.hash == settled(plan(), CATALOGUE).hash
    assert tables(back.plan) == tables(plan())


def test_settling_names_the_gear_and_changes_neither_steps_nor_ensemble_and_twice_is_once():
    once = settled(plan(), CATALOGUE)

    assert (once.steps, once.ensemble) == (plan().steps, plan().ensemble)
    worn = {*plan().worn, *(item for member in plan().team for item in member.worn)}
    assert set(once.case.gear) == {*worn, "fresh-gloves"}
    assert settled(once, CATALOGUE) == once
    assert once.hash != plan().hash


def test_a_copy_of_a_plan_has_its_own_name():
    name = plan().hash

    assert plan().model_copy(update={"fresh_pairs": 9}).hash != name
    assert plan().model_copy().hash == name


# ---- what is worn instead ----


def test_without_the_respirator_a_powered_unit_is_worn_and_what_it_makes_needless_falls_away():
    found = substitute(plan(), "respirator-disposable", CATALOGUE, because="fit-test")

    assert found.comparison.added == ("papr-belt-unit", "papr-hood", "papr-hose")
    assert found.comparison.dropped == ("respirator-disposable", "surgical-hood", "face-shield")
    assert not found.comparison.comparable
    assert found.comparison.b.steps == len(found.plan.steps)
    said = " ".join(told_substitution(found, WORDS))
    assert "The wearer has no fit test for the respirator." in said
    assert "Practised by 0 of those on shift; how many they are is not known here." in said
    assert f"{len(found.plan.steps)} steps, before {len(plan().steps)}" in said


def test_what_the_policy_likes_less_is_worn_when_it_is_asked_for():
    found = substitute(plan(), "respirator-disposable", CATALOGUE, ("papr-helmet",))

    assert "papr-helmet" in found.plan.worn
    assert "papr-shroud" in found.plan.worn
    assert found.left_aside


def test_every_difference_is_told_with_its_numbers():
    found = substitute(plan(), "face-shield", CATALOGUE)
    told = [told_change(row, WORDS, CATALOGUE) for row in found.comparison.steps if row.change != "kept"]

    assert any("falls away: Lean forward. Lift the shield off by its rear strap." in one for one in told)
    assert any(one.startswith("Step ") and " is new: " in one and "goggles" in one for one in told)


# ---- the unit's own order ----


def own_order(item: str, *instead: str) -> Substitution:
    return substitute(plan("mers", "dry", doffing_order=OWN), item, CATALOGUE, instead)


def test_the_units_own_order_is_kept_where_nothing_takes_the_place():
    found = own_order("hair-cover")

    assert found.own_order == "kept"
    assert found.plan.origin == "own-order"


def test_one_kind_lost_for_one_gained_is_renamed_in_the_units_own_order_and_back():
    there = own_order("face-shield", "goggles")
    back = substitute(there.plan, "goggles", CATALOGUE, ("face-shield",))

    assert there.own_order == "renamed"
    assert there.plan.policy.doffing_order == tuple("goggles" if kind == "shield" else kind for kind in OWN)
    assert back.plan.hash == settled(plan("mers", "dry", doffing_order=OWN), CATALOGUE).hash


def test_an_own_order_that_fits_no_longer_is_searched_anew_and_that_is_said():
    found = own_order("respirator-disposable")

    assert found.own_order == "dropped"
    assert found.plan.origin == "searched"
    assert "does not fit what is worn now" in " ".join(told_substitution(found, WORDS))


# ---- where there is none, and wrong questions ----


def test_an_item_whose_loss_leaves_a_site_open_is_no_plan_with_what_would_protect():
    with pytest.raises(NoPlan) as caught:
        substitute(plan(), "surgical-hood", CATALOGUE)

    assert {one.site for one in caught.value.reasons} >= {"neck"}
    assert all("papr-hood" in one.would for one in caught.value.reasons)


def test_nobody_goes_in_without_work_clothing():
    with pytest.raises(NoPlan, match="worn to work"):
        substitute(plan(), "scrubs", CATALOGUE)


def test_what_no_ensemble_of_the_case_wears_is_no_plan():
    with pytest.raises(NoPlan, match="no ensemble for this case and policy wears apron"):
        substitute(plan(), "face-shield", CATALOGUE, ("apron",))


@pytest.mark.parametrize(
    ("without", "instead", "because", "what"),
    [
        ("goggles", (), "shelf", "goggles is not worn in this plan"),
        ("nothing-such", (), "shelf", "is not worn in this plan; worn are scrubs"),
        ("face-shield", ("gogles",), "shelf", "did you mean goggles"),
        ("face-shield", ("face-shield",), "shelf", "cannot stand in for itself"),
        ("face-shield", ("scrubs",), "shelf", "worn in this plan already"),
        ("face-shield", (), "fit-test", "needs no fit test; these do: respirator-disposable"),
    ],
)
def test_a_wrong_question_names_what_is_wrong(without: str, instead: tuple[str, ...], because: str, what: str):
    with pytest.raises(BadFacts, match=what):
        substitute(plan(), without, CATALOGUE, instead, because)  # type: ignore[arg-type]

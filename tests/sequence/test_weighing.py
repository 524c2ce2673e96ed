"""What a rule costs or buys: two searches, one with it and one without; and what stricter means."""

from __future__ import annotations

from functools import cache
from itertools import product

import pytest

from vestry.sequence import Case, Policy, Weighing, plan_case, search_order, weigh
from vestry.sequence.checking import check_case_and_policy
from vestry.sequence.ensemble import ensemble_of
from vestry.sequence.rules import switched
from vestry.sequence.telling import told_weighed
from vestry.sequence.weighing import GLOVES_BETWEEN, HYGIENE, chosen, switchable
from vestry.trade import BadFacts, load_catalogue
from vestry.trade.words import load_words

CATALOGUE, WORDS = load_catalogue(), load_words("en")
CASE = Case(hazard="lassa", presentation="wet")


@cache
def weighed(hazard: str = "lassa", presentation: str = "wet", **policy: object) -> Weighing:
    case = Case.model_validate({"hazard": hazard, "presentation": presentation})
    return weigh(case, Policy.model_validate(policy), CATALOGUE)


@pytest.mark.slow
def test_a_rule_in_force_and_one_that_is_off_are_both_weighed_both_ways():
    rules = {one.rule: one for one in weighed().rules}

    assert rules["garment-before-foot-covers"].in_force
    assert not rules["shield-before-garment"].in_force
    for one in rules.values():
        assert one.with_rule is not None
        assert one.without is not None
        assert one.same == (one.endpoints == ())
    shield = rules["shield-before-garment"].with_rule
    assert shield is not None
    assert shield.removals.index("face-shield") < shield.removals.index("gown-impermeable")


def test_the_side_that_is_in_force_is_the_best_order_as_the_policy_stands():
    for one in weighed().rules:
        assert (one.with_rule if one.in_force else one.without) == weighed().base


def test_what_a_rule_costs_is_told_endpoint_by_endpoint():
    shield = next(one for one in weighed().rules if one.rule == "shield-before-garment")
    told = " ".join(told_weighed(shield, WORDS))

    assert "Costs on eyes, nose or mouth: 7 routes with one error with it, 6 without." in told
    assert "Buys on work clothing: 6 routes with one error with it, 7 without." in told


def test_rules_about_people_are_never_weighed():
    assert not {CATALOGUE.rules[one.rule].kind for one in weighed().rules} & {"people"}
    assert "observer-at-every-step" in {one.rule for one in weighed().not_weighed if one.why == "people"}
    every = {*(one.rule for one in weighed().rules), *(one.rule for one in weighed().not_weighed)}
    assert {one.id for one in CATALOGUE.rules.values() if "haemorrhagic" in one.for_families} <= every


@pytest.mark.slow
def test_two_sides_of_a_disagreement_cannot_both_be_kept_and_that_is_said():
    both = chosen(
        Policy(), ("shield-before-garment", "garment-before-shield"), frozenset({"shield-before-garment"}), CATALOGUE
    )
    one = next(one for one in weigh(CASE, both, CATALOGUE).rules if one.rule == "garment-before-shield")

    assert one.with_rule is None
    assert told_weighed(one, WORDS) == ("No order of removals keeps it here.",)


# ---- switching ----


def test_a_rule_that_is_off_by_default_can_be_followed_and_a_plan_keeps_it():
    plan = plan_case(CASE, Policy(switched_on=("shield-before-garment",)), CATALOGUE)
    off = [item for step in plan.phase("doffing") if step.act == "doff" for item in step.items]

    assert off.index("face-shield") < off.index("gown-impermeable")


def test_switching_there_and_back_is_the_same_policy():
    for rule in CATALOGUE.rules.values():
        policy = Policy()
        stands = rule.default_on
        assert switched(switched(policy, rule, not stands), rule, stands) == policy
        assert switched(policy, rule, stands) == policy


def test_a_policy_without_rules_switched_on_keeps_the_name_of_its_plans():
    plan = plan_case(CASE, Policy(), CATALOGUE)

    assert "switched-on" not in plan.as_json()["policy"]
    assert (
        "switched-on" in plan_case(CASE, Policy(switched_on=("shield-before-garment",)), CATALOGUE).as_json()["policy"]
    )


def test_a_rule_both_on_and_off_and_one_that_is_unknown_are_refused():
    with pytest.raises(BadFacts, match="switched off as well"):
        check_case_and_policy(
            CASE, Policy(switched_on=("shield-before-garment",), switched_off=("shield-before-garment",)), CATALOGUE
        )
    with pytest.raises(BadFacts, match="did you mean shield-before-garment"):
        check_case_and_policy(CASE, Policy(switched_on=("shield-before-garmen",)), CATALOGUE)


# ---- what stricter means ----

CASES = [
    (hazard, presentation, {"respirator": respirator, "glove_change": change})
    for hazard, presentation, respirator, change in product(
        ("lassa", "mers"), ("dry", "wet"), ("disposable", "helmet-blower"), ("before-face-item", "none")
    )
]


@pytest.mark.slow
@pytest.mark.property
@pytest.mark.parametrize(("hazard", "presentation", "policy"), CASES)
def test_a_rule_of_order_never_makes_the_best_order_cheaper(hazard: str, presentation: str, policy: dict[str, str]):
    """It narrows the choice, and the search is exact. So it may add a route, and never takes one away."""
    case = Case.model_validate({"hazard": hazard, "presentation": presentation})
    base = Policy.model_validate(policy)
    worn = tuple(one.item for one in ensemble_of(case, base, CATALOGUE))
    for name in switchable(case, base, worn, CATALOGUE):
        if name not in HYGIENE:
            rule = CATALOGUE.rules[name]
            on, off = (search_order(case, switched(base, rule, way), CATALOGUE, worn) for way in (True, False))
            assert on.optimal
            assert off.optimal
            assert on.cost >= off.cost, name


@pytest.mark.slow
@pytest.mark.property
@pytest.mark.parametrize(("hazard", "presentation", "policy"), CASES)
def test_no_rule_was_found_to_add_a_route_as_taught_to_what_decides_the_verdict(
    hazard: str, presentation: str, policy: dict[str, str]
):
    """As found, and no law of the model (docs/explanation/contact-model.md)."""
    for one in weighed(hazard, presentation, **policy).rules:
        assert one.with_rule is not None
        assert one.without is not None
        assert set(one.with_rule.routes) <= set(one.without.routes), one.rule


def test_glove_disinfection_can_add_hands_that_are_cleaned_later_by_the_dispenser():
    """Stricter is not always fewer: what is reached on the way, and clean again at the end."""
    one = next(one for one in weighed().rules if one.rule == GLOVES_BETWEEN)
    skin = next(row for row in one.endpoints if row.endpoint == "skin")

    assert (skin.a_ever[0], skin.b_ever[0]) == (2, 0)
    assert (skin.a_at_end[0], skin.b_at_end[0]) == (0, 0)


@pytest.mark.slow
def test_glove_disinfection_takes_routes_away_where_inner_gloves_are_not_changed():
    one = next(one for one in weighed("lassa", "dry", glove_change="none").rules if one.rule == GLOVES_BETWEEN)

    assert one.with_rule is not None
    assert one.without is not None
    assert (one.with_rule.routes, set(one.without.routes)) == ((), {"body.face", "body.hair-ears"})
    assert "Reached as taught without it: face, hair and ears." in told_weighed(one, WORDS)

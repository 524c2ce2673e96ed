"""Every plan: instructions without conditions, a name that never changes by itself, and the way out replayed."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from functools import cache
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from tests.sequence.test_search import policies, unlike_hazards

from vestry.contact.check import as_taught
from vestry.sequence import Case, NoPlan, Plan, PlanStep, Policy, assure, order_of, plan_case, program_of, say
from vestry.sequence.ensemble import ensemble_of
from vestry.sequence.planner import removals_broken
from vestry.sequence.requirements import meets, requirements_of
from vestry.trade import BadFacts, Catalogue, load_catalogue
from vestry.trade.crosscheck import NO_SOURCE_NEEDED
from vestry.trade.words import load_words

STOPS = ["before-the-door", "before-first-removal", "before-face-protection", "before-leaving"]
WAYS_ON = ("do-not-enter", "divert", "named-override")
# A plan takes a second: what fails is shown as drawn, not shrunk for minutes.
QUICK = (Phase.explicit, Phase.reuse, Phase.generate)
FACE = {"shield", "goggles", "mask", "respirator", "papr-hood", "papr-helmet", "papr-shroud"}
CONDITIONS = {"if", "when", "unless", "condition", "conditions", "else", "otherwise", "in-case"}


@cache
def planned(case: str, policy: str) -> Plan:
    return plan_case(Case.model_validate_json(case), Policy.model_validate_json(policy), load_catalogue())


def plan_of(hazard: str = "ebola", presentation: str = "dry", **policy: Any) -> Plan:
    chosen = Policy.model_validate({key.replace("_", "-"): value for key, value in policy.items()})
    case = Case.model_validate({"hazard": hazard, "presentation": presentation})
    return planned(case.model_dump_json(by_alias=True), chosen.model_dump_json(by_alias=True))


# Of every kind of ensemble one, and each way of changing gloves.
PLANS = {
    "gown": lambda: plan_of(),
    "gown-wet": lambda: plan_of(presentation="wet", with_apron=True),
    "coverall": lambda: plan_of(garment="coverall", respirator="belt-blower"),
    "belt": lambda: plan_of("mers", respirator="belt-blower"),
    "helmet": lambda: plan_of("suspected-hcid", respirator="helmet-blower", glove_change="search"),
    "room": lambda: plan_of("mers", doffing_zone="room", eye_protection="goggles"),
    "own": lambda: plan_of(
        "novel-influenza-a", doffing_order=["shield", "hair-cover", "gown", "foot-covers", "respirator"]
    ),
    "rash": lambda: plan_of("mpox-clade-i", with_foot_covers=False, glove_change="none", with_hood=True),
}
each_plan = pytest.mark.parametrize("name", PLANS)


# ---- what holds for a plan, wherever it comes from ----


def assert_plan_holds(plan: Plan, catalogue: Catalogue) -> bool:
    """Everything that must hold for every plan; returns whether it is clean as taught."""
    assert_no_conditions(plan)
    assert_stops_stand_once(plan, catalogue)
    assert_waste_on_each_removal(plan, catalogue)
    assert_reasons_and_requirements(plan, catalogue)
    assert_groups_unbroken(plan)
    for before, after in pairwise(step.act for step in plan.phase("doffing") if step.act != "inspect"):
        assert (before, after) != ("disinfect-gloves", "disinfect-gloves")
    if plan.origin == "searched":
        assert not removals_broken(plan.case, plan.policy, plan, catalogue)
    return assert_replayed(plan, catalogue)


def assert_no_conditions(plan: Plan) -> None:
    for document in (
        plan.as_json(),
        json.loads(plan.canonical()),
        plan.model_dump(),
        json.loads(plan.model_dump_json()),
    ):
        for step in document["steps"]:
            for key, value in walk(step):
                assert key not in CONDITIONS, step
                assert not isinstance(value, str) or not set(value.replace(":", "-").split("-")) & CONDITIONS, step
    assert len({step.id for step in plan.steps}) == len(plan.steps)


def walk(value: object, key: str = "") -> Iterator[tuple[str, object]]:
    yield key, value
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from walk(inner, str(name).replace("_", "-"))
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from walk(inner)


def assert_stops_stand_once(plan: Plan, catalogue: Catalogue) -> None:
    stops = [step.stop_point for step in plan.steps if step.stop_point]
    assert stops == STOPS
    at = {step.stop_point: number for number, step in enumerate(plan.steps) if step.stop_point}
    kinds = [{catalogue.items[item].kind for item in step.items} for step in plan.steps]
    doffs = [n for n, step in enumerate(plan.steps) if step.act == "doff"]
    assert at["before-the-door"] <= next(n for n, step in enumerate(plan.steps) if step.to == "room")
    assert at["before-first-removal"] <= min(doffs)
    groups = {step.group for n, step in enumerate(plan.steps) if kinds[n] & FACE} - {None}
    assert at["before-face-protection"] == next(n for n in doffs if kinds[n] & FACE or plan.steps[n].group in groups)
    assert at["before-leaving"] <= next(n for n, step in enumerate(plan.steps) if step.to == "clean-side")


def assert_waste_on_each_removal(plan: Plan, catalogue: Catalogue) -> None:
    for step in plan.steps:
        assert (step.waste is not None) == (step.act == "doff"), step
        assert step.waste is None or step.waste in catalogue.waste_streams


def assert_reasons_and_requirements(plan: Plan, catalogue: Catalogue) -> None:
    needs = requirements_of(plan.case, catalogue)
    assert all(meets(catalogue, plan.worn, need, site) for need in needs for site in need.sites)
    for one in plan.ensemble:
        assert one.reasons, one.item
        for reason in one.reasons:
            assert reason.source in NO_SOURCE_NEEDED or reason.source in catalogue.sources
            assert load_words("en").why(reason.why)


def assert_groups_unbroken(plan: Plan) -> None:
    groups = [step.group for step in plan.steps]
    for group in set(groups) - {None}:
        places = [n for n, one in enumerate(groups) if one == group]
        assert len(places) > 1
        assert places == list(range(places[0], places[-1] + 1))
        assert all(plan.steps[n].act == "doff" for n in places)
    hose = [n for n, step in enumerate(plan.steps) if step.act == "doff" and "papr-hose" in step.items]
    hood = [n for n, step in enumerate(plan.steps) if step.act == "doff" and "papr-hood" in step.items]
    assert len(hose) == len(hood)
    assert not hose or hood[0] == hose[0] + 1


def assert_replayed(plan: Plan, catalogue: Catalogue) -> bool:
    program = program_of(plan, catalogue)
    order = order_of(plan)
    assert program.steps == tuple(step.id for step in plan.phase("doffing"))
    assert order.worn == plan.worn == program.worn[0]
    assert {catalogue.items[item].kind for item in program.worn[-1]} <= {"scrubs", "shoes", "boots"}
    return not any(
        one.endpoint in ("mucosa", "helper") or (one.endpoint == "skin" and one.when == "at-end")
        for one in as_taught(program)
    )


@each_plan
def test_plan_holds(name: str) -> None:
    assert_plan_holds(PLANS[name](), load_catalogue())


@each_plan
def test_plan_comes_back_from_its_json_unchanged(name: str) -> None:
    plan = PLANS[name]()
    again = Plan.model_validate_json(plan.canonical())

    assert again == plan
    assert again.hash == plan.hash


@each_plan
def test_every_step_can_be_said(name: str) -> None:
    words, catalogue = load_words("en"), load_catalogue()
    for step in PLANS[name]().steps:
        said = say(step, words, catalogue)
        assert said.say
        assert said.short
        assert "if " not in said.say.lower().split(".")[0] or step.act == "confirm"


def test_assurance_is_of_this_plan_and_says_the_same_as_the_replay() -> None:
    for name in ("gown", "belt"):
        plan = PLANS[name]()
        found = assure(plan, load_catalogue(), 1)
        assert found.plan == plan.hash
        assert found.facts == load_catalogue().digest
        assert found.clean == assert_replayed(plan, load_catalogue())
        assert {one.step: one.number for one in found.steps} == {
            step.id: n for n, step in enumerate(plan.steps, 1) if step.phase == "doffing"
        }


# ---- its name ----


HASH = """
from vestry.sequence import *
from vestry.trade import load_catalogue
from vestry.trade.words import load_words
plan = plan_case(Case(hazard="ebola"), Policy(respirator="helmet-blower"), load_catalogue())
[say(step, load_words("en"), load_catalogue()) for step in plan.steps]
print(plan.hash)
"""


@pytest.mark.parametrize(
    "surroundings",
    [
        {"PYTHONHASHSEED": "1", "LANG": "C", "LC_ALL": "C"},
        pytest.param({"PYTHONHASHSEED": "4711", "LANG": "tr_TR.UTF-8"}, marks=pytest.mark.slow),
    ],
)
def test_name_is_the_same_in_another_process_and_language(surroundings: dict[str, str]) -> None:
    here = plan_of("ebola", respirator="helmet-blower").hash
    there = subprocess.run(
        [sys.executable, "-c", HASH], env={**os.environ, **surroundings}, capture_output=True, text=True, check=True
    )
    assert there.stdout.strip() == here


def test_name_of_a_plan_written_by_hand_is_pinned() -> None:
    """Canonical JSON by RFC 8785, then SHA-256; were this to move, every approval would have lost its plan."""
    plan = Plan(
        case=Case(code="case-7", hazard="ebola"),
        policy=Policy(),
        ensemble=(),
        steps=(
            PlanStep(id="before.confirm:area-confirmed", phase="before", act="confirm", topic="area-confirmed"),
            PlanStep(id="doff:face-shield:by-rear-strap", phase="doffing", act="doff", items=("face-shield",)),
        ),
        origin="given",
        fresh_pairs=0,
    )
    assert plan.hash == PINNED


PINNED = "0d91eb5b02338432964158314804b26765f1f2fecca240ea9a78e5844124d149"


def test_name_is_of_the_canonical_json_and_nothing_else() -> None:
    plan = PLANS["gown"]()
    document = plan.canonical()

    assert b" " not in document
    assert not any(isinstance(value, float) for _, value in walk(plan.as_json()))
    reordered = {key: plan.as_json()[key] for key in sorted(plan.as_json(), reverse=True)}
    assert Plan.model_validate(reordered).hash == plan.hash
    other = plan.model_copy(update={"steps": plan.steps[:-1]})
    assert Plan.model_validate(other.as_json()).hash != plan.hash


# ---- generated policies ----


@st.composite
def some_policies(draw: st.DrawFn) -> Policy:
    def one(*values: Any) -> Any:
        return draw(st.sampled_from(values))

    rules = [rule.id for rule in load_catalogue().rules.values() if rule.kind == "order"]
    return Policy.model_validate(
        {
            "respirator": one("disposable", "belt-blower", "belt-blower", "helmet-blower"),
            "garment": one("gown", "coverall"),
            "hooded-coverall": one(False, True),
            "with-apron": one(False, True),
            "with-hair-cover": one(False, True),
            "with-hood": one(False, True),
            "with-foot-covers": one(False, True),
            "foot-covers": one("low", "high"),
            "eye-protection": one("shield", "goggles"),
            "mask-for-stable-haemorrhagic": one(False, True),
            "disinfect-gloves": one(True, True, False),
            "glove-change": one("before-face-item", "search", "none"),
            "switched-off": draw(st.lists(st.sampled_from(rules), unique=True, max_size=4)),
            "glove-agent": one("alcohol-rub", "soap-and-water", "chlorine-0.5"),
            "hand-agent": one("alcohol-rub", "soap-and-water", "chlorine-0.05"),
            "wipe-shoes-last": one(False, True),
            "doffing-zone": one("doffing-area", "anteroom", "room"),
        }
    )


def some_cases() -> st.SearchStrategy[Case]:
    tasks = st.lists(
        st.sampled_from(["care", "invasive", "aerosol-generating", "cleaning"]), unique=True, min_size=1, max_size=2
    )
    return st.builds(
        lambda hazard, presentation, tasks: Case(hazard=hazard, presentation=presentation, tasks=tuple(tasks)),
        st.sampled_from(sorted(load_catalogue().hazards)),
        st.sampled_from(["dry", "wet"]),
        tasks,
    )


@pytest.mark.property
@settings(max_examples=6, phases=QUICK)
@given(some_cases(), some_policies())
def test_every_generated_policy_gives_a_plan_that_holds(case: Case, policy: Policy) -> None:
    assert_plan_holds(plan_case(case, policy, load_catalogue()), load_catalogue())


@pytest.mark.slow
@pytest.mark.property
@pytest.mark.timeout(600)
@settings(max_examples=150, phases=QUICK)
@given(some_cases(), some_policies())
def test_every_one_of_many_generated_policies_gives_a_plan_that_holds(case: Case, policy: Policy) -> None:
    assert_plan_holds(plan_case(case, policy, load_catalogue()), load_catalogue())


@pytest.mark.property
@settings(max_examples=10)
@given(st.permutations(["gloves", "papr-hose", "papr-hood", "papr-belt-unit", "coverall", "apron", "foot-covers"]))
def test_own_orders_never_split_a_unit(kinds: list[str]) -> None:
    """Any order of one's own, also one that names the hood much later than the hose."""
    try:
        plan = plan_of("mers", garment="coverall", respirator="belt-blower", with_apron=True, doffing_order=kinds)
    except NoPlan as none:
        why, plan = none.why, None
    assert plan is not None or "holds it" in why
    if plan is not None:
        assert_groups_unbroken_of_any_order(plan)


def assert_groups_unbroken_of_any_order(plan: Plan) -> None:
    unit = {"papr-hose", "papr-hood", "papr-belt-unit"}
    places = [n for n, step in enumerate(plan.steps) if step.act == "doff" and set(step.items) & unit]
    assert places == list(range(places[0], places[-1] + 1))
    assert {plan.steps[n].group for n in places} == {plan.steps[places[0]].group} != {None}


# ---- the room ----


@pytest.mark.parametrize("respirator", ["disposable", "belt-blower", "helmet-blower"])
@pytest.mark.parametrize("hazard", ["mers", "suspected-hcid"])
def test_doffing_in_a_room_with_contaminated_air_the_airways_are_uncovered_outside(
    hazard: str, respirator: str
) -> None:
    plan, catalogue = plan_of(hazard, doffing_zone="room", respirator=respirator), load_catalogue()
    steps = plan.phase("doffing")
    out = [n for n, step in enumerate(steps) if step.act == "move"]
    off = [n for n, step in enumerate(steps) if step.act == "doff" and any(filters(i, catalogue) for i in step.items)]
    program = program_of(plan, catalogue)

    assert [steps[n].to for n in out] == ["anteroom"]
    assert out[0] < off[0]
    assert not any(op.verb == "breathe" for op in program.ops)


@pytest.mark.slow
def test_a_respirator_off_in_the_room_breathes_its_air() -> None:
    """What the move prevents: the same order without it."""
    catalogue = load_catalogue()
    plan = plan_of("mers", doffing_zone="room")
    stays = plan.model_copy(update={"steps": tuple(s for s in plan.steps if s.to != "anteroom")})
    found = assure(Plan.model_validate(stays.as_json()), catalogue, 1)

    assert not found.clean
    assert any(link.verb == "breathe" for route in found.reached for link in route.chain)


def filters(item: str, catalogue: Catalogue) -> bool:
    return catalogue.items[item].filters_air


# ---- no plan ----


GEAR_LACKS = [
    ("ebola", "dry", {"outer-gloves-long"}, "hand-l", "contact"),
    ("ebola", "dry", {"respirator-disposable", "surgical-mask", "papr-hood", "papr-helmet"}, "nose-mouth", "droplet"),
    ("mers", "dry", {"respirator-disposable", "papr-hood", "papr-helmet"}, "nose-mouth", "airborne"),
    ("mers", "dry", {"face-shield", "goggles"}, "eyes", "droplet"),
    ("ebola", "wet", {"gown-impermeable", "coverall-impermeable", "coverall-hooded"}, "torso", "contact"),
    ("ebola", "wet", {"boot-covers-high", "washable-boots"}, "shins", "contact"),
    ("mpox-clade-i", "dry", {"gloves-long", "gloves-standard"}, "hand-l", "contact"),
]


@pytest.mark.parametrize(("hazard", "presentation", "lacks", "site", "route"), GEAR_LACKS)
def test_no_plan_names_site_route_what_would_protect_and_what_now(
    hazard: str, presentation: str, lacks: set[str], site: str, route: str
) -> None:
    catalogue = load_catalogue()
    gear = tuple(item for item in catalogue.items if item not in lacks)
    case = Case.model_validate({"hazard": hazard, "presentation": presentation, "gear": gear})

    with pytest.raises(NoPlan) as none:
        plan_case(case, Policy(), catalogue)

    reasons = {(one.site, one.route): one for one in none.value.reasons}
    assert (site, route) in reasons
    assert set(reasons[site, route].would) & lacks
    assert none.value.what_now == WAYS_ON
    for one in none.value.reasons:
        assert one.requirement in catalogue.requirements
        assert one.source in catalogue.sources
        assert one.would or one.site
        assert one.site in str(none.value)
        assert one.route in str(none.value)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"hazard": "ebolla"}, "case.hazard"),
        ({"gear": ("gown-of-gold",)}, "case.gear"),
        ({"gear": ("scrubs", "scrubs")}, "case.gear"),
    ],
)
def test_a_case_that_names_what_is_not_there_is_refused_by_field(wrong: dict[str, Any], field: str) -> None:
    with pytest.raises(BadFacts) as bad:
        plan_case(Case.model_validate({"hazard": "ebola", **wrong}), Policy(), load_catalogue())
    assert [problem.field for problem in bad.value.problems] == [field]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"switched-off": ["no-such-rule"]}, "policy.switched-off"),
        ({"doffing-order": ["trousers"]}, "policy.doffing-order"),
        ({"glove-agent": "holy-water"}, "policy.glove-agent"),
        ({"hand-agent": "disinfectant-wipe"}, "policy.hand-agent"),
        ({"surface-agent": "alcohol-rub"}, "policy.surface-agent"),
    ],
)
def test_a_policy_that_names_what_is_not_there_is_refused_by_field(wrong: dict[str, Any], field: str) -> None:
    with pytest.raises(BadFacts) as bad:
        plan_case(Case(hazard="ebola"), Policy.model_validate(wrong), load_catalogue())
    assert [problem.field for problem in bad.value.problems] == [field]


def test_an_own_order_that_leaves_something_on_gives_no_plan() -> None:
    with pytest.raises(NoPlan, match="leaves out respirator-disposable"):
        plan_case(
            Case(hazard="ebola"),
            Policy(doffing_order=("gloves", "gown", "foot-covers", "shield", "hair-cover")),
            load_catalogue(),
        )


# ---- the whole catalogue ----


@pytest.mark.slow
@pytest.mark.timeout(900)
@pytest.mark.parametrize("respirator", ["disposable", "belt-blower", "helmet-blower"])
@pytest.mark.parametrize("presentation", ["dry", "wet"])
@pytest.mark.parametrize("hazard", unlike_hazards(load_catalogue()))
def test_walk_of_the_whole_catalogue(
    hazard: str, presentation: str, respirator: str, record_property: Any, capsys: Any
) -> None:
    """Every case with every choice of what is worn is planned, or refused with a reason. Clean ones are counted.

    Policies that give the same ensemble give the same steps; one of them is planned for all.
    """
    catalogue, tally = load_catalogue(), Counter[str]()
    case = Case.model_validate({"hazard": hazard, "presentation": presentation})
    verdicts: dict[tuple[str, ...], str] = {}
    for policy in policies(respirator):
        try:
            worn = tuple(one.item for one in ensemble_of(case, policy, catalogue))
            if worn not in verdicts:
                clean = assert_plan_holds(plan_case(case, policy, catalogue), catalogue)
                verdicts[worn] = "clean" if clean else "reached"
        except NoPlan as none:
            tally["no plan, " + ("gear" if none.reasons else none.why)] += 1
            continue
        tally[verdicts[worn]] += 1
    assert sum(tally.values()) == len(list(policies(respirator)))
    record_property("verdicts", dict(tally))
    with capsys.disabled():
        print(f"\n{hazard} {presentation} {respirator}: {dict(tally)}")

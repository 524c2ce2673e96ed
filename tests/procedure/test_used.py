"""Which facts a plan uses: a changed fact flags exactly the plans that used it.

The slow answer stands in changing.py: plan again, assure again, draw the scenes, list the sheet's sources, and compare.
"""

from __future__ import annotations

from functools import cache

import pytest
from tests.procedure.changing import MENU, can_go, changes_of, differs, outcome, with_record, with_records

from vestry.procedure import touched, used
from vestry.sequence import Case, Happened, Plan, Policy, plan_case, program_of, recover
from vestry.trade import BadFacts, Catalogue, load_catalogue
from vestry.trade.catalogue import KINDS, FactsFile

CASES = {
    "wet": (Case(hazard="suspected-hcid", presentation="wet"), Policy()),
    "respiratory": (Case(hazard="mers"), Policy(eye_protection="goggles")),
    "powered": (Case(hazard="ebola", presentation="wet"), Policy(respirator="belt-blower", garment="coverall")),
    "by-country": (Case(hazard="ebola", presentation="wet"), Policy(jurisdiction="uk")),
    "own-order-two-wearers": (
        Case(hazard="ebola", wearers=2),
        Policy(doffing_order=("gloves", "shield", "hair-cover", "gown", "foot-covers", "respirator")),
    ),
}
NOT_TOLD_APART = {
    # The body is there in every plan: a bare site's endpoint is read, though nothing may get to it.
    "body": "every site of the body is read; what nothing reaches changes no count",
    # Search and recovery look at these ways; whether they win is not known before.
    "technique": "a way off that was looked at and did not win",
    "rule": "an order that was kept anyway",
    "donning": "an order that was kept anyway",
    "zone": "loads that change nothing here",
    "item": "fresh gloves, which an answer may need",
    "source": "cited for a step of those beside the wearer",
    "helper": "touched only where gloves are shared",
    "requirement": "met anyway",
    "waste-rule": "says what the hazard says",
}


@cache
def plan(name: str) -> Plan:
    return plan_case(*CASES[name], load_catalogue())


@cache
def base(name: str) -> list[object]:
    return outcome(plan(name), load_catalogue())


def unused(name: str, place: int) -> Catalogue:
    """Every record that the plan does not use changed in the way at this place of its menu (last: retired).

    A change that makes a record apply makes it used; it is left out, since then the plan is flagged.
    """
    catalogue, then = load_catalogue(), used(plan(name), load_catalogue())
    changed = {}
    for kind in KINDS:
        for key, record in catalogue.records(kind).items():
            menu = list(changes_of(kind, record))
            if f"{kind}:{key}" not in then and place < len(menu):
                changed[kind, key] = menu[place]
    for _ in range(12):
        found = touched(then, plan(name), with_records(catalogue, changed))
        if not found:
            break
        for one in found:
            changed.pop((one.kind, one.id), None)
    assert len(changed) > 40
    after = with_records(catalogue, changed)
    assert touched(then, plan(name), after) == ()
    assert after.digest != catalogue.digest
    return after


def test_every_kind_of_record_has_a_menu_of_changes():
    tables = {name.replace("_", "-") for name in FactsFile.model_fields} - {"format-version", "form"}

    assert set(KINDS) == set(MENU) == tables


@pytest.mark.slow
@pytest.mark.parametrize("name", ["wet"])
def test_facts_that_are_not_used_change_nothing(name: str):
    assert outcome(plan(name), unused(name, 0)) == base(name)


@pytest.mark.slow
@pytest.mark.parametrize("place", range(7))
@pytest.mark.parametrize("name", CASES)
def test_no_change_of_a_fact_that_is_not_used_changes_anything(name: str, place: int):
    assert outcome(plan(name), unused(name, place)) == base(name)


@pytest.mark.slow
@pytest.mark.timeout(600)
@pytest.mark.parametrize(("name", "start"), [("wet", 0), ("powered", 3)])
def test_a_fact_that_is_used_can_change_the_plan_or_what_is_said_of_it(name: str, start: int):
    """For each used record some change of the menu tells, but for those that are looked at and decide nothing here.

    Every sixth record, since each takes seconds.
    """
    catalogue, silent = load_catalogue(), []
    then = list(used(plan(name), catalogue))[start::6]
    for at in then:
        kind, _, key = at.partition(":")
        record = catalogue.records(kind)[key]
        told = any(
            differs(plan(name), with_record(catalogue, kind, key, change), base(name))
            for change in changes_of(kind, record)
        )
        if not told:
            silent.append(at)

    assert {at.partition(":")[0] for at in silent} <= set(NOT_TOLD_APART)
    assert len(silent) <= len(then) // 4, silent


@pytest.mark.parametrize(
    ("kind", "key", "flags"),
    [
        ("item", "goggles", {"respiratory"}),
        ("hazard", "mers", {"respiratory"}),
        ("hazard", "ebola", {"powered", "by-country", "own-order-two-wearers"}),
        ("item", "papr-hood", {"powered"}),
        ("duration", None, set()),
        ("protection-factor", None, set()),
    ],
)
@pytest.mark.sampled(2)
def test_a_changed_fact_flags_the_plans_that_used_it_and_no_other(kind: str, key: str | None, flags: set[str]):
    catalogue = load_catalogue()
    record = catalogue.records(kind)[key or next(iter(catalogue.records(kind)))]
    changed = with_record(catalogue, kind, record.id, record.model_copy(update=MENU[kind][0](record)))

    found = {name for name in CASES if touched(used(plan(name), catalogue), plan(name), changed)}
    assert found == flags


def test_the_digest_alone_flags_nothing():
    catalogue = load_catalogue()
    other = with_record(catalogue, "duration", next(iter(catalogue.durations)), None)

    assert other.digest != catalogue.digest
    assert touched(used(plan("wet"), catalogue), plan("wet"), other) == ()


def test_a_retired_fact_blocks_and_a_changed_one_does_not():
    catalogue = load_catalogue()
    then, gown = used(plan("wet"), catalogue), catalogue.items["gown-impermeable"]
    changed = with_record(catalogue, "item", gown.id, gown.model_copy(update={"latent": ()}))

    (found,) = touched(then, plan("wet"), changed)
    assert (found.kind, found.id, found.how, found.blocks) == ("item", "gown-impermeable", "changed", False)
    gone = touched(then, plan("wet"), with_record(catalogue, "item", gown.id, None))
    assert ("item", "gown-impermeable", "retired", True) in {(one.kind, one.id, one.how, one.blocks) for one in gone}


def test_gear_that_is_named_and_not_worn_has_to_be_there_and_nothing_more():
    catalogue = load_catalogue()
    case = Case(hazard="mers", gear=(*plan("respiratory").worn, "surgical-mask", "apron"))
    named = plan_case(case, Policy(eye_protection="goggles"), catalogue)
    then, apron = used(named, catalogue), catalogue.items["apron"]

    assert then["item:apron"] == "named"
    assert touched(then, named, with_record(catalogue, "item", "apron", apron.model_copy(update={"traps": ()}))) == ()
    (gone,) = touched(then, named, with_record(catalogue, "item", "apron", None))
    assert (gone.how, gone.blocks) == ("retired", False)
    with pytest.raises(BadFacts):
        plan_case(case, Policy(eye_protection="goggles"), with_record(catalogue, "item", "apron", None))


def test_a_fact_that_now_applies_is_new_beneath_the_plan():
    catalogue = load_catalogue()
    other = next(
        one for one in catalogue.requirements.values() if f"requirement:{one.id}" not in used(plan("wet"), catalogue)
    )
    widened = other.model_copy(
        update={"families": (), "routes": (), "presentations": (), "tasks": (), "jurisdictions": ()}
    )

    found = touched(used(plan("wet"), catalogue), plan("wet"), with_record(catalogue, "requirement", other.id, widened))
    assert ("requirement", other.id, "new") in {(one.kind, one.id, one.how) for one in found}


@pytest.mark.slow
def test_answers_use_what_the_plan_uses():
    """An approved answer comes out the same while nothing that the plan uses is another."""
    name = "wet"
    steps = [step.id for step in plan(name).phase("doffing") if step.act == "doff"]
    assert set(steps) <= set(program_of(plan(name), load_catalogue()).steps)
    for place in range(3):
        after = unused(name, place)
        for step in steps[:3]:
            happened = Happened(envelope=True)
            assert recover(plan(name), after, step, happened) == recover(plan(name), load_catalogue(), step, happened)


def test_what_must_be_there_is_not_in_any_menu_of_retirements():
    catalogue = load_catalogue()

    assert not can_go("rule", catalogue.rules["observer-at-every-step"])
    assert can_go("item", catalogue.items["apron"])

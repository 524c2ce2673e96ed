"""The way on after something went wrong: replayed from its stated start by a reader that shares no code with it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from tests.sequence.test_planner import PLANS, plan_of

from vestry.contact.compiler import compile_order
from vestry.contact.program import NO_EVENT
from vestry.contact.reference import run
from vestry.contact.scenarios import cut_sets_by_enumeration
from vestry.contact.taught import taught, worn_after
from vestry.sequence import Happened, Plan, Recovery, matching, order_of, program_of, recover, recoveries
from vestry.sequence.removal import removals_of
from vestry.trade import BadFacts, Catalogue, Order, Step, load_catalogue

EXPOSURE = ("mucosa", "skin", "helper")


@cache
def every_recovery(name: str) -> tuple[Recovery, ...]:
    return recoveries(PLANS[name](), load_catalogue())


def way_on(plan: Plan, found: Recovery) -> Order:
    """A recovery as an order of its own: worn, zone and contamination as it states them."""
    return order_of(plan).model_copy(
        update={
            "worn": found.worn,
            "zone": found.zone,
            "loads": dict.fromkeys(found.assumed, "high"),
            "steps": found.steps or (Step(act="confirm"),),
        }
    )


def way_so_far(plan: Plan, at: str) -> Order:
    """The way out up to and with a step."""
    order = order_of(plan)
    number = program_of(plan, load_catalogue()).steps.index(at)
    return order.model_copy(update={"steps": order.steps[: number + 1]})


def endpoints(plan: Plan) -> dict[str, str]:
    program = program_of(plan, load_catalogue())
    return {program.surfaces[number]: kind for number, kind in program.endpoints}


def assert_replays(plan: Plan, found: Recovery, catalogue: Catalogue) -> None:
    """The reference walks the recovery and finds what it promises."""
    kinds = endpoints(plan)
    faults = {event for event in found.happened if event.startswith("latent:")}
    replay = run(way_on(plan, found), catalogue, faults)
    new_mucosa = {s for s in replay.ever - set(found.assumed) if kinds.get(s) in ("mucosa", "helper")}
    new_skin = {s for s in replay.at_end - set(found.assumed) if kinds.get(s) == "skin"}

    assert found.clean == (not new_mucosa and not new_skin), (found.at, found.happened)


def assert_ends_undressed(plan: Plan, found: Recovery, catalogue: Catalogue) -> None:
    """Only what is worn comes off, all of it, one thing after the other; hands are clean at the end."""
    worn = found.worn
    for step in taught(way_on(plan, found), catalogue):
        if step.act in ("doff", "wipe"):
            assert set(step.items) <= set(worn), found.at
        worn = worn_after(step, worn, catalogue)
    assert {catalogue.items[item].kind for item in worn} <= {"scrubs", "shoes", "boots"}
    assert found.steps[-1].act == "hand-hygiene"


def assert_start_is_what_the_reference_finds(plan: Plan, found: Recovery, catalogue: Catalogue) -> None:
    """What is worn after the step, and everything that the events leave contaminated on it, on the body and around."""
    program = program_of(plan, catalogue)
    number = program.steps.index(found.at)
    assert found.worn == program.worn[number + 1]
    events = {event for event in found.happened if event in {e.id for e in program.events}}
    actual = run(way_so_far(plan, found.at), catalogue, events).at_end
    here = {s for s in actual if s.partition(".")[0] not in catalogue.items or s.partition(".")[0] in found.worn}
    here -= {"air.room"}
    soiled = {word.removeprefix("soiled:") for word in found.happened if word.startswith("soiled:")}
    if "envelope" in found.happened:
        assert here <= set(found.assumed)
    else:
        assert set(found.assumed) - soiled <= here <= set(found.assumed)
    kinds = endpoints(plan)
    assert set(found.exposed) == {s for s in found.assumed if kinds.get(s) in EXPOSURE}


def assert_every_way_on_holds(name: str) -> None:
    plan, catalogue = PLANS[name](), load_catalogue()
    for found in every_recovery(name):
        assert_replays(plan, found, catalogue)
        assert_ends_undressed(plan, found, catalogue)
        assert_start_is_what_the_reference_finds(plan, found, catalogue)


def test_every_recovery_of_a_plan_is_replayed() -> None:
    assert_every_way_on_holds("belt")


@pytest.mark.slow
@pytest.mark.timeout(600)
@pytest.mark.parametrize("name", sorted(set(PLANS) - {"belt"}))
def test_every_recovery_of_every_plan_is_replayed(name: str) -> None:
    assert_every_way_on_holds(name)
    assert_covered(name)


# ---- which one fits ----


def assert_covered(name: str) -> None:
    """For every step: one envelope, one for each slip, and the envelope covers each single slip's start."""
    plan, catalogue, found = PLANS[name](), load_catalogue(), every_recovery(name)
    program = program_of(plan, catalogue)
    for number, at in enumerate(program.steps):
        slips = [e.id for e in program.events if e.step == number and e.sort in ("slip", "omission")]
        here = [one for one in found if one.at == at]
        assert [one.happened for one in here] == [("envelope",), *((slip,) for slip in slips)]
        envelope, *singles = here
        for single in singles:
            assert set(single.assumed) <= set(envelope.assumed)
            assert single.worn == envelope.worn
            chosen = matching(found, at, single.worn, frozenset(single.assumed), single.happened)
            assert chosen is single
            assert matching([envelope], at, single.worn, frozenset(single.assumed), single.happened) is envelope


def test_one_envelope_for_each_step_covers_every_single_slip() -> None:
    assert_covered("belt")


def test_matching_wants_the_same_worn_and_all_that_is_contaminated() -> None:
    found = every_recovery("belt")
    one = next(r for r in found if len(r.worn) > 4 and r.happened == ("envelope",))
    fits = frozenset(one.assumed)

    assert matching([one], one.at, one.worn, fits, ()) is one
    assert matching([one], one.at, tuple(reversed(one.worn)), frozenset(), ()) is one
    assert matching([one], one.at, one.worn[1:], fits, ()) is None
    assert matching([one], one.at, (*one.worn, "apron"), fits, ()) is None
    assert matching([one], one.at, one.worn, fits | {"body.eyes"}, ()) is None
    assert matching([one], "another-step", one.worn, fits, ()) is None
    assert matching([], one.at, one.worn, fits, ()) is None


def test_matching_takes_the_narrowest_that_covers() -> None:
    found = every_recovery("belt")
    at = next(r.at for r in found if r.happened == ("envelope",) and r.at.startswith("doff:gown"))
    here = [r for r in found if r.at == at]
    nothing = frozenset(set.intersection(*(set(r.assumed) for r in here)))
    chosen = matching(here, at, here[0].worn, nothing, ("unheard-of",))

    assert chosen is not None
    assert len(chosen.assumed) == min(len(r.assumed) for r in here)


# ---- exposure, tear, soiling ----


def test_an_exposure_is_named_and_not_undone() -> None:
    kinds = endpoints(PLANS["belt"]())
    exposing = [one for one in every_recovery("belt") if any(kinds[site] == "mucosa" for site in one.exposed)]

    assert exposing
    for one in exposing:
        assert set(one.exposed) <= set(one.assumed)
        assert not any(step.act == "wipe" for step in one.steps)


@pytest.mark.parametrize("side", ["l", "r"])
@pytest.mark.parametrize(("hazard", "gloves"), [("ebola", "inner-gloves-long"), ("mers", "gloves-long")])
def test_a_torn_last_pair_is_changed_before_anything_else_comes_off(hazard: str, gloves: str, side: str) -> None:
    plan, catalogue = plan_of(hazard), load_catalogue()
    at = next(s for s in program_of(plan, catalogue).steps if s.startswith("doff:face-shield"))
    found = recover(plan, catalogue, at, Happened(events=(f"latent:{gloves}:hole-{side}",)))

    assert [(step.act, *step.handled) for step in found.steps[:4]] == [
        ("disinfect-gloves",), ("doff", gloves), ("hand-hygiene",), ("don", "fresh-gloves"),
    ]  # fmt: skip
    assert f"body.hand-{side}" in found.exposed
    assert found.clean
    assert_replays(plan, found, catalogue)
    assert_start_is_what_the_reference_finds(plan, found, catalogue)


def test_torn_inner_gloves_are_changed_as_soon_as_the_outer_pair_is_off() -> None:
    plan, catalogue = plan_of("ebola"), load_catalogue()
    first = program_of(plan, catalogue).steps[0]
    found = recover(plan, catalogue, first, Happened(events=("latent:inner-gloves-long:hole-l",)))

    acts = [(step.act, *step.handled) for step in found.steps if step.act in ("doff", "don")]
    assert acts[:3] == [("doff", "outer-gloves-long"), ("doff", "inner-gloves-long"), ("don", "fresh-gloves")]
    assert_replays(plan, found, catalogue)


@pytest.mark.parametrize("side", ["l", "r"])
def test_a_unit_that_does_not_change_torn_gloves_says_so_in_its_policy_and_sees_what_it_costs(side: str) -> None:
    plan, catalogue = plan_of("ebola", switched_off=["damaged-inner-glove-changed"]), load_catalogue()
    first = program_of(plan, catalogue).steps[0]
    found = recover(plan, catalogue, first, Happened(events=(f"latent:inner-gloves-long:hole-{side}",)))
    told = {row.endpoint: (row.ever, row.at_end) for row in found.further}

    assert_replays(plan, found, catalogue)
    assert told == counted(plan, found, catalogue)
    assert told["skin"] != counted(plan, found.model_copy(update={"happened": ()}), catalogue)["skin"]


def test_gloves_torn_when_nothing_else_is_left_just_come_off() -> None:
    plan, catalogue = plan_of("ebola"), load_catalogue()
    at = next(s for s in program_of(plan, catalogue).steps if s.startswith("doff:respirator"))
    found = recover(plan, catalogue, at, Happened(events=("latent:fresh-gloves:hole-r",)))
    assert sum(step.act == "don" for step in found.steps) == 0


@pytest.mark.parametrize("name", ["belt", pytest.param("gown", marks=pytest.mark.slow)])
def test_a_tear_goes_on_acting_until_its_item_is_off(name: str) -> None:
    """Every fault there is, at every third step: what is said to be clean stays clean with the hole there."""
    plan, catalogue = PLANS[name](), load_catalogue()
    program = program_of(plan, catalogue)
    faults = [e.id for e in program.events if e.sort == "latent" and e.id.split(":")[1] in plan.worn]
    for at in program.steps[::5]:
        for fault in faults[::2]:
            found = recover(plan, catalogue, at, Happened(events=(fault,)))
            assert_replays(plan, found, catalogue)
            assert_ends_undressed(plan, found, catalogue)
            assert_start_is_what_the_reference_finds(plan, found, catalogue)
            assert counted(plan, found, catalogue) == {row.endpoint: (row.ever, row.at_end) for row in found.further}


def counted(plan: Plan, found: Recovery, catalogue: Catalogue) -> dict[str, tuple[tuple[int, ...], ...]]:
    """The counts of a way on from all scenarios of up to two errors, the holes that are there in each of them."""
    program = compile_order(way_on(plan, found), catalogue)
    holes = {number for number, event in enumerate(program.events) if event.id in found.happened}
    ops = tuple(replace(op, event=NO_EVENT) if op.event in holes else op for op in program.ops)
    values = cut_sets_by_enumeration(replace(program, ops=ops), 2)
    tally = {kind: ([0, 0, 0], [0, 0, 0]) for kind in ("mucosa", "skin", "helper", "clothing", "place")}
    for surface, kind in program.endpoints:
        for row, value in zip(tally.get(kind, ()), values, strict=False):
            for one in value.get(surface, ()):
                row[one.bit_count()] += 1
    return {kind: (tuple(ever), tuple(at_end)) for kind, (ever, at_end) in tally.items()}


def test_what_is_seen_soiled_is_wiped_first_and_assumed() -> None:
    plan, catalogue = plan_of("ebola"), load_catalogue()
    at = program_of(plan, catalogue).steps[0]
    gown = next(item for item in plan.worn if item.startswith("gown"))
    found = recover(plan, catalogue, at, Happened(soiled=(f"{gown}.ties",)))

    first = found.steps[0]
    assert (first.act, first.handled, first.faces, first.agent) == ("wipe", (gown,), ("ties",), "disinfectant-wipe")
    assert f"{gown}.ties" in found.assumed
    assert found.happened == (f"soiled:{gown}.ties",)
    assert_replays(plan, found, catalogue)
    assert_ends_undressed(plan, found, catalogue)


def test_soiling_of_what_is_off_by_then_is_not_wiped() -> None:
    plan, catalogue = plan_of("ebola"), load_catalogue()
    gown = next(item for item in plan.worn if item.startswith("gown"))
    at = next(s for s in program_of(plan, catalogue).steps if s.startswith(f"doff:{gown}"))
    found = recover(plan, catalogue, at, Happened(soiled=(f"{gown}.front",)))

    assert not any(step.act == "wipe" for step in found.steps)
    assert f"{gown}.front" not in found.assumed
    assert found.happened == (f"soiled:{gown}.front",)


def test_in_the_middle_of_a_unit_the_rest_of_it_comes_off_next() -> None:
    plan, catalogue = PLANS["belt"](), load_catalogue()
    program = program_of(plan, catalogue)
    at = next(s for s in program.steps if s.startswith("doff:papr-hose"))
    found = recover(plan, catalogue, at, Happened(envelope=True))
    left = removals_of(found.worn, catalogue)

    assert ("papr-hood",) in {removal.items for removal in left}
    assert (found.steps[0].act, found.steps[0].handled) == ("doff", ("papr-hood",))
    assert_replays(plan, found, catalogue)


@pytest.mark.parametrize(
    ("at", "happened"),
    [
        ("no-such-step", Happened(envelope=True)),
        (None, Happened(events=("no-such-slip",))),
        (None, Happened(soiled=("gown-of-gold.front",))),
    ],
)
def test_a_step_or_event_that_is_not_there_is_refused_by_name(at: str | None, happened: Happened) -> None:
    plan, catalogue = plan_of("ebola"), load_catalogue()
    with pytest.raises(BadFacts, match=r"no-such|gown-of-gold") as bad:
        recover(plan, catalogue, at or program_of(plan, catalogue).steps[0], happened)
    assert bad.value.problems[0].field in ("at", "happened")

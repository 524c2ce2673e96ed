"""Proving every case: identical work is done once, and the answer is the one that planning each case would give."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vestry.sequence import assure, plan_case, program_of
from vestry.sequence.every_case import AXES, Choices, case_named, one_at_a_time, policies, surroundings
from vestry.sequence.kept import KeptSteps
from vestry.sequence.planner import plan_wearer
from vestry.sequence.policy import Policy
from vestry.sequence.proved import report
from vestry.sequence.proving import (
    CHOOSE_WHAT_IS_WORN,
    NO_STEP_DEPENDS,
    Gathered,
    Outcome,
    Prover,
    Work,
    gather,
    program_name,
)
from vestry.trade import load_catalogue

CATALOGUE = load_catalogue()


@cache
def everything() -> Gathered:
    return gather(CATALOGUE)


@cache
def part() -> Gathered:
    """One case in so many: quick, and every hazard and presentation is in it."""
    return gather(CATALOGUE, nth=499)


def some(works: tuple[Work, ...], step: int) -> list[Work]:
    """Every so-manieth work, of those that answer several cases."""
    return [work for work in works if len(work.cases) > 1][::step]


# ---- which cases ----


@pytest.mark.slow
def test_the_catalogue_of_cases_is_every_crossing_and_every_choice_alone():
    crossed = 1
    for axis in AXES.values():
        crossed *= len(axis)
    alone = len(AXES["respirator"]) * len(AXES["garment"]) * len(one_at_a_time(CATALOGUE))
    around = len(list(surroundings(CATALOGUE)))

    assert len(policies(CATALOGUE)) == crossed + alone
    assert everything().cases == around * (crossed + alone)


@pytest.mark.parametrize("gather_some", [part, pytest.param(everything, marks=pytest.mark.slow)])
def test_every_case_is_counted_once_in_a_work_or_without_a_plan(gather_some):
    gathered = gather_some()
    names = [name for one in (*gathered.works, *gathered.without) for name in one.cases]

    assert len(names) == len(set(names)) == gathered.cases


def test_a_name_gives_back_its_case():
    work = part().works[7]
    case, policy = case_named(work.cases[0], CATALOGUE)

    assert (case, policy) == (work.first.case(), work.policy)


def test_every_field_of_a_policy_is_known_to_choose_what_is_worn_or_is_part_of_a_work():
    """A field added to the policy is part of a work unless it is named here: proving may get slower, never wrong."""
    assert Policy.model_fields.keys() >= CHOOSE_WHAT_IS_WORN | NO_STEP_DEPENDS
    assert not CHOOSE_WHAT_IS_WORN & NO_STEP_DEPENDS


def test_without_an_observer_haemorrhagic_fever_has_no_plan():
    gathered = gather(CATALOGUE, ("no-observer",))
    without = {one.why.rpartition("(")[2].rstrip(")"): one.cases for one in gathered.without}

    assert {name.partition(".")[0] for name in without["observer-at-every-step"]} == {
        "ebola", "lassa", "marburg", "crimean-congo", "south-american", "chapare", "suspected-hcid",
    }  # fmt: skip
    assert all(name.endswith(".no-observer") for name in without["observer-at-every-step"])


# ---- the same answer as planning each case ----


def agrees(work: Work, name: str) -> None:
    case, policy = case_named(name, CATALOGUE)
    plan = plan_case(case, policy, CATALOGUE)
    found = assure(plan, CATALOGUE)
    outcome = Prover(CATALOGUE).outcome(work)

    assert program_name(program_of(plan, CATALOGUE)) == outcome.program
    assert (found.clean, found.gaps) == (outcome.clean, outcome.gaps)
    assert {one.role for one in found.team if not one.clean} == {one.role for one in outcome.team}
    for latent in (False, True):
        table = next(one for one in found.tables if one.loads == "all" and one.latent == latent)
        ever = {row.endpoint: row.margin for row in table.endpoints}
        assert ever == {o.endpoint: o.errors for o in outcome.least if o.latent == latent and o.when == "ever"}
    assert {one.events[0].partition("@")[0] for one in found.weak} == {one.event for one in outcome.weak}


@pytest.mark.parametrize("place", [pytest.param(0), pytest.param(1, marks=pytest.mark.slow)])
def test_first_and_last_case_of_a_work_have_the_program_that_was_proved(place):
    work = some(part().works, 40)[place]

    agrees(work, work.cases[0])
    agrees(work, work.cases[-1])


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_cases_of_many_works_have_the_program_that_was_proved():
    for work in some(everything().works, 150):
        agrees(work, work.cases[len(work.cases) // 2])
        agrees(work, work.cases[-1])


@cache
def quick_names() -> list[str]:
    """Cases that are quick to plan."""
    return [work.cases[0] for work in part().works if ".belt-blower." in work.cases[0]]


@settings(max_examples=3, deadline=None)
@given(st.lists(st.deferred(lambda: st.sampled_from(quick_names())), min_size=2, max_size=3))
@pytest.mark.slow
def test_steps_kept_from_other_plans_change_no_plan(names):
    shared = KeptSteps(most=60)  # so small that it is emptied now and then
    for name in names:
        case, policy = case_named(name, CATALOGUE)

        assert plan_wearer(case, policy, CATALOGUE, shared=shared) == plan_wearer(case, policy, CATALOGUE)


# ---- the report ----


def few() -> Gathered:
    return gather(CATALOGUE, nth=90_011)


@pytest.mark.slow
def test_the_report_counts_each_case_once():
    gathered = few()
    prover = Prover(CATALOGUE)
    outcomes = {work.key: prover.outcome(work) for work in gathered.works}

    found = report(gathered, outcomes, CATALOGUE.digest)

    assert found.cases == gathered.cases == found.planned + sum(len(one.cases) for one in found.without_plan)
    assert found.planned == found.clean + sum(len(one.cases) for one in found.unclean)
    assert found.programs == len({outcome.program for outcome in outcomes.values()})
    for latent in (False, True):
        for when in ("ever", "at-end"):
            for endpoint in ("mucosa", "skin", "helper", "clothing", "place"):
                rows = [o for o in found.margins if (o.endpoint, o.latent, o.when) == (endpoint, latent, when)]
                assert sum(one.cases for one in rows) == found.planned
                assert sum(one.programs for one in rows) == found.programs
    assert (found.facts, found.model_version, found.order) == (CATALOGUE.digest, "contact-1", 3)


def made_up(key: str, program: str | None, **said: object) -> tuple[Work, Outcome]:
    first = Choices("ebola", "dry", "care", (key,))
    work = Work(key, first, Policy(), (f"{key}.one", f"{key}.two"))
    return work, Outcome.model_validate({"program": program, **said})


def test_a_case_without_a_clean_order_is_named_with_its_route_and_one_without_an_order_with_its_reason():
    link = {"step": "doff:x", "verb": "contact", "from-surface": "a.b", "to-surface": "body.eyes", "event": None,
            "source": "invented"}  # fmt: skip
    way = {"surface": "body.eyes", "endpoint": "mucosa", "when": "ever", "events": (), "chain": (link,)}
    weak = [{"event": "doff:x:y:z", "endpoint": "skin"}]
    pairs = [
        made_up("clean", "p1", clean=True, weak=weak),
        made_up("reached", "p2", clean=False, routes=(way,), weak=[{"event": "doff:x:y:z", "endpoint": "mucosa"}]),
        made_up("none", None, why="no order keeps the rules"),
    ]
    gathered = Gathered(6, tuple(work for work, _ in pairs), ())

    found = report(gathered, {work.key: outcome for work, outcome in pairs}, "0" * 64)

    assert [(one.program, one.cases, one.routes[0].surface) for one in found.unclean] == [
        ("p2", ("reached.one", "reached.two"), "body.eyes")
    ]
    assert [(one.why, one.cases) for one in found.without_plan] == [
        ("no order keeps the rules", ("none.one", "none.two"))
    ]
    assert (found.planned, found.clean, found.programs) == (4, 2, 2)
    assert [(one.event, one.worst, one.cases, one.programs) for one in found.weak] == [("doff:x:y:z", "mucosa", 4, 2)]

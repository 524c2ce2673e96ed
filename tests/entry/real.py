"""Real plans with all their answers, approved for tests, and what a tablet carries of them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from vestry.contact.program import Program
from vestry.entry import Led, led_along
from vestry.entry.bundle import Carried
from vestry.entry.carrying import carried
from vestry.entry.courses import own_course
from vestry.procedure import Approval, Approved, answers_of, own_scenes, recovery_scenes, scenes_of
from vestry.sequence import Case, Plan, Policy, assure, plan_case, program_of
from vestry.sequence.recovering import recoveries
from vestry.trade import load_catalogue
from vestry.trade.words import load_words

REAL = {
    "wet": (Case(code="wet", hazard="suspected-hcid", presentation="wet"), Policy(glove_agent="disinfectant-wipe")),
    "respiratory": (
        Case(code="respiratory", hazard="mers"),
        Policy(eye_protection="goggles", with_hair_cover=False, with_foot_covers=False),
    ),
    "own-order": (
        Case(code="own", hazard="ebola", presentation="dry"),
        Policy(doffing_order=("gloves", "shield", "hair-cover", "gown", "foot-covers", "respirator")),
    ),
}


@dataclass(frozen=True)
class Real:
    """An approved procedure whole, its compiled way out, and what a tablet carries of it."""

    approved: Approved
    program: Program
    carried: Carried
    led: Led


def approve(plan: Plan, every_answer: bool = True) -> Approved:
    catalogue = load_catalogue()
    assurance = assure(plan, catalogue)
    return Approved(
        approval=Approval(
            procedure="real",
            version=1,
            reason="for tests",
            approved_by="Ingrid Vell",
            at="2026-01-15T10:00:00+00:00",
            review_on="2027-01-15",
            plan=plan.hash,
            facts=assurance.facts,
            model=assurance.model_version,
        ),
        plan=plan,
        assurance=assurance,
        answers=answers_of(plan, recoveries(plan, catalogue), catalogue) if every_answer else (),
        scenes=scenes_of(plan, catalogue),
    )


@cache
def a_real_plan(name: str) -> Real:
    return real(approve(plan_case(*REAL[name], load_catalogue())))


_MADE: dict[int, Real] = {}


def real(approved: Approved) -> Real:
    """Made once for each approved procedure: it takes seconds."""
    if id(approved) not in _MADE:
        _MADE[id(approved)] = _make(approved)
    return _MADE[id(approved)]


def _make(approved: Approved) -> Real:
    catalogue = load_catalogue()
    program = program_of(approved.plan, catalogue)
    scenes = {one.name: recovery_scenes(approved, one, catalogue) for one in approved.answers}
    scenes |= {own_course(one.role): own_scenes(approved.plan, one, catalogue) for one in approved.plan.team}
    made = carried(approved, program, scenes, catalogue, load_words("en"), "A real plan")
    return Real(approved, program, made, led_along(approved))

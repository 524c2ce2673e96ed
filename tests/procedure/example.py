"""One approved procedure for tests: a real plan, its assurance, and the answers to one step."""

from __future__ import annotations

from functools import cache

from vestry.procedure import Approval, Approved, answers_of, scenes_of
from vestry.sequence import Case, Happened, Plan, Policy, Recovery, assure, plan_case, program_of, recover
from vestry.trade import load_catalogue

CASE = Case(code="example", hazard="suspected-hcid", presentation="wet")


@cache
def plan() -> Plan:
    return plan_case(CASE, Policy(glove_agent="disinfectant-wipe"), load_catalogue())


def shield_step() -> str:
    """The step at which the shield comes off; its answers are approved with the example."""
    return next(step.id for step in plan().steps if step.act == "doff" and step.items == ("face-shield",))


@cache
def recoveries() -> tuple[Recovery, ...]:
    program = program_of(plan(), load_catalogue())
    number = program.steps.index(shield_step())
    slips = [event.id for event in program.events if event.step == number and event.sort in ("slip", "omission")]
    kinds = [Happened(envelope=True), *(Happened(events=(slip,)) for slip in slips)]
    return tuple(recover(plan(), load_catalogue(), shield_step(), one) for one in kinds)


@cache
def example() -> Approved:
    assurance = assure(plan(), load_catalogue())
    return Approved(
        approval=Approval(
            procedure="example",
            version=1,
            reason="for tests",
            approved_by="Ingrid Vell",
            at="2026-01-15T10:00:00+00:00",
            review_on="2027-01-15",
            plan=plan().hash,
            facts=assurance.facts,
            model=assurance.model_version,
        ),
        plan=plan(),
        assurance=assurance,
        answers=answers_of(plan(), recoveries(), load_catalogue()),
        scenes=scenes_of(plan(), load_catalogue()),
    )

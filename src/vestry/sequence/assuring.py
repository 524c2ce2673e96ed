"""Assure: the contact model's answer on a plan or on anyone's order, as the contract `Assurance`."""

from __future__ import annotations

from vestry.contact.check import Verdict, as_taught, check
from vestry.contact.compiler import compile_order
from vestry.contact.program import Program
from vestry.sequence.assurance import Assurance, EndpointCounts, StepFurther, Table
from vestry.sequence.assuring_team import team_and_lane
from vestry.sequence.notes import notes_of
from vestry.sequence.plan import Plan, WayStart
from vestry.sequence.routes import route
from vestry.trade import Catalogue, Lane, Order, OrderCase, Step
from vestry.trade.values import Role

ORDER = 3


def order_of(plan: Plan) -> Order:
    """The way out of a plan as an order: what is checked is what is read aloud."""
    steps = tuple(
        Step(
            act=step.act,
            items=step.items if step.act in ("doff", "don", "wipe", "release") else (),
            technique=step.technique,
            who=step.who,
            agent=step.agent,
            to=step.to,
        )
        for step in plan.phase("doffing")
    )
    order = Order(
        format_version=1,
        title="plan",
        worn=plan.worn,
        zone=plan.policy.doffing_zone,
        steps=steps,
        case=OrderCase(hazard=plan.case.hazard, presentation=plan.case.presentation),
        roles=_roles(plan),
    )
    return order if plan.start is None else order.model_copy(update=_started(plan.start))


def _started(start: WayStart) -> dict[str, object]:
    if start.alone:
        return {"zone": start.zone, "loads": dict.fromkeys(start.contaminated, "high")}
    return {"zone": start.zone, "lane": Lane(contaminated=start.contaminated)}


def _roles(plan: Plan) -> tuple[Role, ...]:
    there: dict[Role, bool] = {"assistant": plan.policy.assistant, "observer": plan.policy.observer}
    return tuple(role for role, present in there.items() if present)


def program_of(plan: Plan, catalogue: Catalogue, switched_off: frozenset[str] = frozenset()) -> Program:
    """The compiled way out of a plan. Its step ids are the plan's."""
    return compile_order(order_of(plan), catalogue, switched_off)


def assure(plan: Plan, catalogue: Catalogue, order: int = ORDER) -> Assurance:
    """What the contact model says of a plan."""
    found = assure_order(order_of(plan), catalogue, order)
    numbers = {step.id: number for number, step in enumerate(plan.steps, 1)}
    steps = tuple(one.model_copy(update={"number": numbers[one.step]}) for one in found.steps)
    others = team_and_lane(plan, program_of(plan, catalogue), catalogue)
    return found.model_copy(update={"plan": plan.hash, "steps": steps, "team": others.team, "lane": others.lane})


def assure_order(
    order: Order, catalogue: Catalogue, size: int = ORDER, switched_off: frozenset[str] = frozenset()
) -> Assurance:
    """What the contact model says of an order written by anyone; BadFacts when a step cannot be done."""
    program = compile_order(order, catalogue, switched_off)
    verdict = check(program, size)
    word = "clean" if verdict.clean else "reached"
    if order.published is not None and order.case.presentation not in order.published.for_presentations:
        word = "not-for-this-case"
    return Assurance(
        plan=None,
        facts=catalogue.digest,
        order=size,
        clean=verdict.clean,
        verdict=word,  # type: ignore[arg-type]
        reached=tuple(route(program, one) for one in verdict.reached),
        weak=tuple(route(program, one) for one in verdict.weak),
        tables=_tables(verdict),
        steps=tuple(
            StepFurther(
                step=program.steps[one.step],
                number=one.step + 1,
                further=one.further,
                with_fault=one.with_fault,
                endpoint=one.endpoint,  # type: ignore[arg-type]
                watch=one.further == 1,
            )
            for one in verdict.further
        ),
        gaps=program.gaps,
        conventions=program.conventions,
        flips=flips(order, catalogue, verdict.clean, switched_off),
        surfaces=len(program.surfaces),
        events=len(program.events),
        notes=notes_of(order, catalogue),
    )


def flips(order: Order, catalogue: Catalogue, clean: bool, switched_off: frozenset[str]) -> tuple[str, ...]:
    """The conventions without which the verdict would be another."""
    found = []
    for convention in catalogue.conventions:
        if convention not in switched_off and clean != _clean(
            compile_order(order, catalogue, switched_off | {convention})
        ):
            found.append(convention)
    return tuple(found)


def _clean(program: Program) -> bool:
    return not any(
        one.endpoint in ("mucosa", "helper") or (one.endpoint == "skin" and one.when == "at-end")
        for one in as_taught(program)
    )


def _tables(verdict: Verdict) -> tuple[Table, ...]:
    return tuple(
        Table(
            loads=loads,
            latent=latent,
            endpoints=tuple(
                EndpointCounts(endpoint=row.endpoint, ever=row.ever, at_end=row.at_end, margin=row.margin)  # type: ignore[arg-type]
                for row in rows
            ),
        )
        for loads, latent, rows in verdict.tables
    )

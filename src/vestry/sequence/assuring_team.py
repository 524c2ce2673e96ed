"""Assure those beside the wearer, and the lane that several wearers share."""

from __future__ import annotations

from dataclasses import dataclass

from vestry.contact.check import as_taught, check, routes_of
from vestry.contact.compiler import compile_order
from vestry.contact.cutsets import cut_sets
from vestry.contact.lane import exit_name
from vestry.contact.program import Program
from vestry.contact.reach import reach
from vestry.sequence.assurance import EndpointCounts, LaneFound, MemberFound, Route
from vestry.sequence.lane import lane_program, left_in_lane
from vestry.sequence.plan import Member, Plan
from vestry.sequence.routes import route
from vestry.sequence.setting import setting_for
from vestry.sequence.team import beyond_assumed, order_of_member
from vestry.trade import Catalogue

MEMBER_ORDER = 2
EXPOSURE = frozenset({"mucosa", "skin"})


@dataclass(frozen=True)
class Others:
    """What the model says of everybody but the wearer alone."""

    team: tuple[MemberFound, ...]
    lane: LaneFound | None


def team_and_lane(plan: Plan, program: Program, catalogue: Catalogue) -> Others:
    """Observer and assistant, and the lane; `program` is the compiled way out of the plan."""
    setting = setting_for(plan.case, catalogue)
    lane = lane_program(program, plan.case.wearers, plan.policy, catalogue, setting)
    left = left_in_lane(lane, catalogue)
    return Others(
        team=tuple(_member(one, plan, catalogue, left, _one_error_reaches(program, catalogue)) for one in plan.team),
        lane=_lane(plan, program, lane, catalogue) if plan.case.wearers > 1 else None,
    )


def _member(
    member: Member, plan: Plan, catalogue: Catalogue, left: frozenset[str], reached: frozenset[str]
) -> MemberFound:
    place = {name for name in left if name.startswith("place.")}
    order = order_of_member(member, plan.case, catalogue, place)
    program = compile_order(order, catalogue)
    verdict = check(program, MEMBER_ORDER)
    return MemberFound(
        role=member.role,
        clean=verdict.clean,
        assumed=tuple(sorted({*(order.loads or {}), *order.lane.contaminated})),
        beyond=beyond_assumed(member, catalogue, reached | left),
        reached=tuple(route(program, one) for one in verdict.reached),
        weak=tuple(route(program, one) for one in verdict.weak),
        endpoints=tuple(
            EndpointCounts(endpoint=row.endpoint, ever=row.ever, at_end=row.at_end, margin=row.margin)  # type: ignore[arg-type]
            for row in verdict.counts().values()
        ),
    )


def _one_error_reaches(program: Program, catalogue: Catalogue) -> frozenset[str]:
    """Faces of the helpers that a wearer's way out reaches as taught or with one error."""
    found = cut_sets(program, 1)
    names = {program.surfaces[number] for number, sets in found.ever.items() if sets}
    return frozenset(name for name in names if name.partition(".")[0] in catalogue.helpers)


def _lane(plan: Plan, program: Program, lane: Program, catalogue: Catalogue) -> LaneFound:
    alone = {one.surface for one in as_taught(program)}
    setting = setting_for(plan.case, catalogue)
    unturned = lane_program(program, plan.case.wearers, plan.policy, catalogue, setting, turned_around=False)
    added = _added(lane, alone)
    return LaneFound(
        wearers=plan.case.wearers,
        left=tuple(sorted(left_in_lane(program, catalogue))),
        left_after=_after_turnaround(lane, catalogue),
        clean=not any(one.endpoint in EXPOSURE for one in added),
        added=added,
        added_unturned=_added(unturned, alone),
        weak=_weak(lane, program),
    )


def _added(lane: Program, alone: set[str]) -> tuple[Route, ...]:
    """Routes as taught to a later wearer that the same way out alone does not have."""
    found = []
    for one in as_taught(lane):
        number, _, name = one.surface.rpartition("/")
        if number.isdigit() and int(number) > 1 and name not in alone:
            found.append(route(lane, one))
    return tuple(found)


def _after_turnaround(lane: Program, catalogue: Catalogue) -> tuple[str, ...]:
    """What is still contaminated when the second wearer comes."""
    arrives = lane.steps.index(exit_name(2, "arrives"))
    owners = {"place", *catalogue.helpers}
    names = {lane.surfaces[number] for number in reach(lane).after[arrives]}
    return tuple(sorted(name for name in names if name.partition(".")[0] in owners))


def _weak(lane: Program, program: Program) -> tuple[Route, ...]:
    """Single errors at one exit, or in the turnaround, that reach the skin or mucosa of another wearer."""
    found = cut_sets(lane, 1)
    skin = {number for number, kind in lane.endpoints if kind == "skin"}
    routes = []
    for number, kind in lane.endpoints:
        owner = lane.surfaces[number].partition("/")[0]
        if kind not in EXPOSURE or not owner.isdigit():
            continue
        values = found.at_end if number in skin else found.ever
        for sets in values.get(number, ()):
            if sets.bit_count() != 1:
                continue
            event = lane.events[sets.bit_length() - 1]
            if event.id.startswith(f"{owner}/"):
                continue
            when = "at-end" if number in skin else "ever"
            routes.append(route(lane, routes_of(lane, (sets.bit_length() - 1,), number, when)))  # type: ignore[arg-type]
    return tuple(routes)

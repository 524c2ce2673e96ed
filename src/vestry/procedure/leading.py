"""What leads an entry along a plan or one of its answers: scenes, and recoveries as steps to read aloud."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping

import rfc8785

from vestry.contact.compiler import compile_order
from vestry.contact.program import Program
from vestry.contact.reach import reach
from vestry.contact.taught import taught
from vestry.procedure.approved import Answer, Approved, Scene
from vestry.sequence import Member, Plan, PlanStep, Recovery, member_states, order_of, program_of, states
from vestry.sequence.team import order_of_member
from vestry.trade import Catalogue, Order


def scenes_of(plan: Plan, catalogue: Catalogue) -> tuple[Scene, ...]:
    """One scene for each step of the plan."""
    slips = _slips(program_of(plan, catalogue))
    return tuple(
        Scene(
            step=step.id,
            worn=state.worn,
            contaminated=tuple(sorted(state.contaminated)),
            grasp=tuple(sorted(state.grasp)),
            avoid=tuple(sorted(state.avoid)),
            pose=state.pose,
            slips=slips.get(step.id, ()),
        )
        for step, state in zip(plan.steps, states(plan, catalogue), strict=True)
    )


def _slips(program: Program) -> Mapping[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for event in program.events:
        if event.sort in ("slip", "omission") and event.step >= 0:
            found.setdefault(program.steps[event.step], []).append(event.id)
    return {step: tuple(events) for step, events in found.items()}


def answers_of(plan: Plan, recoveries: Iterable[Recovery], catalogue: Catalogue) -> tuple[Answer, ...]:
    """The recoveries of a plan, named, each with its steps as they are led to the end of the way out."""
    tail = plan.phase("after")
    return tuple(
        Answer(name=_name(one), recovery=one, steps=(*_steps(plan, one, catalogue), *tail)) for one in recoveries
    )


def recovery_scenes(approved: Approved, answer: Answer, catalogue: Catalogue) -> tuple[Scene, ...]:
    """One scene for each step of an answer, from the state that the recovery assumes."""
    order = _replay(approved.plan, answer.recovery)
    program = compile_order(order, catalogue)
    after = reach(program).after
    marks = {
        _act(step): scene
        for step, scene in zip(approved.plan.steps, approved.scenes, strict=True)
        if step.phase == "doffing"
    }
    scenes = []
    for number, step in enumerate(answer.steps):
        place = min(number, len(program.steps))
        worn = program.worn[place]
        known = marks.get(_act(step))
        scenes.append(
            Scene(
                step=step.id,
                worn=worn,
                contaminated=tuple(sorted(_still_here((program.surfaces[n] for n in after[place]), worn, catalogue))),
                grasp=known.grasp if known else (),
                avoid=known.avoid if known else (),
                pose=known.pose if known else "standing",
                slips=known.slips if known else (),
            )
        )
    return tuple(scenes)


def own_scenes(plan: Plan, member: Member, catalogue: Catalogue) -> tuple[Scene, ...]:
    """One scene for each step of a member's own way out, from what their work is taken to have put on them."""
    slips = _slips(compile_order(order_of_member(member, plan.case, catalogue), catalogue))
    along = zip(member.steps, member_states(member, plan.case, catalogue), strict=True)
    return tuple(
        Scene(
            step=step.id,
            worn=state.worn,
            contaminated=tuple(sorted(state.contaminated)),
            grasp=tuple(sorted(state.grasp)),
            avoid=tuple(sorted(state.avoid)),
            pose=state.pose,
            slips=slips.get(step.id.removeprefix(f"{member.role}."), ()),
        )
        for step, state in along
        if step.phase == "doffing"
    )


def _still_here(surfaces: Iterable[str], worn: tuple[str, ...], catalogue: Catalogue) -> Iterator[str]:
    for name in surfaces:
        owner = name.partition(".")[0]
        if owner in worn or owner not in catalogue.items:
            yield name


def _act(step: PlanStep) -> tuple[str, tuple[str, ...], str | None]:
    return step.act, step.items, step.technique


def _replay(plan: Plan, recovery: Recovery) -> Order:
    return order_of(plan).model_copy(
        update={
            "worn": recovery.worn,
            "zone": recovery.zone,
            "steps": recovery.steps,
            "loads": dict.fromkeys(recovery.assumed, "high"),
        }
    )


def _steps(plan: Plan, recovery: Recovery, catalogue: Catalogue) -> Iterator[PlanStep]:
    """Its steps with nothing left to choose. The spoken stop before face protection is kept where the plan has it."""
    if not recovery.steps:
        return
    stops = {_act(step): step.stop_point for step in plan.phase("doffing") if step.act == "doff"}
    waste = {step.items: step.waste for step in plan.phase("doffing") if step.act == "doff"}
    topics = {step.items: step.topic for step in plan.phase("doffing") if step.act == "inspect"}
    for one in taught(_replay(plan, recovery), catalogue):
        step = PlanStep.model_validate(
            {
                "id": one.id,
                "phase": "doffing",
                "act": one.act,
                "items": one.items,
                "technique": one.technique.id,
                "who": one.who,
                "agent": one.agent,
                "to": one.to,
                "topic": topics.get(one.items, "ensemble") if one.act == "inspect" else None,
                "waste": waste.get(one.items) if one.act == "doff" else None,
            }
        )
        yield step.model_copy(update={"stop_point": stops.get(_act(step))})


def _name(recovery: Recovery) -> str:
    text = rfc8785.dumps(recovery.model_dump(mode="json", by_alias=True))
    return f"answer-{hashlib.sha256(text).hexdigest()[:16]}"

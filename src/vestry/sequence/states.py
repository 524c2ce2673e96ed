"""The state at each step, for the figure: what is worn, what may be contaminated, where to grasp, what not to touch."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from vestry.contact.compiler import compile_order
from vestry.contact.program import Program
from vestry.contact.reach import reach
from vestry.contact.surfaces import surface
from vestry.sequence.assuring import program_of
from vestry.sequence.case import Case
from vestry.sequence.plan import Member, Plan, PlanStep
from vestry.sequence.team import order_of_member
from vestry.trade import Catalogue, Technique
from vestry.trade.touches import parse_touch

_HANDS = frozenset({"hand", "hand-l", "hand-r", "helper.gloves"})


@dataclass(frozen=True)
class StepState:
    """State before a step, and the marks that the step needs."""

    worn: tuple[str, ...]
    contaminated: frozenset[str]
    grasp: frozenset[str]
    avoid: frozenset[str]
    pose: str


def states(plan: Plan, catalogue: Catalogue, happening: Collection[str] = ()) -> tuple[StepState, ...]:
    """One state for each step of the plan; `happening` are events of the way out that did happen."""
    return _along(plan.steps, program_of(plan, catalogue), catalogue, happening)


def member_states(member: Member, case: Case, catalogue: Catalogue) -> tuple[StepState, ...]:
    """One state for each step of a member's own dressing and undressing."""
    program = compile_order(order_of_member(member, case, catalogue), catalogue)
    own = tuple(step.model_copy(update={"id": step.id.removeprefix(f"{member.role}.")}) for step in member.steps)
    return _along(own, program, catalogue, ())


def _along(
    steps: tuple[PlanStep, ...], program: Program, catalogue: Catalogue, happening: Collection[str]
) -> tuple[StepState, ...]:
    numbers = {event.id: number for number, event in enumerate(program.events)}
    found = reach(program, [numbers[event] for event in happening])
    index = {step: number for number, step in enumerate(program.steps)}
    names = [frozenset(program.surfaces[n] for n in after) for after in found.after]
    worn: tuple[str, ...] = ()
    contaminated: frozenset[str] = frozenset()
    result = []
    for step in steps:
        if step.id in index:
            number = index[step.id]
            worn = program.worn[number]
            contaminated = names[number]
        elif step.phase == "after":
            worn = program.worn[-1]
            contaminated = names[-1]
        elif step.phase == "entry" and step.to is not None and step.to != "room":
            contaminated = names[0]
        result.append(_state(step, worn, _still_here(contaminated, worn, catalogue), catalogue))
        if step.phase == "donning" and step.act == "don":
            worn = (*worn, *step.items)
    return tuple(result)


def _still_here(contaminated: frozenset[str], worn: tuple[str, ...], catalogue: Catalogue) -> frozenset[str]:
    """Without the faces of what has come off."""
    return frozenset(
        name for name in contaminated if (owner := name.partition(".")[0]) in worn or owner not in catalogue.items
    )


def _state(step: PlanStep, worn: tuple[str, ...], contaminated: frozenset[str], catalogue: Catalogue) -> StepState:
    technique = technique_of(step, catalogue)
    if technique is None or step.phase == "donning":
        return StepState(worn, contaminated, frozenset(), frozenset(), "standing")
    grasp, avoid = _marks(step, technique, catalogue)
    return StepState(worn, contaminated, grasp, avoid - grasp, technique.pose)


def technique_of(step: PlanStep, catalogue: Catalogue) -> Technique | None:
    """The technique that a plan step names, for its kinds of item."""
    kinds = sorted(catalogue.items[item].kind for item in step.items)
    for technique in catalogue.techniques:
        if technique.id != step.technique or technique.act != step.act:
            continue
        if (
            "any" in technique.for_
            or sorted(technique.together) == kinds
            or (len(kinds) == 1 and kinds[0] in technique.for_)
        ):
            return technique
    return None


def _marks(step: PlanStep, technique: Technique, catalogue: Catalogue) -> tuple[frozenset[str], frozenset[str]]:
    grasp: set[str] = set()
    avoid: set[str] = set()
    for touch in technique.touches:
        parsed = parse_touch(touch.touch)
        if parsed.verb != "contact" or touch.residue:
            continue
        for one, other in ((parsed.a, parsed.b), (parsed.b, parsed.a)):
            if one in _HANDS or one.startswith(("self.palm", "gloves.palm")):
                (avoid if touch.slip else grasp).update(_own(other, step, catalogue))
    return frozenset(grasp), frozenset(avoid)


def _own(ref: str, step: PlanStep, catalogue: Catalogue) -> list[str]:
    """The faces of the items handled that a reference names."""
    owner, _, name = ref.partition(".")
    faces = []
    for item in step.items:
        record = catalogue.items[item]
        if owner in ("self", record.kind):
            faces += [
                surface(item, face.id)
                for face in record.faces
                if face.at and face.id in (name, f"{name}-l", f"{name}-r")
            ]
    return faces

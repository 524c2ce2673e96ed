"""Where someone inside stands in the plan that they were dressed by: what is on, what is off, how far out they are."""

from __future__ import annotations

from dataclasses import dataclass

from vestry.contact.program import Program
from vestry.sequence.assuring import program_of
from vestry.sequence.case_change import Inside
from vestry.sequence.plan import Plan, PlanStep
from vestry.trade import Catalogue
from vestry.trade.values import Zone


@dataclass(frozen=True)
class Whereabouts:
    """Where someone is.

    in_room   what was worn in the room; who is on the way out is taken to have worn what the plan wears
    out       on the way out already
    at        the step of the way out that was done last
    """

    worn: tuple[str, ...]
    in_room: tuple[str, ...]
    zone: Zone
    out: bool
    at: str | None

    def still_there(self, name: str, catalogue: Catalogue) -> bool:
        """Whether a surface can still pass something on: not of what is off, and not the room's own air."""
        owner = name.partition(".")[0]
        return owner != "air" and (owner not in catalogue.items or owner in self.worn)

    def unbroken(self, plan: Plan) -> tuple[PlanStep, ...]:
        """What is left of the unbroken group that the last step belongs to."""
        if self.at is None:
            return ()
        here, *later = plan.phase("doffing")[_place(plan, self.at) :]
        return tuple(step for step in later if here.group is not None and step.group == here.group)

    def left_of(self, plan: Plan, worn: tuple[str, ...]) -> tuple[PlanStep, ...] | None:
        """The steps of a plan's exit that are left from here; None where it is not the exit of what is worn."""
        if self.at is not None:
            left = plan.phase("doffing")[_place(plan, self.at) + 1 :]
            return (*left, *plan.phase("after")) if left else None
        if self.out or set(worn) != set(plan.worn):
            return None
        return (*plan.phase("doffing"), *plan.phase("after"))


def whereabouts(inside: Inside, plan: Plan, catalogue: Catalogue) -> Whereabouts:
    """Where someone is, by what is said of them."""
    if inside.at is None:
        worn = plan.worn if inside.worn is None else inside.worn
        zone = inside.zone or "room"
        out = zone != "room"
        return Whereabouts(worn, plan.worn if out else worn, zone, out, None)
    done = plan.phase("doffing")[: _place(plan, inside.at) + 1]
    zone = next((step.to for step in reversed(done) if step.to), plan.policy.doffing_zone)
    return Whereabouts(worn_at(program_of(plan, catalogue), inside.at), plan.worn, inside.zone or zone, True, inside.at)


def worn_at(program: Program, step: str) -> tuple[str, ...]:
    """What is worn once a step of the way out is done."""
    return program.worn[program.steps.index(step) + 1]


def _place(plan: Plan, at: str) -> int:
    return next(number for number, step in enumerate(plan.phase("doffing")) if step.id == at)

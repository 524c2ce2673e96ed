"""What an entry is led along: the plan, the recoveries it may turn into, the team's own ways out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from vestry.sequence.plan import PlanStep

PLAN = "plan"


def own_course(role: str) -> str:
    """The name of the course in which observer or assistant come out of their own gear."""
    return f"team-{role}"


@dataclass(frozen=True)
class Course:
    """Steps that are led one after another. `at`: the step of the plan that a recovery answers; None for the plan.

    worn   what is worn at its start
    """

    name: str
    steps: tuple[PlanStep, ...]
    worn: tuple[str, ...] = ()
    at: str | None = None


@dataclass(frozen=True)
class Led:
    """The plan's course and, by name, those of the recoveries approved with it.

    team   by role, in the order in which they go: the own ways out of those beside the wearer
    """

    plan: Course
    recoveries: Mapping[str, Course] = field(default_factory=dict)
    team: Mapping[str, Course] = field(default_factory=dict)

    def course(self, name: str) -> Course | None:
        """The course of this name."""
        if name == PLAN:
            return self.plan
        own = (one for one in self.team.values() if one.name == name)
        return self.recoveries.get(name) or next(own, None)

    def group(self, course: Course, position: int) -> tuple[PlanStep, ...]:
        """The unbroken group that the step at this place begins or belongs to, from here on; else the step alone."""
        first = course.steps[position]
        if first.group is None:
            return (first,)
        end = position
        while end < len(course.steps) and course.steps[end].group == first.group:
            end += 1
        return course.steps[position:end]

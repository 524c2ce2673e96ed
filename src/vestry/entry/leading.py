"""From an approved procedure to what an entry is led along."""

from __future__ import annotations

from vestry.entry.courses import PLAN, Course, Led, own_course
from vestry.procedure import Approved


def led_along(approved: Approved) -> Led:
    """The plan's course, those of its answers, and the team's own ways out."""
    return Led(
        plan=Course(PLAN, approved.plan.steps, approved.scenes[0].worn if approved.scenes else ()),
        recoveries={
            one.name: Course(one.name, one.steps, one.recovery.worn, one.recovery.at) for one in approved.answers
        },
        team={
            one.role: Course(
                own_course(one.role), tuple(step for step in one.steps if step.phase == "doffing"), one.worn
            )
            for one in approved.plan.team
        },
    )

"""Where the wearer of an entry is, as the lane needs to know it: dressing, dressed, inside, in the lane, out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from vestry.entry.courses import PLAN, Course, Led
from vestry.entry.state import EntryState
from vestry.sequence.plan import PlanStep

Where = Literal["donning", "dressed", "inside", "in-lane", "out"]
_OUTWARD = frozenset({"doffing", "after"})


@dataclass(frozen=True)
class Pass:
    """One entry under way, or one whose wearer has left and whose lane counts still.

    code      what the entry is called here
    until     when the unit's limit on the time inside is reached; None before going in
    way_out   what is left of the way out, reckoned slow; all of it while inside, nothing once out
    out_at    when the wearer left the lane
    cleared   what was done of the turnaround since then
    clear_at  when the last of it was
    unwell    whether it was said that the wearer is unwell: they go first
    """

    code: str
    where: Where
    until: datetime | None = None
    way_out: timedelta = timedelta()
    out_at: datetime | None = None
    cleared: tuple[str, ...] = ()
    clear_at: datetime | None = None
    unwell: bool = False


def where(led: Led, state: EntryState) -> Where:
    """Where the wearer is. They are in the lane from when the way out was said to begin, or from the move into it."""
    if state.left_at is not None:
        return "out"
    if state.entered_at is None:
        return "donning" if state.dressed_at is None else "dressed"
    return "in-lane" if _in_lane(led, state) else "inside"


def _in_lane(led: Led, state: EntryState) -> bool:
    if state.course != PLAN or state.coming_out_at is not None:
        return True
    done = {one.step for one in state.steps if one.done and one.course == PLAN}
    moves = [step.id for step in led.plan.steps if step.act == "move" and step.to in ("doffing-area", "anteroom")]
    if any(step in done for step in moves):
        return True
    begun = {step.id for step in led.plan.steps if step.phase in _OUTWARD} if not moves else frozenset()
    return any(one.step in begun and (one.done or one.read_at is not None) for one in state.steps)


def ahead(led: Led, state: EntryState) -> tuple[PlanStep, ...]:
    """The steps of the way out that are still to come; all of them for who is inside."""
    if state.left_at is not None:
        return ()
    course: Course = led.course(state.course) or led.plan
    if course.name in {own.name for own in led.team.values()}:
        return ()
    done = {one.step for one in state.steps if one.done and one.course == course.name}
    return tuple(step for step in course.steps if step.phase in _OUTWARD and step.id not in done)


def pass_of(code: str, led: Led, state: EntryState, limit: timedelta, seconds: Mapping[str, int]) -> Pass:
    """The entry as the lane needs to know it.

    limit     the unit's, on the time inside
    seconds   by step: how long it takes, reckoned slow; a step without a figure counts as a minute
    """
    entered = _moment(state.entered_at)
    return Pass(
        code=code,
        where=where(led, state),
        until=None if entered is None else entered + limit,
        way_out=timedelta(seconds=sum(seconds.get(step.id, 60) for step in ahead(led, state))),
        out_at=_moment(state.left_at),
        cleared=state.lane_done,
        clear_at=_moment(state.lane_cleared_at),
        unwell=any(one.kind == "unwell" for one in state.noted),
    )


def _moment(clock: str | None) -> datetime | None:
    return None if clock is None else datetime.fromisoformat(clock)

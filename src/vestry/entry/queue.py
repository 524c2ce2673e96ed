"""One lane, several people: who has it, whether it is clear, who is next, and when each must start out.

1. One wearer at a time is in the lane. Between two of them it is turned around.
2. Who is in the lane keeps it. Then those who are unwell; then whoever's limit comes first; then by code. With one
   machine and due times this order makes the latest arrival as little late as any order does.
3. "Start out by" is the last moment at which somebody and everyone behind them still make their limits, each following
   the one before as soon as the lane is turned around. A longer queue never makes it later.
4. Who cannot make it is told by how much, were everybody ahead to start now. Nothing is enforced.
5. Way out and turnaround are reckoned slow: the figures are estimates, in large part judgement.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from vestry.entry.lane import Pass
from vestry.entry.turnaround import LANE_TASKS

LaneState = Literal["free", "occupied", "to-clear"]
_NOTHING = timedelta()


@dataclass(frozen=True)
class Turn:
    """One who is inside or in the lane, in the order of leaving.

    place       1 is next, or in the lane already
    starts      when the lane is theirs at the earliest
    out         when they are out, starting then
    start_by    when they must start out at the latest; None for who is in the lane already
    waits       what the queue adds: how long after now the lane is theirs
    late        by how much they are past their limit when out, starting at the earliest; 0 where they make it
    """

    code: str
    place: int
    starts: datetime
    out: datetime
    start_by: datetime | None
    waits: timedelta
    late: timedelta


@dataclass(frozen=True)
class LaneNow:
    """The lane at this moment.

    who       who is in it, or who left it last, while it is to be cleared
    free_at   when the next may start, reckoned slow; now, where it is free
    to_do     what of the turnaround is still to be done
    relief    those who are dressed and have not gone in, by code
    """

    state: LaneState
    who: str | None
    free_at: datetime
    to_do: tuple[str, ...]
    turns: tuple[Turn, ...]
    relief: tuple[str, ...]

    def turn(self, code: str) -> Turn | None:
        """The turn of somebody."""
        return next((one for one in self.turns if one.code == code), None)


def lane_now(passes: Iterable[Pass], now: datetime, turnaround: timedelta) -> LaneNow:
    """Who is where, the queue, and when each must start out. `turnaround`: of the lane between two, reckoned slow."""
    known = sorted(passes, key=lambda one: one.code)
    inside = sorted((one for one in known if one.where in ("inside", "in-lane")), key=_first)
    holding = [one for one in inside if one.where == "in-lane"]
    last = _last_out(known)
    state: LaneState = "occupied" if holding else "to-clear" if last else "free"
    begin = max(now, last.out_at + turnaround) if last and last.out_at and not holding else now
    turns = _turns(inside, now, begin, turnaround)
    held = [turn for turn, one in zip(turns, inside, strict=True) if one.where == "in-lane"]
    return LaneNow(
        state=state,
        who=holding[0].code if holding else last.code if last else None,
        free_at=held[-1].out + turnaround if held else begin,
        to_do=tuple(one for one in LANE_TASKS if last is None or one not in last.cleared)
        if state == "to-clear"
        else (),
        turns=turns,
        relief=tuple(one.code for one in known if one.where == "dressed"),
    )


def _first(one: Pass) -> tuple[bool, bool, float, str]:
    return one.where != "in-lane", not one.unwell, one.until.timestamp() if one.until else float("inf"), one.code


def _last_out(passes: Sequence[Pass]) -> Pass | None:
    """Who left the lane last, where it was not cleared since then by anybody."""
    gone = [(one.out_at, one.code, one) for one in passes if one.out_at is not None]
    if not gone:
        return None
    at, _, last = max(gone)
    clears = [one.clear_at for one in passes if one.clear_at is not None]
    return last if not clears or max(clears) < at else None


def _turns(inside: Sequence[Pass], now: datetime, begin: datetime, turnaround: timedelta) -> tuple[Turn, ...]:
    latest = _latest_starts(inside, turnaround)
    turns: list[Turn] = []
    at = begin
    for place, one in enumerate(inside, 1):
        out = at + one.way_out
        late = out - one.until if one.until is not None else _NOTHING
        turns.append(
            Turn(
                code=one.code,
                place=place,
                starts=at,
                out=out,
                start_by=None if one.where == "in-lane" else latest[place - 1],
                waits=at - now,
                late=max(late, _NOTHING),
            )
        )
        at = out + turnaround
    return tuple(turns)


def _latest_starts(inside: Sequence[Pass], turnaround: timedelta) -> list[datetime | None]:
    """From the last one back: each in time for their own limit, and in time for whoever is behind them."""
    found: list[datetime | None] = []
    behind: datetime | None = None
    for one in reversed(inside):
        own = None if one.until is None else one.until - one.way_out
        for_next = None if behind is None else behind - turnaround - one.way_out
        known = [moment for moment in (own, for_next) if moment is not None]
        behind = min(known) if known else None
        found.append(behind)
    return found[::-1]

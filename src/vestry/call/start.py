"""When donning must begin at the latest for somebody to stand at the door when the patient arrives.

1. Observer and assistant dress first, beside each other: the longer of the two counts.
2. Then what is confirmed before anyone goes in, and the wearer's donning up to the door, step after step.
3. Each step takes what the durations of the catalogue say (sequence.timing), reading aloud included: in large part
   judgement. Two answers: at the usual pace, and with every step at its slow end.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from vestry.sequence import Plan, PlanStep
from vestry.sequence.timing import Span, span_of, total
from vestry.trade import Catalogue

State = Literal["in-time", "tight", "too-late", "begun", "unknown"]


@dataclass(frozen=True)
class Stretch:
    """A part of the way to the door: whose, how many steps, how long. `counts`: it is on the longest way."""

    name: Literal["observer", "assistant", "before", "wearer"]
    steps: int
    span: Span
    counts: bool = True


@dataclass(frozen=True)
class LatestStart:
    """The answer for one arrival.

    usual, slow   when to begin at the usual pace, and when every step takes its slow end; None: no arrival is known
    minutes       until the usual one; below 0: too late by as many
    """

    state: State
    usual: datetime.datetime | None
    slow: datetime.datetime | None
    minutes: int | None
    stretches: tuple[Stretch, ...]

    @property
    def too_late_by(self) -> int:
        """Minutes by which it is too late even at the usual pace; 0 where it is not."""
        return -self.minutes if self.state == "too-late" and self.minutes is not None else 0


def stretches(plan: Plan, catalogue: Catalogue) -> tuple[Stretch, ...]:
    """The parts of the way to the door, with their times."""
    team = [
        Stretch(one.role, len(steps), _span(steps, catalogue), False)
        for one in plan.team
        for steps in [[step for step in one.steps if step.phase == "donning"]]
    ]
    longest = max(team, key=lambda one: (one.span.seconds, one.name), default=None)
    before, don = plan.phase("before"), (*plan.phase("donning"), *_to_the_door(plan))
    return (
        *(Stretch(one.name, one.steps, one.span, one is longest) for one in team),
        Stretch("before", len(before), _span(before, catalogue)),
        Stretch("wearer", len(don), _span(don, catalogue)),
    )


def latest_start(
    parts: Iterable[Stretch], arrival: datetime.datetime | None, now: datetime.datetime, begun: bool = False
) -> LatestStart:
    """When to begin for this arrival, and where that stands now. `begun`: somebody of this call is being dressed."""
    listed = tuple(parts)
    whole = total(one.span for one in listed if one.counts)
    if arrival is None or not listed:
        return LatestStart("begun" if begun else "unknown", None, None, None, listed)
    usual, slow = arrival - _seconds(whole.seconds), arrival - _seconds(whole.most)
    minutes = int((usual - now).total_seconds() // 60)
    if begun:
        state: State = "begun"
    elif now > usual:
        state = "too-late"
    else:
        state = "tight" if now > slow else "in-time"
    return LatestStart(state, usual, slow, minutes, listed)


def _to_the_door(plan: Plan) -> tuple[PlanStep, ...]:
    """The steps of the entry up to and with the move into the room."""
    entry = plan.phase("entry")
    last = next((number for number, one in enumerate(entry, 1) if one.act == "move" and one.to == "room"), 0)
    return entry[:last]


def _span(steps: Iterable[PlanStep], catalogue: Catalogue) -> Span:
    return total(span_of(one.act, one.items, one.agent, catalogue) for one in steps)


def _seconds(count: int) -> datetime.timedelta:
    return datetime.timedelta(seconds=count)

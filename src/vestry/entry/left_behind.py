"""What those who came out before leave in the lane, and what it does to the next one's way out.

1. The exits are joined into one program by the lane model (contact.lane), with what was said to happen in each.
2. The turnaround stands between them once the lane was shown clear, whole; until then nothing of it counts.
3. Where an exit went on in a way that its program does not know, everything of the lane and of the helpers counts as
   contaminated when they leave. More contamination never takes a route away (the model is monotone).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from vestry.contact.lane import Between, exit_name, in_one_lane
from vestry.contact.program import Program
from vestry.contact.reach import reach
from vestry.entry.actual import actual_events
from vestry.entry.state import EntryState

BODY = frozenset({"mucosa", "skin", "clothing"})


@dataclass(frozen=True)
class Gone:
    """One exit that is over: its compiled way out, the ids of events that happened, whether that is all of it."""

    program: Program
    happened: tuple[str, ...]
    whole: bool


@dataclass(frozen=True)
class Met:
    """What the next one meets.

    left      surfaces of the lane and of the helpers that may be contaminated when they come, by name
    reached   of their own body, as taught: what is reached because of it and would not be in a clean lane
    whole     False where something happened that the model does not know, and everything was taken as contaminated
    """

    left: tuple[str, ...]
    reached: tuple[str, ...]
    whole: bool


def gone_of(program: Program, state: EntryState) -> Gone:
    """The exit of an entry, from its folded state. One that was led along an answer is not whole."""
    events, whole = actual_events(program, state)
    return Gone(program, events, whole and not state.recoveries)


def met_by_next(before: Sequence[Gone], coming: Program, between: Sequence[Between], shared: Collection[str]) -> Met:
    """What the next one meets in the lane.

    before    those who came out, in order
    between   the turnaround; nothing while the lane is not clear
    shared    owners whose surfaces stay in the lane
    """
    number = len(before) + 1
    lane = in_one_lane([*(one.program for one in before), coming], between, shared)
    stays = [n for n, name in enumerate(lane.surfaces) if _stays(name, shared)]
    said = {exit_name(n, event) for n, one in enumerate(before, 1) for event in one.happened}
    said |= {event for one in before for event in one.happened if event.startswith("latent:")}
    found = reach(
        lane,
        [n for n, event in enumerate(lane.events) if event.id in said],
        seen={
            lane.steps.index(last): stays
            for n, one in enumerate(before, 1)
            if not one.whole and (last := _last(n, one))
        },
    )
    comes = lane.steps.index(exit_name(number, "arrives")) if before else 0
    there = found.after[comes]
    alone = reach(coming).ever
    own = {coming.surfaces[n] for n, kind in coming.endpoints if kind in BODY and n not in alone}
    ever = {lane.surfaces[n] for n in found.ever}
    return Met(
        left=tuple(sorted(lane.surfaces[n] for n in stays if n in there)),
        reached=tuple(sorted(name for name in own if exit_name(number, name) in ever)),
        whole=all(one.whole for one in before),
    )


def _last(number: int, one: Gone) -> str:
    return exit_name(number, one.program.steps[-1]) if one.program.steps else ""


def _stays(name: str, shared: Collection[str]) -> bool:
    owner = name.partition(".")[0]
    return owner in shared and owner != "air"

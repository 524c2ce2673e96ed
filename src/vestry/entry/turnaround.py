"""After the wearer is out: the lane made ready for the next, and observer and assistant out of their own gear."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from vestry.entry.events import Event
from vestry.entry.now import Now
from vestry.entry.state import Noted

LANE_TASKS = ("seat", "floor", "bins", "restock")
"""The turnaround of the lane: seat wiped, floor wiped, bins closed and changed, what was used up laid out anew."""


def _lane_cleared(now: Now, event: Event) -> None:
    """One or more of the tasks; all of them where none is named. The lane is clear once each was said."""
    named = event.texts("done")
    now.noted.append(Noted(event.clock, event.kind, ", ".join(named), note=event.text("note")))
    if "left" not in now.times:
        now.flag(event, "the lane said to be cleared before the wearer was out")
        return
    said = named if "done" in event.payload else LANE_TASKS
    now.lane_done += [one for one in said if one in LANE_TASKS and one not in now.lane_done]
    if len(now.lane_done) == len(LANE_TASKS):
        now.times.setdefault("lane-cleared", event.clock)


def _begun(now: Now, event: Event) -> None:
    """Their own way out is led from here. While the wearer is not out, the wearer's way goes on being led."""
    role = event.text("role")
    now.noted.append(Noted(event.clock, event.kind, role, note=event.text("how")))
    own = now.own.get(role)
    if own is None:
        now.flag(event, "an own way out that the plan does not have")
        return
    if own.begun_at is None:
        now.own[role] = replace(own, begun_at=event.clock, how=event.text("how"))
    else:
        now.flag(event, "an own way out begun twice")
    if "left" not in now.times:
        now.flag(event, "an own way out begun before the wearer was out")
        return
    if now.held is not None:
        now.flag(event, "an own way out begun while held")
        return
    if now.position() < len(now.course.steps):
        now.flag(event, "an own way out begun before the last step of the one before")
    now.course = now.led.team[role]
    now.worn = list(now.course.worn)


def _left_out(now: Now, event: Event) -> None:
    role = event.text("role")
    now.noted.append(Noted(event.clock, event.kind, role, note=event.text("reason")))
    own = now.own.get(role)
    if own is None:
        now.flag(event, "an own way out that the plan does not have")
        return
    if own.done_at is not None:
        now.flag(event, "an own way out said to be left out, and done")
    now.own[role] = replace(own, why_not=event.text("reason"))


def unsettled(now: Now) -> list[str]:
    """Roles whose own way out was neither done nor said to be left out, once the wearer is out."""
    return [role for role, own in now.own.items() if not own.settled] if "left" in now.times else []


AFTERWARDS: Mapping[str, Callable[[Now, Event], None]] = {
    "lane-cleared": _lane_cleared,
    "undressing-begun": _begun,
    "undressing-left-out": _left_out,
}

"""From a press on the tablet to the events that it says. One press may say several: an unbroken group is one press."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from vestry.entry import Course, EntryState, Led
from vestry.sequence import PlanStep

Said = tuple[str, dict[str, Any]]

_TOPICS: Mapping[str, Said] = {
    "area-confirmed": ("area-confirmed", {}),
    "person-checked": ("person-checked", {"may": True}),
    "signals-agreed": ("signal-checked", {}),
}


def events_of(press: str, said: Mapping[str, Any], led: Led, state: EntryState) -> list[Said]:
    """The kinds and payloads that a press says, in order."""
    step = str(said.get("step") or "")
    course = led.course(state.course) or led.plan
    match press:
        case "read":
            return [("read", {"step": one.id}) for one in _group(led, course, step)]
        case "done-seen" | "done-not-seen":
            return list(_done(press, _group(led, course, step)))
        case "went-otherwise":
            return list(_went_otherwise(said, led, course, state))
        case "recovery-taken":
            return list(_recovery(said, course, state))
        case "pressed-wrongly":
            return [("pressed-wrongly", {"note": "STOP"}), ("resumed", {"step": step, "reason": "pressed-wrongly"})]
        case "resumed":
            return [("resumed", {"step": step} | _named(said, {"by": "decided-by", "reason": "reason"}))]
        case "undress-observed" | "undress-by-mirror":
            how = "observed" if press == "undress-observed" else "mirror"
            return [("undressing-begun", {"role": one, "how": how}) for one in _next_own(state)]
        case "own-way-left-out":
            reason = str(said.get("reason") or "stays-for-the-next")
            return [("undressing-left-out", {"role": one, "reason": reason}) for one in _next_own(state)]
        case "lane-seat" | "lane-floor" | "lane-bins" | "lane-restock":
            return [("lane-cleared", {"done": [press.removeprefix("lane-")]})]
        case "abandoned":
            return [("abandoned", {"reason": str(said["reason"])})]
        case "closed":
            return [("closed", {})]
        case "prompted":
            return [("prompted", {"step": step} | _named(said, {"note": "note"}))]
        case _:
            return [(press, {"step": step})]


def next_own(state: EntryState) -> str | None:
    """Whose own way out is next: neither done nor said to be left out, once the wearer is out."""
    if state.left_at is None:
        return None
    return next((one.role for one in state.team if not one.settled), None)


def _next_own(state: EntryState) -> list[str]:
    role = next_own(state)
    return [] if role is None else [role]


def _named(said: Mapping[str, Any], names: Mapping[str, str]) -> dict[str, Any]:
    return {new: str(said[old]) for old, new in names.items() if said.get(old)}


def _group(led: Led, course: Course, step: str) -> list[PlanStep]:
    """The unbroken group that begins with this step; a step of another course stands for itself."""
    place = next((number for number, one in enumerate(course.steps) if one.id == step), None)
    if place is None:
        return [PlanStep(id=step, phase="doffing", act="confirm")]
    return list(led.group(course, place))


def _done(press: str, steps: list[PlanStep]) -> Iterator[Said]:
    for one in steps:
        yield press, {"step": one.id}
        if one.act == "confirm" and one.topic is not None and one.topic in _TOPICS:
            yield _TOPICS[one.topic]
        elif one.act == "move" and one.to == "room":
            yield "entered", {}
        elif one.act == "move" and one.to == "clean-side":
            yield "left", {}


def _went_otherwise(said: Mapping[str, Any], led: Led, course: Course, state: EntryState) -> Iterator[Said]:
    """The deviation. What stands before it in an unbroken group was done on the way to it."""
    step = str(said["step"])
    yield "deviation", {"step": step, "events": [str(said["events"])]} | _named(said, {"note": "note"})
    if state.held is not None and state.held.step != step:
        for one in _group(led, course, state.held.step):
            if one.id == step:
                return
            yield "done-seen", {"step": one.id}


def _recovery(said: Mapping[str, Any], course: Course, state: EntryState) -> Iterator[Said]:
    """The approved answer begins where the step ends."""
    step = str(said["step"])
    record = state.record(step)
    if record is None or not record.done:
        yield "done-seen", {"step": step}
    yield "recovery-taken", {"step": step, "recovery": str(said["recovery"])}


done_events = _done
"""The same for steps one by one, as a sheet has them."""

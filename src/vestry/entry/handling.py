"""What each kind of event does to the state of an entry: the steps, the holds, the way that is led, the end.

Every handler is total: whatever a payload holds or lacks, it says something and raises nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from vestry.entry.events import Event
from vestry.entry.noting import NOTING
from vestry.entry.now import Now
from vestry.entry.state import Deviation, Noted
from vestry.entry.turnaround import AFTERWARDS, unsettled


def _opened(now: Now, event: Event) -> None:
    if now.stage != "not-opened":
        now.flag(event, "opened twice")
        return
    now.stage = "under-way"
    now.times["opened"] = event.clock
    now.people.update({who: event.text(who) for who in ("wearer", "observer", "assistant") if event.text(who)})
    now.drill = event.flag("drill")
    now.one_press = event.text("pace") == "one-press"
    now.leads = now.leads or event.device


def _stop_said(now: Now, event: Event) -> None:
    step = now.here(event)
    if step is not None and now.of(step.id).stop_said_at is None:
        now.put(replace(now.of(step.id), stop_said_at=event.clock))


def _read(now: Now, event: Event) -> None:
    step = now.here(event)
    if step is None:
        return
    record = now.of(step.id)
    if not now.in_turn(step):
        now.flag(event, "read out of turn")
    if record.read_at is None:
        now.put(replace(record, read_at=event.clock))


def _acknowledged(now: Now, event: Event) -> None:
    step = now.here(event)
    if step is None:
        return
    record = now.of(step.id)
    if record.read_at is None:
        now.flag(event, "acknowledged before it was read")
    if record.acknowledged_at is None:
        now.put(replace(record, acknowledged_at=event.clock))


def _done(seen: bool) -> Callable[[Now, Event], None]:
    def handle(now: Now, event: Event) -> None:
        step = now.here(event)
        if step is None:
            return
        record = now.of(step.id)
        if record.done:
            now.flag(event, "said to be done twice" if record.seen == seen else "one says seen, the other not seen")
            return
        if now.held is not None and now.held.happened is None:
            now.flag(event, "done while held")
        if not now.in_turn(step):
            now.flag(event, "done out of order")
        elif record.read_at is None and not now.one_press:
            now.flag(event, "done without being read")
        if step.phase == "donning":
            now.begin(event)
        now.put(replace(record, done_at=event.clock, seen=seen, late=event.device in now.transcribing))
        now.wear(step)
        now.finished(event)

    return handle


def _prompted(now: Now, event: Event) -> None:
    step = now.here(event)
    if step is None:
        return
    record = now.of(step.id)
    now.put(replace(record, prompted=record.prompted + 1))
    now.near_misses.append((event.clock, step.id))


def _stopped(now: Now, event: Event) -> None:
    now.meet(event)
    if now.held is not None:
        now.flag(event, "stopped while held")
        return
    now.here(event)
    now.hold(event)
    if now.stage == "under-way":
        now.stage = "held"


def _resumed(now: Now, event: Event) -> None:
    if now.held is None:
        now.flag(event, "resumed without a stop")
        return
    if now.held.happened is not None:
        by = event.text("decided-by")
        now.flag(event, f"resumed after a deviation on the word of {by}" if by else "resumed after a deviation")
    _release(now, event)


def _went_otherwise(now: Now, event: Event) -> None:
    """A deviation, a tear, soiling, a wrong crossing of the line."""
    now.meet(event)
    touched = event.text({"tear": "item", "soiling": "surface"}.get(event.kind, ""))
    happened = Deviation(
        event.clock,
        event.step or "",
        event.texts("events"),
        event.text("note"),
        event.kind,
        touched=touched or None,
        course=now.course.name,
    )
    if now.held is None:
        now.flag(event, "said without a stop")
        now.hold(event)
    elif now.held.happened is not None:
        now.flag(event, "a second thing happened at this stop")
        happened = replace(happened, events=tuple(sorted({*now.held.happened.events, *happened.events})))
    if now.held is not None:
        now.held = replace(now.held, happened=happened)
    now.deviations.append(happened)
    if now.stage == "under-way":
        now.stage = "held"


def _recovery_taken(now: Now, event: Event) -> None:
    name = event.text("recovery")
    course = now.led.recoveries.get(name)
    if course is None:
        now.flag(event, "a recovery that was not approved with this procedure")
        return
    if now.held is None or now.held.happened is None:
        now.flag(event, "a recovery taken without saying what happened")
    elif set(course.worn) != set(now.worn):
        now.flag(event, "a recovery for other items worn")
    if now.deviations:
        now.deviations[-1] = replace(now.deviations[-1], answered_by=name)
    now.recoveries.append((event.clock, name))
    now.course = course
    _release(now, event)


def _release(now: Now, event: Event) -> None:
    now.let_go(event)
    if now.stage == "held":
        now.stage = "under-way"


def _abandoned(now: Now, event: Event) -> None:
    now.times.setdefault("closed", event.clock)
    now.stage = "abandoned"
    now.let_go(event)


def _closed(now: Now, event: Event) -> None:
    if now.stage in ("closed", "abandoned"):
        now.flag(event, "closed twice")
        return
    if now.held is not None:
        now.flag(event, "closed while held")
    elif now.position() < len(now.course.steps):
        now.flag(event, "closed before the last step")
    for role in unsettled(now):
        now.flag(event, f"closed with the {role}'s own way out neither done nor left out")
    now.times.setdefault("closed", event.clock)
    now.stage = "closed"
    now.let_go(event)


def _pressed_wrongly(now: Now, event: Event) -> None:
    """What it takes back, the fold has left out already (fold.py, 7)."""
    if event.text("event") and event.text("event") not in now.taken_back:
        now.flag(event, "what was pressed wrongly cannot be taken back, and stays")
    now.noted.append(Noted(event.clock, event.kind, event.text("event"), note=event.text("note")))


HANDLERS: Mapping[str, Callable[[Now, Event], None]] = {
    **NOTING,
    **AFTERWARDS,
    "opened": _opened,
    "stop-said": _stop_said,
    "read": _read,
    "acknowledged": _acknowledged,
    "done-seen": _done(True),
    "done-not-seen": _done(False),
    "prompted": _prompted,
    "stopped": _stopped,
    "resumed": _resumed,
    "deviation": _went_otherwise,
    "tear": _went_otherwise,
    "soiling": _went_otherwise,
    "zone-crossed": _went_otherwise,
    "recovery-taken": _recovery_taken,
    "pressed-wrongly": _pressed_wrongly,
    "abandoned": _abandoned,
    "closed": _closed,
}
"""One for every kind that is known."""

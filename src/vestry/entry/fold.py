"""The fold: from the events of an entry to its state. Pure, and the same for any order and number of uploads.

1. Events count in the order of order.py, once each.
2. Everything is recorded. What departs from how an entry is led (an act not read, done out of order, done twice, said
   after the end) is flagged beside what it says, and never refused.
3. The place is before the first step of the course that is not done.
4. STOP holds the step. Saying what happened does not end the hold; a recovery taken or a resumption does.
5. A recovery taken becomes the course; the plan's later steps are left. Its end is the end of the way out. Once the
   wearer is out, the own ways out of assistant and observer are courses too, one after the other.
6. A kind that is not known changes nothing and is kept.
7. A press said to be wrong counts as not pressed, where it only spoke of a step (TAKEN_BACK), and is flagged. An act
   that was done stays done: whoever did it says so, and no event undoes it.
8. Nothing that can be in a record makes it fail, and nothing but the record decides: not the time of folding, not the
   order of arrival, not who asks.
"""

from __future__ import annotations

from collections.abc import Iterable

from vestry.entry.courses import Led
from vestry.entry.events import KINDS, Event
from vestry.entry.handling import HANDLERS
from vestry.entry.now import Now
from vestry.entry.order import in_order
from vestry.entry.state import EntryState

_AFTER_THE_END = frozenset(
    {
        "correction",
        "signed",
        "late-transcribed",
        "lane-cleared",
        "inspected",
        "closed",
        "pressed-wrongly",
        "breach",
        "exposure",
        "content-removed",
    }
)
TAKEN_BACK = frozenset(
    {
        "item-checked",
        "stop-said",
        "read",
        "acknowledged",
        "done-seen",
        "done-not-seen",
        "prompted",
        "stopped",
        "lane-cleared",
        "drill-injected",
    }
)
"""Kinds that a wrong press can have said. What tells of harm or of a departure is corrected, never taken back."""


def fold(led: Led, events: Iterable[Event]) -> EntryState:
    """The state that these events make of an entry led along this plan."""
    now = Now(led, led.plan, list(led.plan.worn))
    ordered = in_order(events)
    wrong = _wrongly_pressed(ordered)
    for event in ordered:
        if event.device not in now.devices:
            now.devices.append(event.device)
        if event.id in wrong:
            now.taken_back.append(event.id)
            now.flag(event, "pressed wrongly, and taken back")
        else:
            _take(now, event)
    return now.state()


def _wrongly_pressed(ordered: tuple[Event, ...]) -> frozenset[str]:
    """The ids of earlier presses that a later event says were wrong."""
    before: dict[str, Event] = {}
    wrong: set[str] = set()
    for event in ordered:
        said = before.get(event.text("event")) if event.kind == "pressed-wrongly" else None
        if said is not None and said.kind in TAKEN_BACK:
            wrong.add(said.id)
        before[event.id] = event
    return frozenset(wrong)


def _take(now: Now, event: Event) -> None:
    if event.kind not in KINDS:
        if event.kind not in now.unknown:
            now.unknown.append(event.kind)
        return
    if now.stage in ("closed", "abandoned") and event.kind not in _AFTER_THE_END:
        now.flag(event, "said after the end")
    elif now.stage == "not-opened" and event.kind != "opened":
        now.flag(event, "said before the entry was opened")
    HANDLERS[event.kind](now, event)

"""The fold: from the events of an entry to its state. Pure, and the same for any order and number of uploads.

1. Events count in the order of order.py, once each.
2. Everything is recorded. What departs from how an entry is led (an act not read, done out of order, done twice, said
   after the end) is flagged beside what it says, and never refused.
3. The place is before the first step of the course that is not done.
4. STOP holds the step. Saying what happened does not end the hold; a recovery taken or a resumption does.
5. A recovery taken becomes the course; the plan's later steps are left. Its end is the end of the way out.
6. A kind that is not known changes nothing and is kept.
"""

from __future__ import annotations

from collections.abc import Iterable

from vestry.entry.courses import Led
from vestry.entry.events import KINDS, Event
from vestry.entry.handling import HANDLERS
from vestry.entry.now import Now
from vestry.entry.order import in_order
from vestry.entry.state import EntryState

_AFTER_THE_END = frozenset({"correction", "signed", "late-transcribed", "lane-cleared", "inspected", "closed"})


def fold(led: Led, events: Iterable[Event]) -> EntryState:
    """The state that these events make of an entry led along this plan."""
    now = Now(led, led.plan, list(led.plan.worn))
    for event in in_order(events):
        _take(now, event)
    return now.state()


def _take(now: Now, event: Event) -> None:
    if event.kind not in KINDS:
        if event.kind not in now.unknown:
            now.unknown.append(event.kind)
        return
    if now.stage in ("closed", "abandoned") and event.kind not in _AFTER_THE_END:
        now.flag(event, "said after the end")
    elif now.stage == "not-opened" and event.kind != "opened":
        now.flag(event, "said before the entry was opened")
    handle = HANDLERS.get(event.kind)
    if handle is not None:
        handle(now, event)

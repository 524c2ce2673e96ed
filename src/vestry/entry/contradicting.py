"""Where two devices contradict each other about one entry. Both stay in the record; the lead decides what was.

1. Only what two devices say is a contradiction: a device that corrects itself says so with a press taken back.
2. Of one step: done and seen, and done and not seen. Of one stop: two different answers led.
3. Of the person: may go in, and may not. Of the end: closed, and ended early.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from vestry.entry.events import Event
from vestry.entry.order import in_order

_END = {"closed": "closed", "abandoned": "ended early"}
_SEEN = {"done-seen": "seen", "done-not-seen": "not seen"}


@dataclass(frozen=True)
class Contradiction:
    """Two events of two devices that cannot both be so. `about`: step, `person` or `end`; `says`: each in a word."""

    about: str
    first: Event
    second: Event
    says: tuple[str, str]


def contradictions(events: Iterable[Event]) -> tuple[Contradiction, ...]:
    """Every pair, in the order in which the events count; of each device what it said last of the matter."""
    ordered = in_order(events)
    gone = {one.text("event") for one in ordered if one.kind == "pressed-wrongly"}
    said: dict[tuple[str, str], dict[str, tuple[Event, str]]] = defaultdict(dict)
    for event in ordered:
        matter = _matter(event)
        if matter is not None and event.id not in gone:
            sort, about, word = matter
            said[sort, about][event.device] = (event, word)
    found = []
    for (_, about), by_device in said.items():
        spoken = list(by_device.values())
        for place, (first, word) in enumerate(spoken):
            found += [
                Contradiction(about, first, second, (word, other))
                for second, other in spoken[place + 1 :]
                if other != word
            ]
    return tuple(found)


def _matter(event: Event) -> tuple[str, str, str] | None:
    """What an event is about, and what it says of it."""
    if event.kind in _SEEN and event.step:
        return "seen", event.step, _SEEN[event.kind]
    if event.kind == "recovery-taken" and event.step:
        return "answer", event.step, event.text("recovery")
    if event.kind == "person-checked":
        return "person", "person", "may go in" if event.flag("may") else "may not go in"
    if event.kind in _END:
        return "end", "end", _END[event.kind]
    return None

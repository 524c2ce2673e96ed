"""The order in which events count, whatever the order in which they came.

1. An event counts once, however often it was sent.
2. A device's own events stand in the order of its counter: its clock may jump, its counter does not.
3. Between devices the clocks decide, each device's clock taken never to run backwards.
4. What is left (equal times) is decided by device and id, so that every copy of the record agrees.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from vestry.entry.events import Event


def in_order(events: Iterable[Event]) -> tuple[Event, ...]:
    """The events once each, in the order in which they count."""
    by_device: dict[str, list[Event]] = defaultdict(list)
    for event in {event.id: event for event in events}.values():
        by_device[event.device].append(event)
    keyed: list[tuple[tuple[str, str, int, str], Event]] = []
    for device, own in by_device.items():
        latest = ""
        for event in sorted(own, key=lambda one: (one.counter, one.id)):
            latest = max(latest, event.clock)
            keyed.append(((latest, device, event.counter, event.id), event))
    return tuple(event for _, event in sorted(keyed, key=lambda pair: pair[0]))

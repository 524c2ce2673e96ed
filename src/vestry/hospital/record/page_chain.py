"""The chain of a browser on the server's own pages, as a device of its own: the server counts and makes its links.

It shows a change, a loss or another order among what that browser said in an entry, and its head is an anchor like
that of a tablet. It does not show what the server left out from the first: it makes the chain itself.
See docs/decisions/0070.
"""

from __future__ import annotations

import secrets
import uuid
from dataclasses import replace

from vestry.entry.chains import FIRST
from vestry.entry.events import Event as EventValue
from vestry.hospital.record.models import Entry, Event


def next_counter(device: str) -> int:
    """The next number of a device that does not count for itself."""
    newest = Event.objects.filter(device=uuid.UUID(device)).order_by("-device_counter").first()
    return newest.device_counter + 1 if newest else 1


def unchained(known: EventValue, event: EventValue) -> EventValue:
    """A stored event without what was added to it here, to be compared with what a page says again."""
    return replace(known, counter=event.counter, salt=event.salt, previous=event.previous)


class PageChains:
    """Number and link of each browser in one entry, while its events are stored. The caller has the writer's lock."""

    def __init__(self, entry: Entry) -> None:
        self.entry = entry
        self._next: dict[str, tuple[int, str]] = {}

    def next(self, event: EventValue) -> EventValue:
        """The event with its number and what its link follows on."""
        if event.device not in self._next:
            linked = Event.objects.filter(entry=self.entry, device=uuid.UUID(event.device), link__isnull=False)
            last = linked.order_by("-device_counter").values_list("link", flat=True).first()
            self._next[event.device] = (next_counter(event.device), last or FIRST)
        counter, link = self._next[event.device]
        return replace(event, counter=counter, salt=secrets.token_hex(16), previous=link)

    def sealed(self, row: Event) -> None:
        """It was chained: what comes next follows on it."""
        if str(row.device) in self._next and row.link:
            self._next[str(row.device)] = (row.device_counter + 1, row.link)

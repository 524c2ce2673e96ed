"""Entries under way, kept in memory with what was folded of them: an upload reads what is new, not the whole entry.

The record stays the truth. Its rows are added and never changed or taken away, so what was read of an entry is all of
it as long as the record holds as many events of it. After content was removed lawfully nothing of it is kept.
Only what is committed is kept here.
"""

from __future__ import annotations

import uuid
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from threading import Lock
from typing import Any, Generic, TypeVar

from vestry.entry import EntryState
from vestry.entry import Event as EventValue


@dataclass(frozen=True)
class Folded:
    """The state that so many events make, and what the entry's opening says."""

    state: EntryState
    opened: Mapping[str, Any]


T = TypeVar("T")


class Newest(Generic[T]):
    """Of each entry the newest that was kept, with the number of its events; of so many entries."""

    def __init__(self, most: int) -> None:
        self._most, self._lock = most, Lock()
        self._kept: OrderedDict[uuid.UUID, tuple[int, T]] = OrderedDict()

    def get(self, entry: uuid.UUID, count: int) -> T | None:
        """What was kept, if it is of exactly so many events."""
        with self._lock:
            found = self._kept.get(entry)
            if found is None or found[0] != count:
                return None
            self._kept.move_to_end(entry)
            return found[1]

    def put(self, entry: uuid.UUID, count: int, value: T) -> None:
        """Keep it, unless more is known already."""
        with self._lock:
            found = self._kept.get(entry)
            if found is None or found[0] <= count:
                self._kept[entry] = (count, value)
                self._kept.move_to_end(entry)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)

    def drop(self, entry: uuid.UUID) -> None:
        """Keep nothing of it any more: content of it was removed."""
        with self._lock:
            self._kept.pop(entry, None)


EVENTS: Newest[tuple[EventValue, ...]] = Newest(128)
"""Some two hundred kilobytes for an entry led to its end."""
STATES: Newest[Folded] = Newest(600)


def folded_of(state: EntryState, events: tuple[EventValue, ...]) -> Folded:
    """The state with what the opening said."""
    return Folded(state, next((one.payload for one in events if one.kind == "opened"), {}))

"""When a tablet was heard last, by entry. In this process's memory: pages are served by one process (serving.py).

With several processes a wearer's screen would ask one that has not heard the tablet, and say that it is not connected:
it would show too little, never an old step.
"""

from __future__ import annotations

import time
import uuid

SILENT_AFTER = 3.5
"""Seconds. A tablet with a wearer's screen is heard each second."""
_HEARD: dict[tuple[uuid.UUID, str], float] = {}


def beat(entry: uuid.UUID, device: str) -> None:
    """This device speaks of this entry now."""
    if len(_HEARD) > 5000:
        _HEARD.clear()
    _HEARD[entry, device] = time.monotonic()


def silent(entry: uuid.UUID, device: str) -> bool:
    """Whether it was not heard for a while."""
    return time.monotonic() - _HEARD.get((entry, device), float("-inf")) > SILENT_AFTER

"""Chains of a record: what an event said is committed to with a salt, and chained by its device and by the server.

1. The commitment is SHA-256 over salt and what was said. Without the salt nothing can be tried out against it, so that
   salt and words may be purged, lawfully, and the commitment left: it tells nothing, and the chains still hold.
2. A device's link is SHA-256 over its link before, in the same entry, and the commitment. The device makes it.
3. The server's hash is SHA-256 over its own order and time, its hash before, the commitment and the device's link.

All over canonical JSON (RFC 8785), in lower-case hexadecimal. The browser's `chain.js` makes the same.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

import rfc8785

from vestry.entry.events import Event

FIRST = "0" * 64
"""What stands where there is nothing before."""


def said_of(event: Event) -> dict[str, Any]:
    """All that a device says with an event, as the commitment takes it."""
    return {
        "id": event.id,
        "entry": event.entry,
        "kind": event.kind,
        "payload": dict(event.payload),
        "actor": event.actor,
        "device": event.device,
        "clock": event.clock,
        "counter": event.counter,
        "plan": event.plan,
    }


def commitment_of(salt: str, said: Mapping[str, Any]) -> str:
    """The commitment to what was said. `salt`: 32 hexadecimal digits by chance."""
    return _digest({"salt": salt, "said": said})


def link_of(previous: str, commitment: str) -> str:
    """A device's link over its link before in this entry."""
    return _digest({"previous": previous, "commitment": commitment})


def hash_of(sequence: int, previous: str, server_time: str, commitment: str, link: str | None) -> str:
    """The server's hash over its hash before. `link`: the device's, where it keeps a chain."""
    return _digest(
        {
            "sequence": sequence,
            "previous": previous,
            "server-time": server_time,
            "commitment": commitment,
            "link": link,
        }
    )


def _digest(value: Any) -> str:
    return hashlib.sha256(rfc8785.dumps(value)).hexdigest()

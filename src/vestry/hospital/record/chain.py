"""The hash of an event: over all it says and the hash of the one before. Change one, and every later one is wrong."""

from __future__ import annotations

import hashlib

import rfc8785

from vestry.hospital.record.models import Event

FIRST = "0" * 64


def hash_of(row: Event) -> str:
    """SHA-256 of the canonical JSON of the row and its predecessor's hash."""
    says = {
        "sequence": row.sequence,
        "previous": row.previous,
        "id": str(row.client_id),
        "entry": str(row.entry_id),
        "kind": row.kind,
        "payload": row.payload,
        "actor": row.actor,
        "device": str(row.device),
        "clock": row.device_clock,
        "counter": row.device_counter,
        "plan": row.plan_hash,
        "server-time": row.server_time,
    }
    return hashlib.sha256(rfc8785.dumps(says)).hexdigest()


def broken_at() -> int | None:
    """The sequence number of the first event that does not fit the one before it; None when the chain holds."""
    previous = FIRST
    for row in Event.objects.order_by("sequence").iterator():
        if row.previous != previous or hash_of(row) != row.hash:
            return row.sequence
        previous = row.hash
    return None

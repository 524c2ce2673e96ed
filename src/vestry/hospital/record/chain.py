"""The chains of the record, row by row: made when an event is stored, and walked to verify it."""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from typing import Any

from vestry.entry.chains import FIRST, commitment_of, hash_of, link_of, said_of
from vestry.entry.removing import left_of
from vestry.entry.verifying import Verified, verify
from vestry.hospital.record.mapper import to_value
from vestry.hospital.record.models import Event


def seal(row: Event) -> str:
    """Commit to what a row says and chain it to the one before; its hash. The device's salt where it brought one."""
    value = to_value(row)
    row.salt = row.salt or secrets.token_hex(16)
    row.commitment = commitment_of(row.salt, said_of(value))
    row.link = link_of(row.device_previous, row.commitment) if row.device_previous else None
    row.hash = hash_of(row.sequence, row.previous, row.server_time, row.commitment, row.link)
    return row.hash


def row_of(row: Event) -> dict[str, Any]:
    """An event as it is exported and verified, whole; where its content was removed, what is left of it."""
    if row.salt is None:
        return withheld(row) | {"left": left_of(said_of(to_value(row)))}
    return withheld(row) | {"salt": row.salt, "said": said_of(to_value(row))}


def withheld(row: Event) -> dict[str, Any]:
    """Its place in the chain, without what it says."""
    return {
        "sequence": row.sequence,
        "previous": row.previous,
        "server-time": row.server_time,
        "commitment": row.commitment or "",
        "device-previous": row.device_previous,
        "link": row.link,
        "hash": row.hash,
    }


def rows() -> Iterator[dict[str, Any]]:
    """The whole record, in the server's order."""
    for row in Event.objects.order_by("sequence").iterator():
        yield row_of(row)


def verified(anchors: tuple[str, ...] = ()) -> Verified:
    """The record of this data folder, walked whole."""
    return verify(rows(), anchors=anchors, from_the_first=True)


def head() -> tuple[int, str]:
    """The newest event of the record: its number and hash."""
    newest = Event.objects.order_by("-sequence").values_list("sequence", "hash").first()
    return newest or (0, FIRST)


def broken_at() -> int | None:
    """The number of the first event that does not fit, 0 where none by itself does not; None when the chains hold."""
    found = verified().findings
    return (found[0].sequence or 0) if found else None

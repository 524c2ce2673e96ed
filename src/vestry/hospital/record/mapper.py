"""Rows to frozen values and back. Django ends here."""

from __future__ import annotations

import uuid
from functools import lru_cache

from vestry.entry import Event as EventValue
from vestry.entry import Led, led_along
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ProcedureVersion
from vestry.hospital.record.models import Entry, Event


def to_value(row: Event) -> EventValue:
    return EventValue(
        id=str(row.client_id),
        entry=str(row.entry_id),
        kind=row.kind,
        payload=row.payload,
        actor=row.actor,
        device=str(row.device),
        clock=row.device_clock,
        counter=row.device_counter,
        plan=row.plan_hash,
        salt=str(row.salt) if row.device_previous else "",
        previous=row.device_previous or "",
    )


def to_row(event: EventValue, entry: Entry, sequence: int, previous: str, server_time: str) -> Event:
    return Event(
        sequence=sequence,
        client_id=uuid.UUID(event.id),
        entry=entry,
        kind=event.kind,
        payload=dict(event.payload),
        actor=event.actor,
        device=uuid.UUID(event.device),
        device_clock=event.clock,
        device_counter=event.counter,
        plan_hash=event.plan,
        server_time=server_time,
        salt=event.salt or None,
        device_previous=event.previous or None,
        previous=previous,
    )


def led_of(version: ProcedureVersion) -> Led:
    """What an entry of this version is led along."""
    return _led(version.pk)


@lru_cache(maxsize=32)
def _led(key: uuid.UUID) -> Led:
    return led_along(approved_of(key))

"""The clock of an entry from the rows: the newest reading of its room, and what the lead wrote of the gear."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from vestry.heat import Gear, OpeningClock, Read, opening_clock
from vestry.hospital.jobs.heat import kept
from vestry.hospital.language import WORDS
from vestry.hospital.rooms.mapper import operations
from vestry.hospital.rooms.models import HeatGear, HeatReading


def read_of(row: HeatReading) -> Read:
    """A reading as the heat side takes it."""
    return Read(
        air=float(row.air),
        humidity=float(row.humidity),
        speed=float(row.speed),
        at=row.at,
        radiant=None if row.radiant is None else float(row.radiant),
    )


def gear_of(row: HeatGear) -> Gear:
    """The gear as the heat side takes it."""
    return Gear(float(row.metabolic), float(row.clothing or 0), float(row.permeability or 0), row.impermeable)


def newest_readings() -> dict[str, HeatReading]:
    """The newest reading of every room: those of the last week are looked through."""
    found: dict[str, HeatReading] = {}
    for row in HeatReading.objects.select_related("by")[:500]:
        found.setdefault(row.code, row)
    return found


def gear_now() -> dict[str, HeatGear]:
    """What is in force of every procedure, by slug."""
    found: dict[str, HeatGear] = {}
    for row in HeatGear.objects.select_related("by"):
        found.setdefault(row.procedure, row)
    return found


def clock_at_opening(policy: int, procedure: str, room: str, now: datetime.datetime) -> OpeningClock:
    """The clock of an entry in a room (empty: not said)."""
    reading = HeatReading.objects.filter(code=room).first() if room else None
    gear = HeatGear.objects.filter(procedure=procedure).first()
    return opening_clock(
        policy,
        read_of(reading) if reading else None,
        gear_of(gear) if gear else None,
        now,
        operations(),
        room=bool(room),
        ask=kept,
    )


def as_said(clock: OpeningClock) -> dict[str, str]:
    """What the event `opened` keeps of it."""
    return {"limit-minutes": str(clock.allowed.minutes), "limit-by": clock.allowed.by, "limit-why": clock.why}


def told(said: Mapping[str, str], policy: int) -> str:
    """The limit that an entry was opened with, in words."""
    minutes = minutes_of(said, policy)
    by, why = said.get("limit-by", ""), said.get("limit-why", "")
    if not why:
        return f"{minutes} min: {WORDS.term('heat-limit', 'policy')}"
    because = WORDS.term("heat-opening", why)
    if by in ("", "policy"):
        return f"{minutes} min: {WORDS.term('heat-limit', 'policy')}. {because}"
    return f"{minutes} min: {WORDS.term('heat-limit', by)}. {because} ({policy} min)"


def minutes_of(said: Mapping[str, str], policy: int) -> int:
    """The minutes that the event `opened` carries, never above the unit's limit; that limit where it says none."""
    minutes = said.get("limit-minutes")
    if isinstance(minutes, str) and minutes.isdecimal() and len(minutes) < 6 and int(minutes) >= 1:
        return min(int(minutes), policy)
    return policy

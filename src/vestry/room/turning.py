"""From the last exit to ready: air, cleaning, contact time, restocking, a last look; as a timeline.

Where the air matters for the hazard, cleaning waits until it is clear, or those who clean wear a respirator. It is an
estimate to plan with; the room is ready when somebody has looked and said so.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from vestry.trade.operations import Operations
from vestry.trade.operations_values import ContactTime, WorkTime

Name = Literal["air", "cleaning", "contact", "restock", "check"]
Pace = Literal["brisk", "usual", "slow"]


@dataclass(frozen=True)
class Stretch:
    """One part of the timeline, from and to."""

    name: Name
    start: datetime
    end: datetime


@dataclass(frozen=True)
class Timeline:
    """All parts by start; `ready` when the last look is done; `last`, what that look waited for."""

    pace: Pace
    parts: tuple[Stretch, ...]
    ready: datetime
    last: Name


def turned_around(
    last_exit: datetime,
    operations: Operations,
    *,
    contact: ContactTime,
    air_minutes: int | None = None,
    cleaning_waits: bool = True,
    pace: Pace = "usual",
) -> Timeline:
    """The timeline of one room.

    air_minutes      what to wait for the air; None where it is beside the point
    cleaning_waits   False: those who clean wear a respirator and begin at once
    ValueError for a wait below 0.
    """
    if air_minutes is not None and air_minutes < 0:
        raise ValueError(f"{air_minutes} minutes of air; 0 or more")
    clear = last_exit + timedelta(minutes=air_minutes or 0)
    parts = [] if air_minutes is None else [Stretch("air", last_exit, clear)]
    at = clear if cleaning_waits else last_exit
    for name, minutes in (
        ("cleaning", _work("cleaning", pace, operations)),
        ("contact", contact.minutes),
        ("restock", _work("restock", pace, operations)),
    ):
        end = at + timedelta(minutes=minutes)
        parts.append(Stretch(name, at, end))  # type: ignore[arg-type]
        at = end
    start = max(at, clear)
    done = start + timedelta(minutes=_work("check", pace, operations))
    parts.append(Stretch("check", start, done))
    return Timeline(pace, tuple(sorted(parts, key=lambda one: one.start)), done, "air" if clear > at else "restock")


def _work(part: str, pace: Pace, operations: Operations) -> float:
    record = next(one for one in operations.all(WorkTime) if one.part == part)
    return {"brisk": record.range[0], "usual": record.minutes, "slow": record.range[1]}[pace]

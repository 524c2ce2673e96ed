"""The clock of one entry when it opens: the unit's limit, and whether today's heat shortens it.

1. Only a prediction inside the model shortens; screening by the heat index gives no minutes.
2. A prediction needs a fresh reading of the room and the unit's own word on work and clothing; where one is missing,
   the unit's limit stands and the reason says so.
3. Gear that lets no vapour through lies outside the model: the unit's limit stands, whatever was read.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from vestry.heat.clock import Allowed, Shortening, allowed, shortenings
from vestry.heat.strain import Conditions, Outside, Reason, outside, predict
from vestry.trade.operations import Operations
from vestry.trade.operations_values import CheckInterval

Why = Literal["shortened", "not-shorter", "outside", "no-room", "no-reading", "old-reading", "no-gear", "not-reckoned"]
Ask = Callable[[Conditions], Sequence[Shortening] | None]


@dataclass(frozen=True)
class Gear:
    """How warm a procedure is, by the unit's own word.

    metabolic      W per square metre of the hardest task
    clothing       insulation in clo;  permeability  static moisture permeability index; both unread where impermeable
    impermeable    a suit or gown that lets no vapour through
    """

    metabolic: float
    clothing: float = 0.0
    permeability: float = 0.0
    impermeable: bool = False


@dataclass(frozen=True)
class Read:
    """What was read in a room: degrees Celsius, percent, m/s; `radiant` None: as the air."""

    air: float
    humidity: float
    speed: float
    at: datetime
    radiant: float | None = None


@dataclass(frozen=True)
class OpeningClock:
    """Minutes that the entry may last, what set them, and why heat did or did not shorten them.

    reasons    of `outside`: every reason of the model
    """

    allowed: Allowed
    why: Why
    reasons: tuple[Reason, ...] = ()


def conditions_of(read: Read, gear: Gear) -> Conditions:
    """What the model is asked. Nobody is taken as used to heat."""
    return Conditions(
        air=read.air,
        speed=read.speed,
        metabolic=gear.metabolic,
        clothing=gear.clothing,
        humidity=read.humidity,
        radiant=read.radiant,
        permeability=gear.permeability,
        impermeable=gear.impermeable,
    )


def holds_for(operations: Operations) -> timedelta:
    """For how long a reading of a room's heat counts."""
    return timedelta(hours=operations.one(CheckInterval, "heat-in-use").hours)


def opening_clock(
    policy: int,
    read: Read | None,
    gear: Gear | None,
    now: datetime,
    operations: Operations,
    *,
    room: bool = True,
    ask: Ask | None = None,
) -> OpeningClock:
    """The clock of an entry that opens now. ValueError as `allowed`.

    room   whether the entry's room is known
    ask    the limits that the model predicts, None while they are not known; may raise Outside. Left out: asked here
    """
    plain = allowed(policy)
    if gear is not None and gear.impermeable:
        return OpeningClock(plain, "outside", (Reason("impermeable", "clothing"),))
    if not room:
        return OpeningClock(plain, "no-room")
    if read is None:
        return OpeningClock(plain, "no-reading")
    if not timedelta() <= now - read.at <= holds_for(operations):
        return OpeningClock(plain, "old-reading")
    if gear is None:
        return OpeningClock(plain, "no-gear")
    conditions = conditions_of(read, gear)
    reasons = outside(conditions, operations)
    if reasons:
        return OpeningClock(plain, "outside", reasons)
    try:
        found = ask(conditions) if ask else shortenings(predict(conditions, operations))
    except Outside as refused:
        return OpeningClock(plain, "outside", refused.reasons)
    if found is None:
        return OpeningClock(plain, "not-reckoned")
    clock = allowed(policy, [replace(one, minutes=max(1, one.minutes)) for one in found])
    return OpeningClock(clock, "not-shorter" if clock.by == "policy" else "shortened")

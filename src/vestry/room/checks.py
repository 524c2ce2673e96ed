"""A reading of a room against its limits, and whether the next look at it is due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Literal

from vestry.trade.operations import Operations
from vestry.trade.operations_values import AirLimit, CheckInterval

RoomKind = Literal["isolation-new", "isolation-existing", "other"]
Measure = Literal["air-changes", "pressure"]
# A reading beyond these is a slip of the pen or of the sign, not a room.
PLAUSIBLE: dict[Measure, tuple[int, int]] = {"air-changes": (0, 200), "pressure": (-200, 200)}


class ReadingRefused(ValueError):
    """A reading that no room has; `.what` says what would be one."""

    def __init__(self, what: str) -> None:
        self.what = what
        super().__init__(what)


@dataclass(frozen=True)
class Checked:
    """A reading with the limit that holds for its room; `within` None where none does."""

    measure: Measure
    value: Fraction
    limit: AirLimit | None

    @property
    def within(self) -> bool | None:
        """Whether the limit is kept; the limit itself keeps it."""
        if self.limit is None:
            return None
        if self.limit.at_least is not None:
            return self.value >= Fraction(str(self.limit.at_least))
        return self.value <= Fraction(str(self.limit.at_most))


def checked(measure: Measure, value: Fraction, kind: RoomKind, operations: Operations) -> Checked:
    """One reading. Pressure is that of the room against the corridor: negative when air flows in. ReadingRefused."""
    low, high = PLAUSIBLE[measure]
    if not low <= value <= high:
        raise ReadingRefused(f"from {low} to {high}")
    limits = (one for one in operations.all(AirLimit) if one.measure == measure and kind in one.rooms)
    return Checked(measure, value, next(limits, None))


def due(last: datetime | None, now: datetime, operations: Operations) -> bool:
    """Whether a room in use has to be looked at again: no check yet, or the last one longer ago than the interval."""
    interval = operations.one(CheckInterval, "pressure-in-use")
    return last is None or now - last > timedelta(hours=interval.hours)

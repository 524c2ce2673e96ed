"""Powered units: what their events come to.

1. After use a unit is to be cleaned before it is used again.
2. A fault or a failed test takes it out of use. The same test passed later takes back the failed one; a repair takes
   back everything, and then the flow is to be checked anew.
3. Service, battery test and flow check hold for the unit's own months, else the standard ones. Never done: due.
4. After the last cleaning that the maker names it is taken out of use.
5. Events count in order of time, those of one moment in order of id, each once.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

from vestry.stock.values import PoweredUnit, UnitEvent
from vestry.trade.dates import months_after
from vestry.trade.standards import IntervalOf, Standards

NotReady = Literal[
    "to-be-cleaned", "out-of-use", "worn-out", "service-due", "battery-test-due", "flow-check-due", "retired"
]
CHECKS: tuple[tuple[str, IntervalOf, NotReady], ...] = (
    ("serviced", "unit-service", "service-due"),
    ("battery-tested", "battery-test", "battery-test-due"),
    ("flow-checked", "flow-check", "flow-check-due"),
)


@dataclass(frozen=True)
class UnitState:
    """A unit on a day. `why` empty: ready. `*_until`: the last days on which service and checks hold."""

    unit: PoweredUnit
    why: tuple[NotReady, ...]
    cleanings: int
    charges: int
    service_until: datetime.date | None
    battery_until: datetime.date | None
    flow_until: datetime.date | None
    battery_minutes: int

    @property
    def ready(self) -> bool:
        """Whether it may be worn."""
        return not self.why

    @property
    def until(self) -> datetime.date | None:
        """The last day on which it is ready if nothing is done to it; None: it is not ready."""
        ends = [one for one in (self.service_until, self.battery_until, self.flow_until) if one is not None]
        return min(ends) if self.ready else None


@dataclass
class _Now:
    """The state while events are gone through."""

    minutes: int
    dirty: bool = False
    retired: bool = False
    broken: set[str] = field(default_factory=set)
    last: dict[str, datetime.date] = field(default_factory=dict)
    cleanings: int = 0
    charges: int = 0

    def take(self, one: UnitEvent) -> None:
        match one.kind:
            case "used":
                self.dirty = True
            case "cleaned":
                self.dirty, self.cleanings = False, self.cleanings + 1
            case "charged":
                self.charges += 1
            case "fault":
                self.broken.add("fault")
            case "repaired":
                self.broken.clear()
                self.last.pop("flow-checked", None)
            case "retired":
                self.retired = True
            case "serviced" | "battery-tested" | "flow-checked":
                self.check(one)

    def check(self, one: UnitEvent) -> None:
        if not one.passed:
            self.broken.add(one.kind)
            return
        self.broken.discard(one.kind)
        self.last[one.kind] = datetime.date.fromisoformat(one.at[:10])
        if one.kind == "battery-tested" and one.minutes is not None:
            self.minutes = one.minutes


def unit_state(unit: PoweredUnit, events: Iterable[UnitEvent], on: datetime.date, standards: Standards) -> UnitState:
    """What the unit's events come to on a day. Events of other units are passed over."""
    mine = {one.id: one for one in events if one.unit == unit.id}.values()
    now = _Now(unit.battery_minutes)
    for one in sorted(mine, key=lambda one: (one.at, one.id)):
        now.take(one)
    own = (unit.service_months, unit.battery_months, unit.flow_months)
    ends: list[datetime.date | None] = []
    due: list[NotReady] = []
    for (kind, interval, says), months in zip(CHECKS, own, strict=True):
        done = now.last.get(kind)
        end = None if done is None else months_after(done, months or standards.months(interval, "unstated"))
        ends.append(end)
        if end is None or end < on:
            due.append(says)
    worn_out = unit.most_cleanings is not None and now.cleanings >= unit.most_cleanings
    marks: list[tuple[bool, NotReady]] = [
        (now.retired, "retired"),
        (bool(now.broken), "out-of-use"),
        (worn_out, "worn-out"),
        (now.dirty, "to-be-cleaned"),
    ]
    why = (*(says for holds, says in marks if holds), *due)
    return UnitState(unit, why, now.cleanings, now.charges, ends[0], ends[1], ends[2], now.minutes)

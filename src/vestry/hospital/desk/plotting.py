"""Places of numbers on small plots: one line for each row of a table, drawn by `desk/_line.html`.

All lines of a table share an axis. Lengths are in the units of the drawing, which is WIDTH wide.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import floor, log10

WIDTH, EDGE = 400.0, 8.0


@dataclass(frozen=True)
class Axis:
    """From `low` to `high`; logarithmic axes put what lies at or below `low` on their left edge."""

    low: float
    high: float
    log: bool = False

    def at(self, value: float) -> float:
        """Where a value lies, within the edges."""
        low, high, value = (self._scaled(one) for one in (self.low, self.high, value))
        share = min(max((value - low) / (high - low), 0.0), 1.0)
        return round(EDGE + share * (WIDTH - 2 * EDGE), 1)

    def _scaled(self, value: float) -> float:
        return log10(max(value, self.low)) if self.log else value

    def ticks(self) -> list[dict[str, object]]:
        """Where to draw which numbers."""
        return [{"x": self.at(value), "says": said(value)} for value in self._values()]

    def _values(self) -> list[float]:
        if self.log:
            first, last = round(log10(self.low)), round(log10(self.high))
            stride = max(1, -(-(last - first) // 4))
            return [10.0**power for power in range(first, last + 1, stride)]
        step = _step((self.high - self.low) / 4)
        lowest = -floor(-self.low / step + 1e-9)
        values = [number * step for number in range(lowest, lowest + 12)]
        return [value for value in values if self.low <= value <= self.high * (1 + 1e-9)]


def linear(values: Iterable[float], *, zero: bool = True) -> Axis:
    """An axis that holds these values, and nought."""
    every = [*values, *([0.0] if zero else [])]
    low, high = min(every, default=0.0), max(every, default=1.0)
    return Axis(low, high if high > low else low + 1.0)


def logarithmic(values: Iterable[float], lowest: float = 1e-9) -> Axis:
    """An axis of whole decades that holds these values as far as they lie above `lowest`."""
    every = [value for value in values if value > lowest]
    low = floor(log10(min(every))) if every else -3
    high = -floor(-log10(max(every))) if every else 0
    return Axis(10.0**low, 10.0 ** max(high, low + 1), log=True)


def line(axis: Axis, value: float, spans: Sequence[tuple[float, float]] = ()) -> dict[str, object]:
    """One line: where the dot lies, the spans about it, the widest first, and where the rule of nought lies.

    What lies below the axis has a hollow dot at its edge.
    """
    return {
        "width": WIDTH,
        "x": axis.at(value),
        "below": axis.log and value < axis.low,
        "spans": [(axis.at(low), round(max(axis.at(high) - axis.at(low), 0.5), 1)) for low, high in spans],
        "nought": axis.at(0.0) if axis.low <= 0 <= axis.high and not axis.log else None,
    }


def head(axis: Axis) -> dict[str, object]:
    """The axis, to be drawn above the lines."""
    return {"width": WIDTH, "ticks": axis.ticks()}


def said(value: float) -> str:
    """A number on an axis."""
    if value == 0 or 0.001 <= abs(value) < 100_000:
        return f"{value:,.10g}".replace("-", "−") if abs(value) < 1 else f"{value:,.6g}".replace("-", "−")
    power = round(log10(abs(value)))
    raised = str(power).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"10{raised}" if abs(value / 10**power - 1) < 1e-9 else f"{value:.1e}"


def _step(about: float) -> float:
    power = 10.0 ** floor(log10(about))
    return next(power * step for step in (1, 2, 5, 10) if power * step >= about * 0.999)

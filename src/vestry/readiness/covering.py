"""The forecast as the answer to "tonight?" takes it."""

from __future__ import annotations

from vestry.readiness.forecast_found import Forecast
from vestry.readiness.tonight import Cover


def cover_of(found: Forecast) -> Cover:
    """How long it lasts, and what is first to run out most often."""
    first = max(found.pools, key=lambda one: one.first.value, default=None)
    return Cover(
        asked=found.asked_hours,
        low=found.cover[0].value,
        middle=found.cover[2].value,
        high=found.cover[4].value,
        sustains=found.sustains.value,
        low_sustains=found.sustains.low,
        high_sustains=found.sustains.high,
        first=(first.item, first.size) if first and first.first.value else None,
        people_enough=found.people_enough,
        draws=found.draws,
        seed=found.seed,
    )

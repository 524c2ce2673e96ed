"""What a number of draws can say: shares, quantiles and means, each with how far more draws could move it."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor, sqrt
from typing import Any

import numpy as np
import numpy.typing as npt

from vestry.readiness.forecast_found import Mean, Quantile, Share

SURE = 1.959963984540054  # two-sided 95 in 100
AT = (0.05, 0.25, 0.5, 0.75, 0.95)
Draws = npt.NDArray[Any]


def share_of(hits: int, draws: int) -> Share:
    """A share with Wilson's interval (1927): honest at none and at all, where the plain one is a point."""
    if draws == 0:
        return Share(value=0, low=0, high=1)
    p, z2 = hits / draws, SURE * SURE
    middle = (p + z2 / (2 * draws)) / (1 + z2 / draws)
    half = SURE * sqrt(p * (1 - p) / draws + z2 / (4 * draws * draws)) / (1 + z2 / draws)
    return Share(value=p, low=0.0 if hits == 0 else middle - half, high=1.0 if hits == draws else middle + half)


def quantiles_of(values: Draws, at: Sequence[float] = AT, scale: float = 1.0) -> tuple[Quantile, ...]:
    """Quantiles as values that were drawn, the smallest with at least this share at or below it."""
    ordered = np.sort(values)
    return tuple(_quantile(ordered, q, scale) for q in at)


def _quantile(ordered: Draws, q: float, scale: float) -> Quantile:
    n = len(ordered)
    half = SURE * sqrt(n * q * (1 - q))

    def pick(rank: float) -> float:
        return float(ordered[min(n - 1, max(0, int(rank)))]) * scale

    return Quantile(at=q, value=pick(ceil(n * q) - 1), low=pick(floor(n * q - half) - 1), high=pick(ceil(n * q + half)))


def mean_of(values: Draws, scale: float = 1.0) -> Mean:
    """A mean and its standard error."""
    n = len(values)
    error = float(values.std(ddof=1)) / sqrt(n) if n > 1 else 0.0
    return Mean(value=float(values.mean()) * scale, error=error * scale)

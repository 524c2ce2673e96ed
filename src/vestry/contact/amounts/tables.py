"""Inverse tables: a law as its quantiles at 2,049 evenly spaced chances, read with one uniform and a straight line.

A table is drawn from some hundred times faster than a beta or gamma generator, and the same uniform gives the same
number. The price is the tail: within the outermost cell (1 in 2,048) values lie on a line, whose end is chosen so that
the mean of the cell is the law's.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import lgamma, log, log1p, sqrt
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from vestry.contact.amounts.chance import CELL_BITS, F64, LOW_BITS
from vestry.trade.law import Law

CELLS = 1 << CELL_BITS
POINTS = CELLS + 1
FINE = 256  # points at which the outermost cells are looked at


@lru_cache(maxsize=512)
def quantiles(law: Law) -> F64:
    """The law's quantiles at 0, 1/2048, ... 1, the two ends as said above. Read-only, 2,049 long."""
    within = (np.arange(FINE) + 0.5) / (FINE * CELLS)
    chances = np.concatenate([within, np.linspace(0.0, 1.0, POINTS)[1:-1], 1.0 - within[::-1]])
    found = np.maximum.accumulate(_SHAPES[law.kind](law, chances))
    inner = found[FINE:-FINE]
    low, high = law.support
    first = min(max(2 * found[:FINE].mean() - inner[0], low), inner[0])
    last = max(min(2 * found[-FINE:].mean() - inner[-1], high), inner[-1])
    values = np.concatenate([[first], inner, [last]])
    values.setflags(write=False)
    return values


def fractions(law: Law) -> F64:
    """A table of fractions or chances: what the law puts outside 0 to 1 lies on its border."""
    return np.clip(quantiles(law), 0.0, 1.0)


def factors(law: Law) -> F64:
    """What a cleaning leaves: 10 to the minus of a law of log10 reductions; a reduction below 0 counts as none."""
    left: F64 = np.power(10.0, -np.maximum(quantiles(law), 0.0))
    return left


def constant(value: float) -> F64:
    """The table of one value."""
    return np.full(POINTS, value)


def mean(table: F64) -> float:
    """The mean of what is drawn from a table (straight lines between its points)."""
    return float(((table[1:] + table[:-1]) / 2).mean())


def read(table: F64, short: npt.NDArray[np.uint32]) -> F64:
    """The values at these uniforms (whole numbers of 28 bits)."""
    cell = (short >> LOW_BITS).astype(np.intp)
    place = (short & ((1 << LOW_BITS) - 1)).astype(np.float64) * 2.0**-LOW_BITS
    low = table[cell]
    value: F64 = low + place * (table[cell + 1] - low)
    return value


def _sure(number: float | None) -> float:
    assert number is not None, "the law was checked when it was read"
    return number


# ---- the shapes -------------------------------------------------------------------------------------------------


def _fixed(law: Law, u: F64) -> F64:
    return np.full(u.shape, law.value)


def _uniform(law: Law, u: F64) -> F64:
    return _between(law, lambda x: x, u)


def _log_uniform(law: Law, u: F64) -> F64:
    values: F64 = np.exp(_between(law, log, u))
    return values


def _between(law: Law, scale: Callable[[float], float], u: F64) -> F64:
    low, high = scale(_sure(law.low)), scale(_sure(law.high))
    return low + (high - low) * u


def _triangular(law: Law, u: F64) -> F64:
    low, mode, high = _sure(law.low), _sure(law.mode), _sure(law.high)
    peak = (mode - low) / (high - low)
    rising = low + np.sqrt(u * (high - low) * (mode - low))
    falling = high - np.sqrt((1 - u) * (high - low) * (high - mode))
    return np.where(u < peak, rising, falling)


def _normal(law: Law, u: F64) -> F64:
    return _cut_normal(_sure(law.mean), _sure(law.sd), law.low, law.high, u)


def _log_normal(law: Law, u: F64) -> F64:
    low = log(law.low) if law.low else None
    high = log(law.high) if law.high is not None else None
    values: F64 = np.exp(_cut_normal(log(_sure(law.median)), log(_sure(law.gsd)), low, high, u))
    return values


def _cut_normal(mean_: float, sd: float, low: float | None, high: float | None, u: F64) -> F64:
    law = NormalDist(mean_, sd)
    below = 0.0 if low is None else law.cdf(low)
    upto = 1.0 if high is None else law.cdf(high)
    if upto - below < 1e-12:  # no mass left in double precision: all of it at the nearer border
        ends = [end for end in (low, high) if end is not None]
        return np.full(u.shape, min(ends, key=lambda end: abs(end - mean_)))
    chances = below + (upto - below) * u
    tiny = 1e-300
    values = np.array([law.inv_cdf(min(max(chance, tiny), 1 - 2.0**-53)) for chance in chances])
    return np.asarray(np.clip(values, -np.inf if low is None else low, np.inf if high is None else high))


def _beta(law: Law, u: F64) -> F64:
    a, b = _sure(law.alpha), _sure(law.beta)
    # A grid that is fine near both ends, where a shape below 1 is steep.
    line = np.linspace(-1.0, 1.0, 4001)
    spread = 60.0 / min(1.0, a, b)
    odds = np.sign(line) * (np.expm1(np.abs(line) * log1p(spread)))
    centre = log(a / b)
    x = 1.0 / (1.0 + np.exp(-np.clip(odds + centre, -700.0, 700.0)))
    chance = np.maximum.accumulate(incomplete_beta(a, b, x))
    kept = np.concatenate(([True], np.diff(chance) > 0))
    values = np.interp(u, chance[kept], x[kept])
    for _ in range(3):
        values = _newton(a, b, values, u)
    return values


def _newton(a: float, b: float, x: F64, u: F64) -> F64:
    inner = (x > 0) & (x < 1)
    safe = np.where(inner, x, 0.5)
    density = np.exp((a - 1) * np.log(safe) + (b - 1) * np.log1p(-safe) - _log_beta(a, b))
    better = safe - (incomplete_beta(a, b, safe) - u) / np.maximum(density, 1e-300)
    good = inner & (better > 0) & (better < 1) & (np.abs(better - safe) < 0.5 * np.minimum(safe, 1 - safe) + 1e-300)
    return np.where(good, better, x)


def _log_beta(a: float, b: float) -> float:
    return lgamma(a) + lgamma(b) - lgamma(a + b)


def incomplete_beta(a: float, b: float, x: F64) -> F64:
    """The regularised incomplete beta function, by its continued fraction (Abramowitz and Stegun 26.5.8)."""
    turn = x > (a + 1) / (a + b + 2)
    direct = np.where(turn, 0.0, _beta_fraction(a, b, np.where(turn, 0.0, x)))
    turned = np.where(turn, 1.0 - _beta_fraction(b, a, np.where(turn, 1.0 - x, 0.0)), 0.0)
    result: F64 = np.clip(np.where(turn, turned, direct), 0.0, 1.0)
    return result


def _beta_fraction(a: float, b: float, x: F64) -> F64:
    """The fraction by Lentz's method; converges for x below (a+1)/(a+b+2)."""
    inside = (x > 0) & (x < 1)
    safe = np.where(inside, x, 0.5 * (a + 1) / (a + b + 2))
    front = np.exp(a * np.log(safe) + b * np.log1p(-safe) - _log_beta(a, b)) / a
    c = np.ones_like(safe)
    d = 1.0 / _off_zero(1.0 - (a + b) * safe / (a + 1))
    total = d.copy()
    for m in range(1, 60 + int(3 * sqrt(max(a, b)))):
        even = m * (b - m) * safe / ((a + 2 * m - 1) * (a + 2 * m))
        d = 1.0 / _off_zero(1.0 + even * d)
        c = _off_zero(1.0 + even / c)
        total *= d * c
        odd = -(a + m) * (a + b + m) * safe / ((a + 2 * m) * (a + 2 * m + 1))
        d = 1.0 / _off_zero(1.0 + odd * d)
        c = _off_zero(1.0 + odd / c)
        step = d * c
        total *= step
        if np.all(np.abs(step - 1.0) < 1e-15):
            break
    return np.where(inside, front * total, np.where(x >= 1, 1.0, 0.0))


def _off_zero(x: F64) -> F64:
    return np.where(np.abs(x) < 1e-300, 1e-300, x)


_SHAPES: dict[str, Callable[[Law, F64], F64]] = {
    "fixed": _fixed,
    "uniform": _uniform,
    "log-uniform": _log_uniform,
    "triangular": _triangular,
    "beta": _beta,
    "normal": _normal,
    "log-normal": _log_normal,
}

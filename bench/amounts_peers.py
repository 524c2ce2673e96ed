"""The same plan in the same question, as one would write it with NumPy alone: what `bench.amounts` runs against.

Both peers do what the engine does (rules 1 to 6 of `vestry.contact.amounts`): the same operations in the same order,
the same events with the same chances (but that a hole beneath a hole is one like any other), a touch that hangs on an
event only in the lanes in which it happens, the highest and the last load of every reported surface. They differ in how
a parameter is drawn. A block is 4,096 lanes, the size at which NumPy is fastest here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from vestry.contact.amounts import Model
from vestry.contact.amounts.model import BINS, CLEAN, CONTACT, FRESH, LEVELS, TOO_SHORT
from vestry.contact.amounts.tables import CELLS, fractions
from vestry.trade.evidence import Evidence

F64 = npt.NDArray[np.float64]
LANES = 4096
Draw = Callable[[int, int], F64]


@dataclass(frozen=True)
class Run:
    """Sums over all draws, by reported surface: enough to see that two engines answer the same question."""

    end: F64
    peak: F64
    reached: F64
    parameters: int


def beta_draws(model: Model, evidence: Evidence, rng: np.random.Generator, *, joined: bool = False) -> Draw:
    """Each parameter by `Generator.beta`, with the mean and the spread of its law.

    A touch has two parameters a direction, efficiency and share of the face, as the evidence has them. `joined` draws
    their product as one beta, which no study states, to show what the peer gains by half the draws.
    """
    shapes = [_shapes(name, model.tables[row], evidence, joined) for row, name in enumerate(model.quantities)]

    def draw(quantity: int, count: int) -> F64:
        value = np.ones(count)
        for shape in shapes[quantity]:
            value *= shape.scale if shape.alpha is None else shape.scale * rng.beta(shape.alpha, shape.beta, count)
        return value

    return draw


@dataclass(frozen=True)
class _Shape:
    """`scale` times a beta; without `alpha` the scale alone, a parameter that does not vary."""

    scale: float
    alpha: float | None = None
    beta: float = 0.0


def _shapes(name: str, table: F64, evidence: Evidence, joined: bool) -> list[_Shape]:
    parts = name.split("*")
    if joined or len(parts) == 1 or any(part not in evidence.records for part in parts):
        return [_moments(table)]
    return [_moments(fractions(evidence.records[part].law)) for part in parts]


def _moments(table: F64) -> _Shape:
    """The beta of a table's mean and variance, between 0 and 1 or, for a load, 0 and the largest of the table."""
    scale = max(1.0, float(table.max()))
    fine = (table[1:] + table[:-1]) / 2 / scale
    mean, variance = float(fine.mean()), float(fine.var())
    weight = mean * (1 - mean) / variance - 1 if variance > 1e-18 else 0.0
    return _Shape(mean * scale) if weight <= 0 else _Shape(scale, mean * weight, (1 - mean) * weight)


def table_draws(model: Model, rng: np.random.Generator) -> Draw:
    """Each parameter from the engine's own inverse tables, with uniforms of a NumPy Generator."""

    def draw(quantity: int, count: int) -> F64:
        table = model.tables[quantity]
        at = rng.random(count) * CELLS
        cell = at.astype(np.intp)
        low = table[cell]
        value: F64 = low + (at - cell) * (table[cell + 1] - low)
        return value

    return draw


def run(model: Model, draws: int, rng: np.random.Generator, draw: Draw, level: float) -> Run:
    """So many draws through a model; `level` is the load that counts as reached."""
    r = len(model.reported)
    end, peak, reached, drawn = np.zeros(r), np.zeros(r), np.zeros(r), 0
    for lo in range(0, draws, LANES):
        n = min(LANES, draws - lo)
        last, highest, count = _block(model, n, rng, draw)
        end += last.sum(axis=1)
        peak += highest.sum(axis=1)
        reached += (highest >= level).sum(axis=1)
        drawn += count
    return Run(end / draws, peak / draws, reached / draws, drawn)


def _block(model: Model, n: int, rng: np.random.Generator, draw: Draw) -> tuple[F64, F64, int]:
    happened = _events(model, n, rng)
    alike = {row: draw(row, n) for row in np.flatnonzero(model.together > 0)}
    drawn = n * len(alike)

    def value(quantity: int, lanes: npt.NDArray[np.intp] | slice, count: int) -> F64:
        nonlocal drawn
        if quantity in alike:
            return alike[quantity][lanes]
        drawn += count
        return draw(quantity, count)

    state = np.zeros((len(model.surfaces), n))
    for number, surface in enumerate(model.start):
        state[surface] = value(int(model.start_quantity[number]), slice(None), n) * model.start_scale[number]
    rows = {int(surface): row for row, surface in enumerate(model.reported)}
    peak = state[model.reported].copy()
    for op, verb in enumerate(model.verb):
        a, b, event = int(model.a[op]), int(model.b[op]), int(model.event[op])
        if verb == FRESH:
            state[a] = 0.0
            continue
        if verb == CLEAN:
            left = value(int(model.onward[op]), slice(None), n)
            if event >= 0 and happened[event].any():
                short = np.flatnonzero(happened[event] == TOO_SHORT)
                left = np.where(happened[event] != 0, 1.0, left)
                if model.back[op] >= 0 and short.size:
                    left[short] = value(int(model.back[op]), short, short.size)
            state[a] *= left
            continue
        lanes: npt.NDArray[np.intp] | slice = slice(None)
        count = n
        if event >= 0:
            lanes = np.flatnonzero(happened[event])
            count = lanes.size
            if count == 0:
                continue
        there = np.minimum(value(int(model.onward[op]), lanes, count) * model.onward_scale[op], 1.0)
        from_a, from_b = state[a, lanes], state[b, lanes]
        moved = there * from_a
        if verb == CONTACT:
            again = np.minimum(value(int(model.back[op]), lanes, count) * model.back_scale[op], 1.0)
            both = np.maximum(there + again, 1.0)
            moved = there / both * from_a - again / both * from_b
        for surface, now in ((a, from_a - moved), (b, from_b + moved)):
            state[surface, lanes] = now
            if surface in rows:
                peak[rows[surface], lanes] = np.maximum(peak[rows[surface], lanes], now)
    return state[model.reported], peak, drawn


def _events(model: Model, n: int, rng: np.random.Generator) -> npt.NDArray[np.uint8]:
    """What becomes of each event; the run-level effect and the chance's own law as in the engine."""
    bins = rng.integers(0, BINS, (2, n))
    levels = rng.integers(0, LEVELS, (len(model.chance_ids), n))
    happened = np.zeros((len(model.events), n), dtype=np.uint8)
    for number in range(len(model.events)):
        u = rng.random(n)
        p = _chance(model, int(model.going[number]), levels, bins)
        happened[number] = u < p
        if model.short[number] >= 0:
            both = p + _chance(model, int(model.short[number]), levels, bins)
            happened[number] = np.where(u < p, 1, np.where(u < both, TOO_SHORT, 0))
    return happened


def _chance(model: Model, row: int, levels: npt.NDArray[np.int64], bins: npt.NDArray[np.int64]) -> F64:
    effect = int(model.effect[row])
    picked: F64 = model.chances[row, levels[row], bins[effect] if effect >= 0 else 0]
    return picked

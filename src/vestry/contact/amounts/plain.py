"""The engine in NumPy: the reference. One row a surface, one lane a draw; a block of lanes at a time."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from vestry.contact.amounts.chance import F64, LOW_BITS, U64, U_BITS, bits
from vestry.contact.amounts.model import CLEAN, CONTACT, DRAWN, FRESH, LEFT_OUT, LEVELS, NEVER, TOO_SHORT

U32 = npt.NDArray[np.uint32]
U8 = npt.NDArray[np.uint8]
I32 = npt.NDArray[np.int32]
I8 = npt.NDArray[np.int8]

_MASK = np.uint64((1 << U_BITS) - 1)
_PLACE = np.uint64((1 << LOW_BITS) - 1)
LEVEL_SHIFT = U_BITS - (LEVELS.bit_length() - 1)


def common(starts: U64, steps: U64, out: U32) -> None:
    """One uniform of 28 bits for each key and lane: what is alike all through a run."""
    for row in range(len(starts)):
        out[row] = bits(starts[row], steps) >> np.uint64(64 - U_BITS)


def happen(
    starts: U64,
    steps: U64,
    going: I32,
    short: I32,
    mode: I8,
    chances: F64,
    levels: U32,
    effect: I32,
    bins: I32,
    out: U8,
) -> None:
    """What becomes of each event in each lane: 0 nothing, LEFT_OUT it happens, TOO_SHORT."""
    for number in range(len(starts)):
        if mode[number] != DRAWN:
            out[number] = 0 if mode[number] == NEVER else mode[number]
            continue
        u = (bits(starts[number], steps) >> np.uint64(11)).astype(np.float64) * 2.0**-53
        p = _chance(going[number], chances, levels, effect, bins)
        out[number] = u < p
        if short[number] >= 0:
            both = p + _chance(short[number], chances, levels, effect, bins)
            out[number] = np.where(u < p, LEFT_OUT, np.where(u < both, TOO_SHORT, 0))


def _chance(row: int, chances: F64, levels: U32, effect: I32, bins: I32) -> F64:
    level = (levels[row] >> LEVEL_SHIFT).astype(np.intp)
    bin_ = bins[effect[row]] if effect[row] >= 0 else np.zeros(level.shape, dtype=np.intp)
    picked: F64 = chances[row, level, bin_]
    return picked


def load(
    starts: U64,
    steps: U64,
    surface: I32,
    quantity: I32,
    scale: F64,
    tables: F64,
    shared: U32,
    threshold: U64,
    state: F64,
) -> None:
    """What is on each surface on arrival."""
    for number in range(len(surface)):
        onward, _ = _two(starts[number], steps, quantity[number], -1, shared, threshold)
        state[surface[number]] = _read(tables[quantity[number]], onward) * scale[number]


def run(
    lo: int, hi: int, starts: U64, steps: U64, verb: I32, a: I32, b: I32, event: I32, onward: I32, back: I32,
    onward_scale: F64, back_scale: F64, tables: F64, shared: U32, threshold: U64, on: U8, report: I32,
    state: F64, peak: F64,
) -> None:  # fmt: skip
    """Operations lo to hi, in place. `report[surface]` is its row in `peak`, -1 for none."""
    for op in range(lo, hi):
        if verb[op] == FRESH:
            state[a[op]] = 0.0
            continue
        if verb[op] == CLEAN:
            _clean(op, starts, steps, a, event, onward, back, tables, shared, threshold, on, state)
            continue
        lanes: slice | npt.NDArray[np.intp] = slice(None)
        if event[op] >= 0:
            lanes = np.flatnonzero(on[event[op]])
            if lanes.size == 0:
                continue
        u_onward, u_back = _two(starts[op], steps[lanes], onward[op], back[op], shared[:, lanes], threshold)
        there = np.minimum(_read(tables[onward[op]], u_onward) * onward_scale[op], 1.0)
        from_a, from_b = state[a[op], lanes], state[b[op], lanes]
        if verb[op] == CONTACT:
            again = np.minimum(_read(tables[back[op]], u_back) * back_scale[op], 1.0)
            both = there + again
            over = both > 1.0
            there = np.where(over, there / both, there)
            again = np.where(over, again / both, again)
            moved = there * from_a - again * from_b
        else:
            moved = there * from_a
        _keep(a[op], lanes, from_a - moved, report, state, peak)
        _keep(b[op], lanes, from_b + moved, report, state, peak)


def _keep(surface: int, lanes: slice | npt.NDArray[np.intp], value: F64, report: I32, state: F64, peak: F64) -> None:
    state[surface, lanes] = value
    row = report[surface]
    if row >= 0:
        peak[row, lanes] = np.maximum(peak[row, lanes], value)


def _clean(
    op: int, starts: U64, steps: U64, a: I32, event: I32, onward: I32, back: I32, tables: F64, shared: U32,
    threshold: U64, on: U8, state: F64,
) -> None:  # fmt: skip
    u_well, u_short = _two(starts[op], steps, onward[op], back[op], shared, threshold)
    left = _read(tables[onward[op]], u_well)
    if event[op] >= 0:
        went = on[event[op]]
        short = _read(tables[back[op]], u_short) if back[op] >= 0 else 1.0
        left = np.where(went == 0, left, np.where(went == TOO_SHORT, short, 1.0))
    state[a[op]] *= left


def _two(
    start: np.uint64, steps: U64, onward: int, back: int, shared: U32, threshold: U64
) -> tuple[npt.NDArray[np.uint64], npt.NDArray[np.uint64]]:
    """Two uniforms of 28 bits: the touch's own, or with the chance threshold/256 of its quantity the run's."""
    h = bits(start, steps)
    choice = h >> np.uint64(56)
    first = (h >> np.uint64(U_BITS)) & _MASK
    second = h & _MASK
    first = np.where(choice < threshold[onward], shared[onward], first)
    if back >= 0:
        second = np.where(choice < threshold[back], shared[back], second)
    return first, second


def _read(table: F64, short: npt.NDArray[np.uint64]) -> F64:
    cell = (short >> np.uint64(LOW_BITS)).astype(np.intp)
    place = (short & _PLACE).astype(np.float64) * 2.0**-LOW_BITS
    low = table[cell]
    value: F64 = low + place * (table[cell + 1] - low)
    return value

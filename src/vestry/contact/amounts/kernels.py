"""The same engine lane by lane, so that Numba can compile it (`engine`). Undecorated: it runs, slowly, without.

Every line does the arithmetic of `plain` in the same order, so that the numbers are equal bit for bit. Rows are sliced
before they are looped over: with run-time bounds on a two-dimensional index the compiler cannot vectorise.
"""

from __future__ import annotations

from typing import Any

import numpy as np

_FIRST, _SECOND = np.uint64(0xBF58476D1CE4E5B9), np.uint64(0x94D049BB133111EB)
_S30, _S27, _S31, _S11 = np.uint64(30), np.uint64(27), np.uint64(31), np.uint64(11)
_S28, _S36, _S56, _S17 = np.uint64(28), np.uint64(36), np.uint64(56), np.uint64(17)
_ONE = np.uint64(1)
_MASK28, _MASK17 = np.uint64((1 << 28) - 1), np.uint64((1 << 17) - 1)


def common_lanes(starts: Any, steps: Any, out: Any) -> None:
    """`plain.common`."""
    for row in range(starts.shape[0]):
        start = starts[row]
        here = out[row]
        for lane in range(steps.shape[0]):
            z = start + steps[lane]
            z = (z ^ (z >> _S30)) * _FIRST
            z = (z ^ (z >> _S27)) * _SECOND
            z = z ^ (z >> _S31)
            here[lane] = np.uint32(z >> _S36)


def happen_lanes(
    starts: Any,
    steps: Any,
    going: Any,
    short: Any,
    mode: Any,
    chances: Any,
    levels: Any,
    effect: Any,
    bins: Any,
    out: Any,
) -> None:
    """`plain.happen`."""
    for number in range(starts.shape[0]):
        here = out[number]
        if mode[number] != 0:
            forced = np.uint8(0 if mode[number] == -1 else mode[number])
            for lane in range(steps.shape[0]):
                here[lane] = forced
            continue
        start = starts[number]
        row = going[number]
        level = levels[row]
        cube = chances[row]
        whose = effect[row]
        bin_row = bins[whose if whose >= 0 else 0]
        second = short[number]
        for lane in range(steps.shape[0]):
            z = start + steps[lane]
            z = (z ^ (z >> _S30)) * _FIRST
            z = (z ^ (z >> _S27)) * _SECOND
            z = z ^ (z >> _S31)
            u = np.float64(z >> _S11) * 2.0**-53
            bin_ = bin_row[lane] if whose >= 0 else 0
            p = cube[level[lane] >> 22, bin_]
            went = 1 if u < p else 0
            if second >= 0 and went == 0:
                other = effect[second]
                bin_ = bins[other, lane] if other >= 0 else 0
                if u < p + chances[second, levels[second, lane] >> 22, bin_]:
                    went = 2
            here[lane] = went


def load_lanes(
    starts: Any,
    steps: Any,
    surface: Any,
    quantity: Any,
    scale: Any,
    tables: Any,
    shared: Any,
    threshold: Any,
    state: Any,
) -> None:
    """`plain.load`."""
    for number in range(surface.shape[0]):
        start = starts[number]
        row = quantity[number]
        table = tables[row]
        alike = shared[row]
        often = threshold[row]
        here = state[surface[number]]
        times = scale[number]
        for lane in range(steps.shape[0]):
            z = start + steps[lane]
            z = (z ^ (z >> _S30)) * _FIRST
            z = (z ^ (z >> _S27)) * _SECOND
            z = z ^ (z >> _S31)
            u = np.uint64(alike[lane]) if (z >> _S56) < often else (z >> _S28) & _MASK28
            cell = np.int64(u >> _S17)
            low = table[cell]
            here[lane] = (low + np.float64(u & _MASK17) * 2.0**-17 * (table[cell + 1] - low)) * times


def run_lanes(
    lo: Any, hi: Any, starts: Any, steps: Any, verb: Any, a: Any, b: Any, event: Any, onward: Any, back: Any,
    onward_scale: Any, back_scale: Any, tables: Any, shared: Any, threshold: Any, on: Any, report: Any,
    state: Any, peak: Any,
) -> None:  # fmt: skip
    """`plain.run`. What happens always runs over all lanes without a branch; what happens with an event, over the
    lanes of its list, which is made once for all touches of the event."""
    lanes = steps.shape[0]
    listed = np.empty((on.shape[0], lanes), dtype=np.int32)
    counts = np.full(on.shape[0], -1, dtype=np.int64)
    for op in range(lo, hi):
        row_a = state[a[op]]
        if verb[op] == 3:
            for lane in range(lanes):
                row_a[lane] = 0.0
            continue
        start = starts[op]
        first = onward[op]
        second = back[op] if back[op] >= 0 else first
        table, alike, often = tables[first], shared[first], threshold[first]
        table2, alike2, often2 = tables[second], shared[second], threshold[second]
        which = event[op]
        if which >= 0 and counts[which] < 0:
            went = on[which]
            picked = listed[which]
            count = 0
            for lane in range(lanes):
                picked[count] = lane
                count += 1 if went[lane] != 0 else 0
            counts[which] = count
        if verb[op] == 2:
            if which < 0 or counts[which] == 0:
                for lane in range(lanes):
                    z = start + steps[lane]
                    z = (z ^ (z >> _S30)) * _FIRST
                    z = (z ^ (z >> _S27)) * _SECOND
                    z = z ^ (z >> _S31)
                    u = np.uint64(alike[lane]) if (z >> _S56) < often else (z >> _S28) & _MASK28
                    cell = u >> _S17
                    low = table[cell]
                    row_a[lane] *= low + np.float64(u & _MASK17) * 2.0**-17 * (table[cell + _ONE] - low)
                continue
            went = on[which]
            has_short = back[op] >= 0
            for lane in range(lanes):
                how = went[lane]
                if how == 1 or (how == 2 and not has_short):
                    continue
                z = start + steps[lane]
                z = (z ^ (z >> _S30)) * _FIRST
                z = (z ^ (z >> _S27)) * _SECOND
                z = z ^ (z >> _S31)
                choice = z >> _S56
                if how == 2:
                    u = np.uint64(alike2[lane]) if choice < often2 else z & _MASK28
                    cell = u >> _S17
                    low = table2[cell]
                    row_a[lane] *= low + np.float64(u & _MASK17) * 2.0**-17 * (table2[cell + _ONE] - low)
                else:
                    u = np.uint64(alike[lane]) if choice < often else (z >> _S28) & _MASK28
                    cell = u >> _S17
                    low = table[cell]
                    row_a[lane] *= low + np.float64(u & _MASK17) * 2.0**-17 * (table[cell + _ONE] - low)
            continue
        row_b = state[b[op]]
        scale, scale2 = onward_scale[op], back_scale[op]
        both_ways = verb[op] == 0
        if which >= 0:
            picked = listed[which]
            count = counts[which]
            for place in range(count):
                lane = picked[place]
                z = start + steps[lane]
                z = (z ^ (z >> _S30)) * _FIRST
                z = (z ^ (z >> _S27)) * _SECOND
                z = z ^ (z >> _S31)
                choice = z >> _S56
                u = np.uint64(alike[lane]) if choice < often else (z >> _S28) & _MASK28
                cell = u >> _S17
                low = table[cell]
                there = min((low + np.float64(u & _MASK17) * 2.0**-17 * (table[cell + _ONE] - low)) * scale, 1.0)
                from_a, from_b = row_a[lane], row_b[lane]
                if both_ways:
                    u = np.uint64(alike2[lane]) if choice < often2 else z & _MASK28
                    cell = u >> _S17
                    low = table2[cell]
                    again = min((low + np.float64(u & _MASK17) * 2.0**-17 * (table2[cell + _ONE] - low)) * scale2, 1.0)
                    both = there + again
                    if both > 1.0:
                        there = there / both
                        again = again / both
                    moved = there * from_a - again * from_b
                else:
                    moved = there * from_a
                row_a[lane] = from_a - moved
                row_b[lane] = from_b + moved
            if report[a[op]] >= 0:
                highest = peak[report[a[op]]]
                for place in range(count):
                    lane = picked[place]
                    highest[lane] = max(highest[lane], row_a[lane])
            if report[b[op]] >= 0:
                highest = peak[report[b[op]]]
                for place in range(count):
                    lane = picked[place]
                    highest[lane] = max(highest[lane], row_b[lane])
            continue
        if both_ways:
            for lane in range(lanes):
                z = start + steps[lane]
                z = (z ^ (z >> _S30)) * _FIRST
                z = (z ^ (z >> _S27)) * _SECOND
                z = z ^ (z >> _S31)
                choice = z >> _S56
                u = np.uint64(alike[lane]) if choice < often else (z >> _S28) & _MASK28
                cell = u >> _S17
                low = table[cell]
                there = min((low + np.float64(u & _MASK17) * 2.0**-17 * (table[cell + _ONE] - low)) * scale, 1.0)
                u = np.uint64(alike2[lane]) if choice < often2 else z & _MASK28
                cell = u >> _S17
                low = table2[cell]
                again = min((low + np.float64(u & _MASK17) * 2.0**-17 * (table2[cell + _ONE] - low)) * scale2, 1.0)
                both = max(there + again, 1.0)  # divided by 1 a number stays what it is, bit for bit
                from_a, from_b = row_a[lane], row_b[lane]
                moved = there / both * from_a - again / both * from_b
                row_a[lane] = from_a - moved
                row_b[lane] = from_b + moved
        else:
            for lane in range(lanes):
                z = start + steps[lane]
                z = (z ^ (z >> _S30)) * _FIRST
                z = (z ^ (z >> _S27)) * _SECOND
                z = z ^ (z >> _S31)
                u = np.uint64(alike[lane]) if (z >> _S56) < often else (z >> _S28) & _MASK28
                cell = u >> _S17
                low = table[cell]
                there = min((low + np.float64(u & _MASK17) * 2.0**-17 * (table[cell + _ONE] - low)) * scale, 1.0)
                from_a, from_b = row_a[lane], row_b[lane]
                moved = there * from_a
                row_a[lane] = from_a - moved
                row_b[lane] = from_b + moved
        if report[a[op]] >= 0:
            highest = peak[report[a[op]]]
            for lane in range(lanes):
                highest[lane] = max(highest[lane], row_a[lane])
        if report[b[op]] >= 0:
            highest = peak[report[b[op]]]
            for lane in range(lanes):
                highest[lane] = max(highest[lane], row_b[lane])

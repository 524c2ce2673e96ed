"""Chance that depends on the seed and on what is drawn, and on nothing else.

A number is a function of (seed, stream, draw): the stream names what is drawn by its content (an event, a touch of a
step), the draw is the lane. So the order in which numbers are asked for, the size of blocks and the number of threads
change nothing, and two sequences that share a touch share its numbers (common random numbers).

The function is the finaliser of SplitMix64 (Steele, Lea, Flood 2014, "Fast splittable pseudorandom number generators")
over a Weyl sequence whose start is the stream's key.
"""

from __future__ import annotations

from hashlib import blake2b

import numpy as np
import numpy.typing as npt

U64 = npt.NDArray[np.uint64]
F64 = npt.NDArray[np.float64]

GOLDEN = 0x9E3779B97F4A7C15
FIRST, SECOND = 0xBF58476D1CE4E5B9, 0x94D049BB133111EB
MASK64 = (1 << 64) - 1
CELL_BITS = 11
U_BITS = 28  # a touch takes two uniforms of 28 bits and a choice of 8 bits from one number of 64 bits
LOW_BITS = U_BITS - CELL_BITS


def mix(number: int) -> int:
    """The finaliser on one whole number of 64 bits."""
    z = number & MASK64
    z = ((z ^ (z >> 30)) * FIRST) & MASK64
    z = ((z ^ (z >> 27)) * SECOND) & MASK64
    return z ^ (z >> 31)


def key(seed: int, stream: str) -> int:
    """Where the Weyl sequence of this stream starts: 64 bits from the seed and the stream's name."""
    named = int.from_bytes(blake2b(stream.encode(), digest_size=8).digest(), "little")
    return mix(mix(seed ^ GOLDEN) ^ named)


def keys(seed: int, streams: tuple[str, ...]) -> U64:
    """The keys of many streams."""
    return np.array([key(seed, stream) for stream in streams], dtype=np.uint64)


def weyl(draws: U64) -> U64:
    """The step of each draw along a Weyl sequence; add a key and finalise."""
    return (draws + np.uint64(1)) * np.uint64(GOLDEN)


def bits(start: np.uint64, steps: U64) -> U64:
    """64 random bits a draw. `start` is a key, `steps` come from `weyl`."""
    z = start + steps
    z = (z ^ (z >> np.uint64(30))) * np.uint64(FIRST)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(SECOND)
    return z ^ (z >> np.uint64(31))


def uniform(start: np.uint64, steps: U64) -> F64:
    """Uniform in [0, 1), 53 bits."""
    return (bits(start, steps) >> np.uint64(11)).astype(np.float64) * 2.0**-53


def short_uniform(start: np.uint64, steps: U64) -> npt.NDArray[np.uint32]:
    """A uniform as a whole number of 28 bits: 11 for the cell of a table, 17 for the place within it."""
    return (bits(start, steps) >> np.uint64(64 - U_BITS)).astype(np.uint32)

"""What draws add up to: chances, means and quantiles with their Monte Carlo error, in memory that does not grow.

Batches are added in order, and a batch is always the same draws, so that sums are the same on every machine setting.
Quantiles are read from a histogram of fiftieths of a decade.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
import numpy.typing as npt

from vestry.contact.amounts.chance import F64
from vestry.contact.amounts.limits import Limits
from vestry.contact.amounts.model import Model
from vestry.contact.amounts.simulate import Outcome

LOWEST, HIGHEST, PER_DECADE = -14, 4, 50
CELLS = (HIGHEST - LOWEST) * PER_DECADE
WHENS = ("ever", "at-end")
QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95, 0.99)


@dataclass(frozen=True)
class Estimate:
    """A number and its Monte Carlo standard error."""

    value: float
    error: float


@dataclass(frozen=True)
class QuantileFound:
    """A quantile relative to the source, with its 95 percent interval by ranks."""

    at: float
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Reaching:
    """What reaches one surface, or (`surface` None) all of an endpoint class: its chances, mean and quantiles.

    chances     limit -> chance that it is reached; of a class, that any of its surfaces reaches it
    mean        relative to the source; of a class, the sum over its surfaces
    any         chance that anything at all is there
    """

    endpoint: str
    surface: str | None
    when: str
    chances: dict[str, Estimate]
    any: Estimate
    mean: Estimate
    quantiles: tuple[QuantileFound, ...]


class Tally:
    """Sums over outcomes. Surfaces of `leave_out` (what the room loads directly) stay out of their class."""

    def __init__(self, model: Model, limits: Limits, leave_out: frozenset[str] = frozenset()) -> None:
        self.names, self.limits = model.reported_names, limits
        self.classes = tuple(dict.fromkeys(model.classes))
        self.members = {
            kind: np.array(
                [
                    row
                    for row, (name, of) in enumerate(zip(self.names, model.classes, strict=True))
                    if of == kind and name not in leave_out
                ],
                dtype=np.intp,
            )
            for kind in self.classes
        }
        self.class_of = model.classes
        rows = len(self.names) + len(self.classes)
        self.draws = 0
        self.exceeded = np.zeros((2, len(limits.limits), rows), dtype=np.int64)
        self.sums = np.zeros((2, 2, rows))
        self.counts = np.zeros((2, rows, CELLS + 2), dtype=np.int64)
        self.events = np.zeros(len(model.events), dtype=np.int64)
        self.left = 0

    def add(self, outcome: Outcome) -> None:
        """One batch."""
        self.draws += len(outcome.draws)
        self.events += (outcome.happened != 0).sum(axis=1)
        self.left += int((outcome.left_at >= 0).sum())
        source = np.where(outcome.source > 0, outcome.source, 1.0)
        drawn = self.limits.drawn(outcome.draws)
        for when, loads in enumerate((outcome.peak, outcome.end)):
            totals = np.vstack([loads, *(loads[rows].sum(axis=0, keepdims=True) for rows in self.members.values())])
            for number in range(len(self.limits.limits)):
                over = drawn.exceeded(loads, number)
                flags = [*over, *(over[rows].any(axis=0) for rows in self.members.values())]
                self.exceeded[when, number] += np.array([flag.sum() for flag in flags])
            share = totals / source
            self.sums[when, 0] += share.sum(axis=1)
            self.sums[when, 1] += (share * share).sum(axis=1)
            self._count(when, share)

    def _count(self, when: int, share: F64) -> None:
        with np.errstate(divide="ignore"):
            place = np.floor((np.log10(share) - LOWEST) * PER_DECADE)
        cell = np.where(share > 0, np.clip(place, 0, CELLS - 1) + 1, 0).astype(np.int64)
        for row in range(len(share)):
            self.counts[when, row] += np.bincount(cell[row], minlength=CELLS + 2)

    def reaching(self) -> tuple[Reaching, ...]:
        """Everything, classes first."""
        rows = [(kind, None) for kind in self.classes] + [
            (kind, name) for kind, name in zip(self.class_of, self.names, strict=True)
        ]
        places = [len(self.names) + n for n in range(len(self.classes))] + list(range(len(self.names)))
        return tuple(
            self._one(kind, name, when, place)
            for when in range(2)
            for (kind, name), place in zip(rows, places, strict=True)
        )

    def _one(self, kind: str, name: str | None, when: int, row: int) -> Reaching:
        n = max(self.draws, 1)
        mean = float(self.sums[when, 0, row]) / n
        variance = max(float(self.sums[when, 1, row]) / n - mean * mean, 0.0)
        there = n - int(self.counts[when, row, 0])
        return Reaching(
            endpoint=kind,
            surface=name,
            when=WHENS[when],
            chances={
                one.name: proportion(int(self.exceeded[when, number, row]), n)
                for number, one in enumerate(self.limits.limits)
            },
            any=proportion(there, n),
            mean=Estimate(mean, sqrt(variance / n)),
            quantiles=tuple(self._quantile(when, row, at, n) for at in QUANTILES),
        )

    def _quantile(self, when: int, row: int, at: float, n: int) -> QuantileFound:
        spread = 1.96 * sqrt(at * (1 - at) / n)
        running = np.cumsum(self.counts[when, row])
        return QuantileFound(at, *(_at(running, n * min(max(p, 0.0), 1.0)) for p in (at, at - spread, at + spread)))


def _at(running: npt.NDArray[np.int64], rank: float) -> float:
    cell = int(np.searchsorted(running, max(rank, 1.0)))
    return 0.0 if cell == 0 else float(10.0 ** (LOWEST + (min(cell, CELLS) - 0.5) / PER_DECADE))


def proportion(count: int, n: int) -> Estimate:
    """A share and its standard error, that of two more seen and two more not (Agresti and Coull): never nought."""
    share = count / n
    near = (count + 2) / (n + 4)
    return Estimate(share, sqrt(near * (1 - near) / (n + 4)))

"""Context: who watches and reads aloud, how long ago it was practised, how long worn, what the unit counted.

It shifts the odds of slips and omissions by published or judged ratios; the unit's own counts then move the rate by a
beta-binomial update. Every ratio is a record of the evidence.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from vestry.contact.amounts.chance import F64
from vestry.contact.amounts.tables import CELLS, POINTS, quantiles
from vestry.trade.evidence import Evidence, EvidenceRecord, NoEvidence
from vestry.trade.law import Law

Counts = Mapping[str, tuple[int, int]]


@dataclass(frozen=True)
class Context:
    """The circumstances of a pass.

    observer, read_aloud    somebody watches every step; somebody reads every step aloud
    trained                 taught and checked; False: routine practice
    months                  since this was last practised
    minutes                 in the ensemble when doffing begins
    climate                 `hot`, `cool`, or not known
    soil                    `blood` where what is on gloves and surfaces is visible blood
    wetness                 of what is on the faces; None: as the presentation says
    counts                  what the unit recorded: `act:item:technique:slip`, or `slip`, `omission` for all of them, to
                            (deviations, occasions), under these very circumstances
    """

    observer: bool = True
    read_aloud: bool = True
    trained: bool = True
    months: float = 0.0
    minutes: float = 0.0
    climate: Literal["hot", "cool"] | None = None
    soil: Literal["none", "blood"] = "none"
    wetness: Literal["wet", "dry", "aerosol"] | None = None
    counts: Counts = field(default_factory=dict)

    def factors(self) -> tuple[dict[str, object], ...]:
        """The questions whose answers multiply the odds of a slip."""
        asked: list[dict[str, object]] = []
        if not self.observer:
            asked.append({"factor": "observer-absent"})
        if not self.read_aloud:
            asked.append({"factor": "not-read-aloud"})
        if not self.trained:
            asked.append({"factor": "untrained"})
        asked.append({"factor": "months-since-practice", "months": self.months})
        asked.append({"factor": "minutes-worn", "minutes": self.minutes, "climate": self.climate})
        return tuple(asked)


def multipliers(context: Context, evidence: Evidence) -> tuple[EvidenceRecord, ...]:
    """The odds ratios that this context asks for; those that are 1 for certain are left out."""
    found = []
    for asked in context.factors():
        try:
            record = evidence.find("slip-multiplier", **asked)
        except NoEvidence:
            continue
        if record.law != Law(kind="fixed", value=1.0):
            found.append(record)
    return tuple(found)


def with_odds(chances: F64, ratios: tuple[Law, ...]) -> F64:
    """The table of a chance whose odds are multiplied by these uncertain ratios, each independent of the others."""
    for law in ratios:
        table = quantiles(law)
        chances = combined(chances, table, _times_odds)
    return chances


def _times_odds(chance: F64, ratio: F64) -> F64:
    odds: F64 = chance / np.maximum(1.0 - chance, 1e-300) * ratio
    return odds / (1.0 + odds)


def combined(one: F64, other: F64, how: object) -> F64:
    """The table of a function of two quantities that are drawn independently: sorted values over a grid of both.

    `how` takes two arrays and gives one. A table of one value is not gridded, so that nothing is lost there.
    """
    assert callable(how)
    if np.ptp(one) == 0.0 or np.ptp(other) == 0.0:
        exact: F64 = np.sort(how(one, other))
        return exact
    values = np.sort(how(_middles(one, 256)[:, None], _middles(other, 256)[None, :]).ravel())
    cells = values.reshape(CELLS, -1)
    points = np.empty(POINTS)
    points[1:-1] = (cells[:-1, -1] + cells[1:, 0]) / 2
    points[0] = max(min(2 * cells[0].mean() - points[1], points[1]), 0.0)
    points[-1] = max(2 * cells[-1].mean() - points[-2], points[-2])
    return points


def _middles(table: F64, count: int) -> F64:
    """The means of `count` equally likely parts of a table."""
    fine: F64 = (table[1:] + table[:-1]) / 2
    return np.asarray(fine.reshape(count, -1).mean(axis=1))


def updated(chances: F64, deviations: int, occasions: int) -> F64:
    """A chance after so many deviations on so many occasions: the beta of its mean and variance, updated.

    ValueError when there are more deviations than occasions.
    """
    if not 0 <= deviations <= occasions:
        raise ValueError(f"{deviations} deviations on {occasions} occasions")
    fine = (chances[1:] + chances[:-1]) / 2
    mean, variance = float(fine.mean()), float(fine.var())
    if variance <= 0.0 or not 0.0 < mean < 1.0:
        return chances
    weight = max(mean * (1 - mean) / variance - 1, 1e-6)
    law = Law(kind="beta", alpha=mean * weight + deviations, beta=(1 - mean) * weight + occasions - deviations)
    return quantiles(law)

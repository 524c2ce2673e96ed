"""Limits that an amount is held against: an alarm load, and what a sample of a surface would show.

A limit is uncertain as everything else, and is drawn once in a run. What is detected is the share of a load that
sampling recovers, where that reaches the detection limit. Neither says anything about infection.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from vestry.contact.amounts.binding import Bound
from vestry.contact.amounts.chance import F64, keys, short_uniform, weyl
from vestry.contact.amounts.model import Quantity
from vestry.contact.amounts.simulate import I64
from vestry.contact.amounts.tables import constant, fractions, quantiles, read
from vestry.trade.evidence import Evidence, EvidenceRecord, NoEvidence

LimitName = Literal["alarm", "detection"]


@dataclass(frozen=True, eq=False)
class Limit:
    """A limit in the unit of the loads, and for each reported surface the share of its load that counts against it."""

    name: str
    limit: Quantity
    shares: tuple[Quantity, ...]
    records: tuple[EvidenceRecord, ...]


@dataclass(frozen=True, eq=False)
class Drawn:
    """Limits drawn for some draws: for each limit its level by draw, and for each surface the level of its whole load.

    needed      (limits)(distinct shares) level divided by share, by draw; `which` says which a surface has
    """

    needed: tuple[tuple[F64, ...], ...]
    which: tuple[tuple[int, ...], ...]

    def at(self, lanes: npt.NDArray[np.intp]) -> Drawn:
        """The same for some of the draws."""
        return Drawn(tuple(tuple(level[lanes] for level in one) for one in self.needed), self.which)

    def exceeded(self, loads: F64, number: int = 0) -> npt.NDArray[np.bool_]:
        """(surfaces, draws): whether these loads reach the limit of this number."""
        found = np.empty(loads.shape, dtype=np.bool_)
        for row, which in enumerate(self.which[number]):
            np.greater_equal(loads[row], self.needed[number][which], out=found[row])
        return found


class Limits:
    """Limits, drawn for draws; what is drawn depends on the seed and the draw alone."""

    def __init__(self, limits: tuple[Limit, ...], seed: int) -> None:
        self.limits, self.seed = limits, seed

    def drawn(self, draws: I64) -> Drawn:
        """The limits in these draws."""
        steps = weyl(draws.astype(np.uint64))
        needed, which = [], []
        for one in self.limits:
            level = self._drawn(one.limit, steps)
            shares = list(dict.fromkeys(share.id for share in one.shares))
            by_id = {share.id: share for share in one.shares}
            needed.append(tuple(level / np.maximum(self._drawn(by_id[name], steps), 1e-300) for name in shares))
            which.append(tuple(shares.index(share.id) for share in one.shares))
        return Drawn(tuple(needed), tuple(which))

    def _drawn(self, quantity: Quantity, steps: npt.NDArray[np.uint64]) -> F64:
        (start,) = keys(self.seed, (f"quantity|{quantity.id}",))
        return read(quantity.table, short_uniform(start, steps))


def limits_of(bound: Bound, evidence: Evidence, family: str | None = None, marker: str = "virus") -> tuple[Limit, ...]:
    """The alarm load and the detection limit that the evidence gives for these loads, where its unit is theirs."""
    whole = Quantity("whole-share", constant(1.0))
    names = bound.model.reported_names
    found = []
    alarm = _found(evidence, "alarm-load", family=family)
    if alarm is not None and alarm.unit == bound.unit:
        found.append(Limit("alarm", _quantity(alarm), (whole,) * len(names), (alarm,)))
    seen = _found(evidence, "detection-limit", marker=marker)
    if seen is not None and seen.unit == bound.unit:
        records = [_found(evidence, "recoverable-share", marker=marker, layer=_layer(name)) for name in names]
        shares = tuple(whole if one is None else Quantity(one.id, fractions(one.law)) for one in records)
        used = {one.id: one for one in records if one is not None}
        found.append(Limit("detection", _quantity(seen), shares, (seen, *used.values())))
    return tuple(found)


def _found(evidence: Evidence, quantity: str, **asked: object) -> EvidenceRecord | None:
    try:
        return evidence.find(quantity, **asked)  # type: ignore[arg-type]
    except NoEvidence:
        return None


def _quantity(record: EvidenceRecord) -> Quantity:
    return Quantity(record.id, np.maximum(quantiles(record.law), 0.0))


def _layer(name: str) -> str:
    return "hands" if name.startswith(("body.hand-", "body.wrist-")) else "surfaces"

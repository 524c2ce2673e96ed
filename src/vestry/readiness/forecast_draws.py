"""What the draws of a stay ask of the shelf, hour by hour.

Every number comes from the seed, what is drawn, and the draw and hour it is drawn for, so two stays that share an entry
share its person, its damage and its glove changes: more entries, more damage or more stock are compared run by run.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import exp, log

import numpy as np
import numpy.typing as npt

from vestry.contact.amounts.chance import F64, U64, key, uniform, weyl
from vestry.readiness.forecast_model import I64, Dressing, Model, Party
from vestry.readiness.stay import MOST_HOURS

I32 = npt.NDArray[np.int32]


@dataclass(frozen=True, eq=False)
class Asked:
    """What d draws ask. pools p, hours h, dressings g.

    pieces     (h, d, p) pieces asked for in each hour, damaged ones included
    damaged    (d, p) of them found damaged
    entries    (g, h, d) dressings that begin
    uncovered  (h, d) entries for which nobody of some group is on shift
    ends       (d) the hour from which nothing is asked any more
    """

    pieces: I32
    damaged: I64
    entries: I32
    uncovered: I32
    ends: I64


def ask(model: Model, draws: I64) -> Asked:
    """What these draws ask (any numbers, in any order)."""
    return _Asking(model, draws).run()


class _Asking:
    def __init__(self, model: Model, draws: I64) -> None:
        self.model, self.draws = model, draws.astype(np.uint64)
        self.shape = (model.hours, len(draws))
        self.pools = len(model.pools)
        self.ends = self._ends()
        self.flat: list[I64] = []
        self.more: list[tuple[I64, I64]] = []
        self.damaged = np.zeros((len(draws), self.pools), dtype=np.int64)
        self.entries = np.zeros((len(model.dressings), *self.shape), dtype=np.int32)
        self.uncovered = np.zeros(self.shape, dtype=np.int32)
        hours = np.arange(model.hours, dtype=np.uint64)[:, None]
        self.steps = weyl(self.draws[None, :] * np.uint64(MOST_HOURS) + hours)
        self.open = hours.astype(np.int64) < self.ends[None, :]

    def run(self) -> Asked:
        for number, dressing in enumerate(self.model.dressings):
            for slot, mask in self._starting(dressing):
                self.entries[number] += mask
                self._dress(dressing, slot, np.flatnonzero(mask))
        size = self.shape[0] * self.shape[1] * self.pools
        pieces = np.zeros(size, dtype=np.int32)
        if self.flat:
            pieces += np.bincount(np.concatenate(self.flat), minlength=size).astype(np.int32)
        for where, count in self.more:
            np.add.at(pieces, where, count.astype(np.int32))
        shaped = pieces.reshape(*self.shape, self.pools)
        return Asked(shaped, self.damaged, self.entries, self.uncovered, self.ends)

    def _ends(self) -> I64:
        if self.model.transfer is None:
            return np.full(len(self.draws), self.model.hours, dtype=np.int64)
        first, last = self.model.transfer
        u = uniform(np.uint64(key(self.model.seed, "transfer")), weyl(self.draws))
        return np.minimum(first + (u * (last - first + 1)).astype(np.int64), self.model.hours)

    def _starting(self, dressing: Dressing) -> Iterator[tuple[str, npt.NDArray[np.bool_]]]:
        """One slot after the other: where (hours, draws) somebody starts in it."""
        hour_of_day = np.arange(self.shape[0]) % 24
        regular = dressing.regular[hour_of_day]
        for slot in range(int(regular.max(initial=0))):
            yield f"{dressing.name}|regular|{slot}", (regular > slot)[:, None] & self.open
        if dressing.extra > 0:
            u = uniform(self._key(f"extra|{dressing.name}"), self.steps)
            extra = poisson(u, dressing.extra)
            for slot in range(int(extra.max(initial=0))):
                yield f"{dressing.name}|extra|{slot}", (extra > slot) & self.open

    def _dress(self, dressing: Dressing, slot: str, at: I64) -> None:
        """Everybody who dresses for the entries of one slot; `at` counts over hours and draws."""
        steps = self.steps.reshape(-1)[at]
        hour_of_day = (at // self.shape[1]) % 24
        for number, party in enumerate(dressing.parties):
            there = party.crowd[hour_of_day] > 0
            np.add.at(self.uncovered.reshape(-1), at[~there], 1)
            person = self._person(party, slot, steps[there], hour_of_day[there])
            self._take(party, slot, steps[there], at[there], person)
            if number == 0 and dressing.change_mean > 0:
                self._change(dressing, slot, steps[there], at[there], person)

    def _person(self, party: Party, slot: str, steps: U64, hour: I64) -> I64:
        u = uniform(self._key(f"person|{slot}|{party.name}"), steps)
        return party.members[hour, (u * party.crowd[hour]).astype(np.int64)]

    def _take(self, party: Party, slot: str, steps: U64, at: I64, person: I64) -> None:
        base = at * self.pools
        for piece in range(party.pool.shape[1]):
            pool = party.pool[person, piece]
            self.flat.append(base + pool)
            if self.model.damage > 0 and party.wastes[piece]:
                u = uniform(self._key(f"damage|{slot}|{party.name}|{piece}"), steps)
                hit = u < self.model.damage
                if hit.any():
                    bad = spoilt(u[hit], self.model.damage)
                    self.more.append((base[hit] + pool[hit], bad))
                    np.add.at(self.damaged, (at[hit] % self.shape[1], pool[hit]), bad)

    def _change(self, dressing: Dressing, slot: str, steps: U64, at: I64, person: I64) -> None:
        for column in range(dressing.changes.shape[1]):
            pairs = poisson(uniform(self._key(f"change|{slot}|{column}"), steps), dressing.change_mean)
            some = pairs > 0
            self.more.append((at[some] * self.pools + dressing.changes[person[some], column], pairs[some]))

    def _key(self, stream: str) -> np.uint64:
        return np.uint64(key(self.model.seed, f"stay|{stream}"))


def poisson(u: F64, mean: float) -> I64:
    """Poisson numbers from uniforms by inversion: a larger mean never gives a smaller number."""
    table = [exp(-mean)]
    share, n = table[0], 0
    while table[-1] < 1 - 1e-15 and n < 20 + 20 * mean:
        n += 1
        share *= mean / n
        table.append(table[-1] + share)
    return np.searchsorted(np.array(table), u, side="right").astype(np.int64)


def spoilt(u: F64, chance: float) -> I64:
    """How many pieces are found damaged before a good one: geometric by inversion, at least one where u < chance."""
    return np.maximum(np.floor(np.log(np.maximum(u, 1e-300)) / log(chance)), 1).astype(np.int64)

"""What becomes of the shelf in each draw: first expiry first out, deliveries, expiry, what comes back from cleaning.

Lots of a pool are ordered by expiry and kept as sums from each lot to the last. Taking the earliest to expire first is
then one minimum: what is left beyond a lot is untouched until all before it are gone. Within an hour: expiry, then
deliveries and what comes back, then use. What is asked and is not there is lacking; what was there is used.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from vestry.contact.amounts.chance import key, uniform, weyl
from vestry.readiness.forecast_draws import I32, Asked
from vestry.readiness.forecast_model import I64, NEVER, Batch, Model

POINTS = 60


@dataclass(frozen=True, eq=False)
class Kept:
    """The shelf in d draws. p pools, t points in time. Pieces.

    short_at    (d, p) the first hour in which something was lacking; the end of the stay where nothing was
    used, lacking, expired, arrived, came_back, left   (d, p)
    late        (d, p) lacking from the hour on at which an order of now would be there
    wanted      (d, p) what such an order would have to bring so that nothing is lacking: it first makes up the reserve
    by_lead     (d, p) lacking before an order of now would be there; by_next: before one placed then would be
    levels      (t, d, p) usable pieces, those kept back included, at the hours `points`
    """

    short_at: I64
    used: I64
    lacking: I64
    late: I64
    wanted: I64
    by_lead: I64
    by_next: I64
    expired: I64
    arrived: I64
    came_back: I64
    left: I64
    levels: I32
    points: tuple[int, ...]


def points_of(hours: int) -> tuple[int, ...]:
    """At most about sixty hours of a stay at which its levels are kept, start and end among them."""
    step = max(1, -(-hours // POINTS))
    return (*range(0, hours, step), hours)


def keep(model: Model, asked: Asked, draws: I64) -> Kept:
    """The shelf, for what was asked."""
    return _Shelf(model, asked, draws).run()


class _Shelf:
    def __init__(self, model: Model, asked: Asked, draws: I64) -> None:
        self.model, self.asked, self.draws = model, asked, draws
        self.hours, self.d, self.p = asked.pieces.shape
        order = sorted(range(len(model.batches)), key=lambda n: model.batches[n].expires)
        self.slots: list[list[int]] = [[] for _ in range(self.p)]
        for number in order:
            self.slots[model.batches[number].pool].append(number)
        width = max([0, *map(len, self.slots)]) + 2
        # Sums from each lot to the last. After the last lot: what came back from cleaning, then nothing.
        self.sums = np.zeros((self.d, self.p, width), dtype=np.int64)
        zero = (self.d, self.p)
        self.used, self.lacking, self.late, self.wanted = (np.zeros(zero, dtype=np.int64) for _ in range(4))
        self.expired, self.arrived, self.came_back = (np.zeros(zero, dtype=np.int64) for _ in range(3))
        self.short_at = np.full(zero, self.hours, dtype=np.int64)
        self.expiring: dict[int, list[tuple[int, int]]] = defaultdict(list)
        self.coming: dict[int, list[tuple[int, int, int, I64]]] = defaultdict(list)
        self.back: dict[int, I64] = {}
        self.again = {hours: np.flatnonzero(model.again == hours) for hours in set(model.again.tolist()) if hours}
        self.by_lead, self.by_next = np.zeros(zero, dtype=np.int64), np.zeros(zero, dtype=np.int64)
        self.marks = [
            (kept, {hour: np.flatnonzero(hours == hour) for hour in set(hours.tolist())})
            for kept, hours in (
                (self.by_lead, np.minimum(model.lead, self.hours)),
                (self.by_next, np.minimum(2 * model.lead, self.hours)),
            )
        ]
        self._fill()

    def _fill(self) -> None:
        for pool, slots in enumerate(self.slots):
            for slot, number in enumerate(slots):
                batch = self.model.batches[number]
                if batch.expires < NEVER:
                    self.expiring[batch.expires].append((pool, slot))
                if batch.arrives is None:
                    self.sums[:, pool, : slot + 1] += batch.count
                else:
                    self._schedule(batch, pool, slot)

    def _schedule(self, batch: Batch, pool: int, slot: int) -> None:
        first, last = batch.arrives or (0, 0)
        u = uniform(np.uint64(key(self.model.seed, f"stay|{batch.name}")), weyl(self.draws.astype(np.uint64)))
        hours = first + (u * (last - first + 1)).astype(np.int64)
        for hour in np.unique(hours):
            if hour < self.hours:
                self.coming[int(hour)].append((pool, slot, batch.count, np.flatnonzero(hours == hour)))

    def run(self) -> Kept:
        points = points_of(self.hours)
        levels = np.zeros((len(points), self.d, self.p), dtype=np.int32)
        at_point = {hour: number for number, hour in enumerate(points)}
        for hour in range(self.hours):
            self._expire(hour)
            self._arrive(hour)
            if hour in at_point:
                levels[at_point[hour]] = self.sums[:, :, 0]
            self._mark(hour)
            self._use(hour)
        self._mark(self.hours)
        levels[-1] = self.sums[:, :, 0]
        return Kept(
            short_at=self.short_at,
            used=self.used,
            lacking=self.lacking,
            late=self.late,
            wanted=self.wanted,
            by_lead=self.by_lead,
            by_next=self.by_next,
            expired=self.expired,
            arrived=self.arrived,
            came_back=self.came_back,
            left=self.sums[:, :, 0].copy(),
            levels=levels,
            points=points,
        )

    def _mark(self, hour: int) -> None:
        """What is lacking so far, where this is the hour at which an order, or the next one, would be there."""
        for kept, hours in self.marks:
            if (pools := hours.get(hour)) is not None:
                kept[:, pools] = self.lacking[:, pools]

    def _expire(self, hour: int) -> None:
        for pool, slot in self.expiring.get(hour, ()):
            gone = self.sums[:, pool, 0] - self.sums[:, pool, slot + 1]
            self.expired[:, pool] += gone
            self.sums[:, pool, : slot + 1] = self.sums[:, pool, slot + 1][:, None]

    def _arrive(self, hour: int) -> None:
        for pool, slot, count, draws in self.coming.get(hour, ()):
            self.arrived[draws, pool] += count
            if self.model.batches[self.slots[pool][slot]].expires <= hour:
                self.expired[draws, pool] += count
            else:
                self.sums[draws, pool, : slot + 1] += count
        if (returned := self.back.pop(hour, None)) is not None:
            self.came_back += returned
            self._put_back(returned)

    def _put_back(self, returned: I64) -> None:
        """What came back from cleaning does not expire: it goes behind the last lot."""
        for pool in np.flatnonzero(returned.any(axis=0)):
            self.sums[:, pool, : len(self.slots[pool]) + 1] += returned[:, pool][:, None]

    def _use(self, hour: int) -> None:
        asked = self.asked.pieces[hour]
        if not asked.any():
            return
        there = self.sums[:, :, 0]
        taken = np.minimum(asked, np.maximum(there - self.model.reserve, 0))
        lacking = asked - taken
        if lacking.any():
            first = (lacking > 0) & (self.short_at == self.hours)
            self.short_at[first] = hour
            self.lacking += lacking
            if (after := hour >= self.model.lead).any():
                late = np.where(after, lacking, 0)
                self.late += late
                # An order first makes up the reserve: what is there below it is not used.
                missing = np.maximum(self.model.reserve - there, 0)
                np.maximum(self.wanted, np.where(late > 0, self.late + missing, 0), out=self.wanted)
        self.used += taken
        np.minimum(self.sums, (there - taken)[:, :, None], out=self.sums)
        for hours, pools in self.again.items():
            later = self.back.setdefault(hour + hours, np.zeros((self.d, self.p), dtype=np.int64))
            later[:, pools] += taken[:, pools]

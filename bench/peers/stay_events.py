"""A stay played event by event, in continuous time, run after run: slow, and nothing shared with the fast one.

SimPy keeps the clock; each entry is an event, each lot a row on a list, each damaged piece a toss.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from typing import Any

import simpy

from vestry.readiness import Stay
from vestry.trade import load_catalogue

CATALOGUE = load_catalogue()
BEFORE = 1e-7  # the shelf is put in order just before the hour


@dataclass
class Run:
    """What happened in one run, by item and size."""

    used: Counter[Any] = field(default_factory=Counter)
    lacking: Counter[Any] = field(default_factory=Counter)
    expired: Counter[Any] = field(default_factory=Counter)
    left: Counter[Any] = field(default_factory=Counter)
    short_at: dict[Any, int] = field(default_factory=dict)
    uncovered: int = 0


def play(stay: Stay, chance: random.Random) -> Run:
    """One run."""
    return _Run(stay, chance).play()


class _Run:
    def __init__(self, stay: Stay, chance: random.Random) -> None:
        self.stay, self.chance, self.run = stay, chance, Run()
        self.env = simpy.Environment()
        self.lots: list[list[Any]] = []  # [item, size, count, expires]
        self.coming: list[tuple[int, list[Any]]] = []
        self.kept_back = Counter({(one.item, one.size): one.count for one in stay.reserves})
        self.again = {one.item: one.hours for one in stay.again}
        self.end = stay.hours
        if stay.transfer_hours:
            self.end = min(stay.hours, chance.randint(*stay.transfer_hours))

    def play(self) -> Run:
        for one in self.stay.stock:
            self.lots.append([one.item, one.size, one.count, self.expiry(one.expires)])
        for one in self.stay.deliveries:
            self.coming.append(
                (self.chance.randint(*one.arrives_hours), [one.item, one.size, one.count, self.expiry(one.expires)])
            )
        self.tidy(0)
        self.env.process(self.shelf())
        for work in self.stay.work:
            self.env.process(self.regular(work))
            self.env.process(self.at_random(work))
        self.env.run(until=self.stay.hours)
        for item, size, count, _ in self.lots:
            self.run.left[item, size] += count
        return self.run

    def expiry(self, day: Any) -> float:
        if day is None:
            return float("inf")
        end = datetime.combine(day, time()) + timedelta(days=1)
        return (end - self.stay.starts).total_seconds() / 3600

    def shelf(self) -> Any:
        for hour in range(1, self.stay.hours):
            yield self.env.timeout(hour - BEFORE - self.env.now)
            self.tidy(hour)

    def tidy(self, hour: int) -> None:
        arriving = [lot for at, lot in self.coming if at == hour]
        self.coming = [one for one in self.coming if one[0] != hour]
        self.lots += arriving
        for lot in self.lots:
            if lot[3] <= hour:
                self.run.expired[lot[0], lot[1]] += lot[2]
        self.lots = [lot for lot in self.lots if lot[3] > hour]

    def regular(self, work: Any) -> Any:
        minutes = work.minutes_inside
        starts: list[float] = []
        for day in range(self.stay.hours // 24 + 1):
            at = 0.0
            while at < work.hours_a_day * 60:
                starts += [day * 24 + at / 60] * work.inside
                at += minutes
            starts += [day * 24 + visit * 24 / work.regular_a_day for visit in range(work.regular_a_day)]
        for start in sorted(starts):
            if start >= self.stay.hours:
                return
            yield self.env.timeout(max(0.0, start - self.env.now))
            self.enter(work, int(start + 1e-9))

    def at_random(self, work: Any) -> Any:
        while work.extra_a_day:
            yield self.env.timeout(self.chance.expovariate(work.extra_a_day / 24))
            self.enter(work, int(self.env.now))

    def enter(self, work: Any, hour: int) -> None:
        if hour >= self.end:
            return
        clock = (self.stay.starts.hour + hour) % 24
        on = {one.id for one in self.stay.shifts if (clock - one.from_hour) % 24 < one.hours}
        people = [one for one in self.stay.people if work.by in one.may and on & set(one.shifts)]
        if not people:
            self.run.uncovered += 1
            return
        person = self.chance.choice(people)
        ensemble = next(one for one in self.stay.ensembles if one.id == work.ensemble)
        for item in ensemble.wearer:
            size = person.sizes.get(item, "one-size")
            self.take(item, size, hour)
            while not CATALOGUE.items[item].reusable and self.chance.random() < self.stay.rates.damage_per_piece:
                self.take(item, size, hour)
            if CATALOGUE.items[item].layer in ("outer", "single"):
                self.change(item, size, hour, work.minutes_inside / 60)

    def change(self, item: str, size: str, hour: int, inside: float) -> None:
        rate = self.stay.rates.glove_changes_an_hour
        at = self.chance.expovariate(rate) if rate else inside
        while at < inside:
            self.take(item, size, hour)
            at += self.chance.expovariate(rate)

    def take(self, item: str, size: str, hour: int) -> None:
        rows = [lot for lot in self.lots if lot[:2] == [item, size] and lot[2] > 0]
        if sum(lot[2] for lot in rows) <= self.kept_back[item, size]:
            self.run.lacking[item, size] += 1
            self.run.short_at.setdefault((item, size), hour)
            return
        min(rows, key=lambda lot: lot[3])[2] -= 1
        self.run.used[item, size] += 1
        if CATALOGUE.items[item].reusable:
            self.coming.append((hour + self.again[item], [item, size, 1, float("inf")]))

"""A roster held against the rules, person by person and day by day: shares nothing with the search that made it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import Literal

from vestry.roster.needing import Grid, Slot
from vestry.roster.rota import Assigned, Rota, asks_for
from vestry.trade.values import Value

Broken = Literal[
    "no-such-person",
    "not-in-the-rota",
    "not-qualified",
    "away",
    "two-duties",
    "two-shifts-a-day",
    "rest",
    "in-seven-days",
    "hours-in-seven-days",
    "in-a-row",
    "inside-in-seven-days",
    "more-than-needed",
    "fixed-left-out",
]


class Breach(Value):
    """A rule that an assignment breaks. `day`: of the rota, the last one concerned."""

    rule: Broken
    person: str
    day: int


def breaches(rota: Rota, roster: Iterable[Assigned], grid: Grid | None = None) -> tuple[Breach, ...]:
    """Every rule that a roster breaks, what was worked before the rota counted in. Empty: it holds.

    grid    the rota's own, where many rosters of one rota are held against it
    """
    replay = _Replay(rota, tuple(roster), grid or Grid(rota))
    return tuple(sorted(set(replay.run()), key=lambda one: (one.day, one.person, one.rule)))


class _Replay:
    def __init__(self, rota: Rota, roster: tuple[Assigned, ...], grid: Grid) -> None:
        self.rota, self.roster, self.grid = rota, roster, grid
        self.of_person: dict[str, list[tuple[Slot, str]]] = defaultdict(list)

    def run(self) -> Iterator[Breach]:
        for one in self.rota.before:
            self.of_person[one.person].append((self.grid.placed(one), one.duty))
        for one in self.roster:
            yield from self._one(one)
        for person, worked in self.of_person.items():
            yield from self._rest(person, worked)
            yield from self._windows(person, worked)
        yield from self._needs()
        yield from (
            Breach(rule="fixed-left-out", person=one.person, day=self.grid.day_of(one.day))
            for one in self.rota.fixed
            if one not in self.roster
        )

    def _one(self, one: Assigned) -> Iterator[Breach]:
        day = self.grid.day_of(one.day)
        if one.person not in self.grid.people:
            yield Breach(rule="no-such-person", person=one.person, day=day)
            return
        if not 0 <= day < self.rota.days or one.shift not in self.grid.shifts:
            yield Breach(rule="not-in-the-rota", person=one.person, day=day)
            return
        person, slot = self.grid.people[one.person], self.grid.placed(one)
        able = asks_for(one.duty)
        if able not in person.may or (able in person.until and one.day > person.until[able]):
            yield Breach(rule="not-qualified", person=one.person, day=day)
        if self.grid.away(person, slot):
            yield Breach(rule="away", person=one.person, day=day)
        self.of_person[one.person].append((slot, one.duty))

    def _rest(self, person: str, worked: list[tuple[Slot, str]]) -> Iterator[Breach]:
        for (one, _), (other, _) in combinations(sorted(worked), 2):
            if other.day < 0:
                continue
            if one == other:
                yield Breach(rule="two-duties", person=person, day=other.day)
            elif one.day == other.day:
                yield Breach(rule="two-shifts-a-day", person=person, day=other.day)
            elif max(one.start, other.start) - min(one.end, other.end) < self.rota.rules.rest_hours:
                yield Breach(rule="rest", person=person, day=other.day)

    def _windows(self, person: str, worked: list[tuple[Slot, str]]) -> Iterator[Breach]:
        rules = self.rota.rules
        known = self.grid.people.get(person)
        own = known.most_in_seven_days if known else None
        more = known.further if known else 0
        most = min(rules.most_in_seven_days, 7 if own is None else own) + more
        most_hours = rules.most_hours_in_seven_days + more * max(one.hours for one in self.rota.shifts)
        for last in range(self.rota.days):
            week = [(slot, duty) for slot, duty in worked if last - 6 <= slot.day <= last]
            inside = sum(duty in ("inside", "relief") for _, duty in week)
            run = self._run_up_to(last, {slot.day for slot, _ in worked})
            if not any(slot.day == last for slot, _ in week):
                continue
            if len(week) > most:
                yield Breach(rule="in-seven-days", person=person, day=last)
            if sum(slot.hours for slot, _ in week) > most_hours:
                yield Breach(rule="hours-in-seven-days", person=person, day=last)
            if rules.most_inside_in_seven_days is not None and inside > rules.most_inside_in_seven_days:
                yield Breach(rule="inside-in-seven-days", person=person, day=last)
            if run > rules.most_days_in_a_row + more:
                yield Breach(rule="in-a-row", person=person, day=last)

    @staticmethod
    def _run_up_to(last: int, days: set[int]) -> int:
        """Days worked without a break up to this one."""
        run = 0
        while last - run in days:
            run += 1
        return run

    def _needs(self) -> Iterator[Breach]:
        count: Counter[tuple[int, str, str]] = Counter()
        needed = {(slot.day, slot.shift, duty): people for (slot, duty), people in self.grid.needs.items()}
        for one in self.roster:
            key = (self.grid.day_of(one.day), one.shift, one.duty)
            count[key] += 1
            if count[key] > needed.get(key, 0):
                yield Breach(rule="more-than-needed", person=one.person, day=key[0])

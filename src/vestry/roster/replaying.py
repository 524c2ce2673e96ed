"""A roster held against the rules, person by person and day by day: shares nothing with the search that made it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from fractions import Fraction
from functools import cached_property
from itertools import combinations, count
from typing import Literal, NamedTuple

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


class Worked(NamedTuple):
    """A shift that somebody works: hours of the rota, from its first midnight; the day on which it begins."""

    begins: int
    ends: int
    day: int
    shift: str


class Breach(Value):
    """A rule that an assignment breaks. `day`: of the rota, the last one concerned."""

    rule: Broken
    person: str
    day: int


class Held:
    """What rosters of one rota are held against, worked out from the rota and not from the grid of the search."""

    def __init__(self, rota: Rota) -> None:
        self.rota = rota
        self.people = {one.id: one for one in rota.people}
        self.shifts = {one.id: one for one in rota.shifts}
        self.dates = [rota.starts + timedelta(days=day) for day in range(rota.days)]

    def worked(self, one: Assigned) -> Worked:
        """When somebody's duty is."""
        shift = self.shifts[one.shift]
        day = one.day.toordinal() - self.rota.starts.toordinal()
        begins = 24 * day + shift.from_hour
        return Worked(begins, begins + shift.hours, day, one.shift)

    @cached_property
    def away(self) -> frozenset[tuple[str, date, str]]:
        """Who cannot be asked, on which day, for which shift."""
        return frozenset(
            (one.id, day, shift)
            for one in self.rota.people
            for day in self.dates
            for shift in self.shifts
            if any(gone.from_ <= day and not gone.until < day for gone in one.away)
            or (day, shift) in {(off.day, off.shift) for off in one.off}
        )

    @cached_property
    def needs(self) -> Mapping[tuple[date, str, str], int]:
        """People of a day, a shift and a duty; what needs nobody is left out."""
        found: Counter[tuple[date, str, str]] = Counter()
        for need in self.rota.needs:
            for day in set(need.days or self.dates) & set(self.dates):
                for shift in set(need.shifts or self.shifts) & set(self.shifts):
                    found[day, shift, need.duty] += need.people
        for (day, shift, duty), people in list(found.items()):
            if duty == "inside":
                found[day, shift, "relief"] = self._relief(people, self.shifts[shift].hours)
        return {key: people for key, people in found.items() if people}

    def _relief(self, inside: int, hours: int) -> int:
        """How many more than those inside, counted up until their time is enough."""
        rules = self.rota.rules
        minutes, longest = Fraction(60 * hours), _exact(rules.minutes_inside)
        around = _exact(rules.don) + _exact(rules.doff) + _exact(rules.rest)
        for people in count(inside):
            # A time inside costs somebody that time and what is around it.
            changes = longest >= minutes or people * longest >= inside * (longest + around)
            most = rules.most_inside_a_shift
            if changes and (most is None or people * _exact(most) >= inside * minutes):
                return people - inside
        raise AssertionError("counting ends")


def _exact(minutes: float) -> Fraction:
    return Fraction(str(minutes))


def breaches(rota: Rota, roster: Iterable[Assigned], held: Held | None = None) -> tuple[Breach, ...]:
    """Every rule that a roster breaks, what was worked before the rota counted in. Empty: it holds.

    held    the rota's own, where many rosters of one rota are held against it
    """
    replay = _Replay(rota, tuple(roster), held or Held(rota))
    return tuple(sorted(set(replay.run()), key=lambda one: (one.day, one.person, one.rule)))


class _Replay:
    def __init__(self, rota: Rota, roster: tuple[Assigned, ...], held: Held) -> None:
        self.rota, self.roster, self.held = rota, roster, held
        self.of_person: dict[str, list[tuple[Worked, str]]] = defaultdict(list)

    def run(self) -> Iterator[Breach]:
        for one in self.rota.before:
            self.of_person[one.person].append((self.held.worked(one), one.duty))
        for one in self.roster:
            yield from self._one(one)
        for person, worked in self.of_person.items():
            yield from self._rest(person, worked)
            yield from self._windows(person, worked)
        yield from self._needs()
        yield from (
            Breach(rule="fixed-left-out", person=one.person, day=(one.day - self.rota.starts).days)
            for one in self.rota.fixed
            if one not in self.roster
        )

    def _one(self, one: Assigned) -> Iterator[Breach]:
        day = (one.day - self.rota.starts).days
        if one.person not in self.held.people:
            yield Breach(rule="no-such-person", person=one.person, day=day)
            return
        if not 0 <= day < self.rota.days or one.shift not in self.held.shifts:
            yield Breach(rule="not-in-the-rota", person=one.person, day=day)
            return
        person = self.held.people[one.person]
        able = asks_for(one.duty)
        if able not in person.may or (able in person.until and one.day > person.until[able]):
            yield Breach(rule="not-qualified", person=one.person, day=day)
        if (one.person, one.day, one.shift) in self.held.away:
            yield Breach(rule="away", person=one.person, day=day)
        self.of_person[one.person].append((self.held.worked(one), one.duty))

    def _rest(self, person: str, worked: list[tuple[Worked, str]]) -> Iterator[Breach]:
        for (one, _), (other, _) in combinations(sorted(worked), 2):
            if other.day < 0:
                continue
            if one == other:
                yield Breach(rule="two-duties", person=person, day=other.day)
            elif one.day == other.day:
                yield Breach(rule="two-shifts-a-day", person=person, day=other.day)
            elif max(one.begins, other.begins) - min(one.ends, other.ends) < self.rota.rules.rest_hours:
                yield Breach(rule="rest", person=person, day=other.day)

    def _windows(self, person: str, worked: list[tuple[Worked, str]]) -> Iterator[Breach]:
        rules = self.rota.rules
        known = self.held.people.get(person)
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
            if sum(slot.ends - slot.begins for slot, _ in week) > most_hours:
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
        asked: Counter[tuple[date, str, str]] = Counter()
        for one in self.roster:
            key = (one.day, one.shift, one.duty)
            asked[key] += 1
            if asked[key] > self.held.needs.get(key, 0):
                yield Breach(rule="more-than-needed", person=one.person, day=(one.day - self.rota.starts).days)

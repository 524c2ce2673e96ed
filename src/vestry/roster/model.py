"""A rota as constraints for CP-SAT. The solver is loaded only where something is solved.

One yes-or-no for each person, slot and ability that the person may be asked for; one count for what stays uncovered.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from hashlib import blake2b
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from vestry.roster.needing import Grid, Slot
from vestry.roster.rota import DUTIES, Able, Assigned, Member, asks_for

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpModel, IntVar

Key = tuple[str, Slot, Able]
TICKETS = 30  # bits of the number that settles between rosters that are equally good


class RotaModel:
    """The constraints. `ask`: variables of who is asked for what they are able; `uncovered`: places that stay empty.

    Inside and relief are one crew here; who of it is inside is settled afterwards (`asked`).

    able     further abilities that somebody may be given, each with the yes-or-no that gives it
    longer   person to a count of shifts by which their limits are longer
    more     further people without name, each with the yes-or-no of being there; they may do everything
    """

    def __init__(
        self,
        grid: Grid,
        model: CpModel,
        able: Mapping[tuple[str, Able], IntVar] | None = None,
        longer: Mapping[str, IntVar] | None = None,
        more: Mapping[str, IntVar] | None = None,
    ) -> None:
        self.grid, self.model = grid, model
        self.able, self.longer, self.more = able or {}, longer or {}, more or {}
        self.crews = crews(grid)
        self.settled = {(one.person, grid.placed(one), asks_for(one.duty)) for one in grid.rota.fixed}
        self.full = full(grid)
        self.ask: dict[Key, IntVar] = {}
        self.uncovered: dict[tuple[Slot, Able], IntVar] = {}
        self.days: dict[str, dict[int, IntVar]] = {}
        self.past: dict[str, list[tuple[Slot, str]]] = defaultdict(list)
        for one in grid.rota.before:
            self.past[one.person].append((grid.placed(one), one.duty))
        for person in (*grid.people.values(), *(Member(id=name) for name in self.more)):
            self._person(person)
        self._cover()
        self._fixed()

    # ---- who may be asked ----

    def _person(self, person: Member) -> None:
        asked: dict[Slot, list[IntVar]] = defaultdict(list)
        for slot, able in self.crews:
            if (slot, able) in self.full and (person.id, slot, able) not in self.settled:
                continue
            allowed = self._allowed(person, able)
            if allowed is None or self.grid.away(person, slot) or self._resting_from_before(person, slot):
                continue
            if able in person.may and not self.grid.qualified(person, able, slot):
                continue
            variable = self.model.new_bool_var("")
            if allowed is not True:
                self.model.add_implication(variable, allowed)
            self.ask[person.id, slot, able] = variable
            asked[slot].append(variable)
        self.days[person.id] = {}
        if not asked:
            return
        work = {slot: self._any(ones) for slot, ones in asked.items()}
        by_day: dict[int, list[IntVar]] = defaultdict(list)
        for slot, one in work.items():
            by_day[slot.day].append(one)
        self.days[person.id] = {day: self._any(ones) for day, ones in by_day.items()}
        self._rest(work)
        self._weeks(person, work)
        self._in_a_row(person)

    def _any(self, ones: list[IntVar]) -> IntVar:
        """A yes-or-no for one of several of which at most one holds."""
        if len(ones) == 1:
            return ones[0]
        found = self.model.new_bool_var("")
        self.model.add(sum(ones) == found)
        return found

    def _allowed(self, person: Member, able: Able) -> Any:
        if person.id in self.more:
            return self.more[person.id]
        return True if able in person.may else self.able.get((person.id, able))

    def _resting_from_before(self, person: Member, slot: Slot) -> bool:
        rest = self.grid.rota.rules.rest_hours
        return any(
            past.day == slot.day or max(past.start, slot.start) - min(past.end, slot.end) < rest
            for past, _ in self.past[person.id]
        )

    def _rest(self, work: Mapping[Slot, IntVar]) -> None:
        """Of all slots that are under way, or less than the rest over, when a slot begins, at most one is worked."""
        rest, told = self.grid.rota.rules.rest_hours, set()
        for slot in work:
            reach = frozenset(
                other for other in work if other.start <= slot.start < max(other.end + rest, other.start + 1)
            )
            # One day holds one shift already.
            if len({other.day for other in reach}) > 1 and reach not in told:
                told.add(reach)
                self.model.add_at_most_one(work[other] for other in sorted(reach))

    def _weeks(self, person: Member, work: Mapping[Slot, IntVar]) -> None:
        rules, longer = self.grid.rota.rules, person.further + self.longer.get(person.id, 0)
        lengths = {one.hours for one in self.grid.rota.shifts}
        own = person.most_in_seven_days
        most = min(rules.most_in_seven_days, 7 if own is None else own)
        for last in range(self.grid.rota.days):
            past = [(slot, duty) for slot, duty in self.past[person.id] if last - 6 <= slot.day]
            week = [one for day, one in self.days[person.id].items() if last - 6 <= day <= last]
            self._at_most(week, len(past), most, longer)
            hours = [slot.hours * one for slot, one in work.items() if last - 6 <= slot.day <= last]
            gone = sum(slot.hours for slot, _ in past)
            if len(week) * max(lengths) + gone > rules.most_hours_in_seven_days:
                self._at_most(hours, gone, rules.most_hours_in_seven_days, max(lengths) * longer)
            if rules.most_inside_in_seven_days is not None:
                inside = [
                    self.ask[person.id, slot, "inside"]
                    for slot in work
                    if last - 6 <= slot.day <= last and (person.id, slot, "inside") in self.ask
                ]
                gone = sum(duty in ("inside", "relief") for _, duty in past)
                self._at_most(inside, gone, rules.most_inside_in_seven_days, 0)

    def _in_a_row(self, person: Member) -> None:
        """Of any days in a row one more than may be worked, one is free; a further shift lengthens it by one."""
        most = self.grid.rota.rules.most_days_in_a_row + person.further
        extra, days = self.longer.get(person.id), self.days[person.id]
        past = {slot.day for slot, _ in self.past[person.id]}
        for more in range(3 if extra is not None else 1):
            slack = 0 if extra is None or more == 2 else self._at_least(extra, more + 1)
            for last in range(self.grid.rota.days):
                span = range(last - most - more, last + 1)
                run, gone = [days[day] for day in span if day in days], sum(day in past for day in span)
                if run and len(run) + gone == len(span):
                    self.model.add(sum(run) <= len(run) - 1 + slack)

    def _at_least(self, count: Any, least: int) -> Any:
        """A yes-or-no that holds only where a count reaches a number."""
        found = self.model.new_bool_var("")
        self.model.add(count >= least).only_enforce_if(found)
        return found

    def _at_most(self, terms: list[Any], past: int, most: int, longer: Any) -> None:
        if terms:
            self.model.add(sum(terms) <= max(0, most - past) + longer)

    # ---- what is covered ----

    def _cover(self) -> None:
        by_need: dict[tuple[Slot, Able], list[IntVar]] = defaultdict(list)
        for (_, slot, able), variable in self.ask.items():
            by_need[slot, able].append(variable)
        for (slot, able), people in self.crews.items():
            empty = self.model.new_int_var(0, people, "")
            self.model.add(sum(by_need[slot, able]) + empty == people)
            self.uncovered[slot, able] = empty

    def _fixed(self) -> None:
        for one in self.grid.rota.fixed:
            self.model.add(self.ask[one.person, self.grid.placed(one), asks_for(one.duty)] == 1)

    # ---- what is best ----

    def all_uncovered(self) -> Any:
        """Places that stay empty, in all."""
        return sum(self.uncovered.values())

    def unevenness(self) -> Any:
        """Sum of squares of everybody's shifts, as counts: the k-th shift of somebody costs 2k - 1."""
        cost: list[Any] = []
        for days in self.days.values():
            steps = [self.model.new_bool_var("") for _ in days]
            for first, then in pairwise(steps):
                self.model.add_implication(then, first)
            if days:
                self.model.add(sum(days.values()) == sum(steps))
            cost += [(2 * k + 1) * step for k, step in enumerate(steps)]
        return sum(cost)

    def tickets(self) -> Any:
        """A number for everything that can be asked: its sum settles between rosters that are equally good."""
        return sum(
            ticket(person, str(slot.day), slot.shift, able) * one for (person, slot, able), one in self.ask.items()
        )

    def asked(self, value: Any) -> tuple[Assigned, ...]:
        """Who is asked for which duty, as `value` (of a solver) says of each variable."""
        of_slot: dict[tuple[Slot, Able], list[str]] = defaultdict(list)
        for (person, slot, able), variable in self.ask.items():
            if value(variable):
                of_slot[slot, able].append(person)
        return tuple(one for (slot, able) in self.crews for one in self._duties(slot, able, of_slot[slot, able]))

    def _duties(self, slot: Slot, able: Able, people: list[str]) -> Iterator[Assigned]:
        """A crew as duties: what is fixed stays, then those inside are filled up before relief, by ticket."""
        day = self.grid.date_of(slot.day)
        fixed = {
            one.person: one.duty
            for one in self.grid.rota.fixed
            if self.grid.placed(one) == slot and asks_for(one.duty) == able
        }
        left = {
            duty: self.grid.needs.get((slot, duty), 0) - list(fixed.values()).count(duty)
            for duty in DUTIES
            if asks_for(duty) == able
        }
        for person in sorted(
            people, key=lambda one: (one not in fixed, ticket(one, str(slot.day), slot.shift, "turn"))
        ):
            duty = fixed.get(person, next((duty for duty, places in left.items() if places > 0), DUTIES[0]))
            left[duty] -= person not in fixed
            yield Assigned(person=person, day=day, shift=slot.shift, duty=duty)


def crews(grid: Grid) -> dict[tuple[Slot, Able], int]:
    """How many of each ability a slot needs: those inside with their relief."""
    found: dict[tuple[Slot, Able], int] = {}
    for (slot, duty), people in grid.needs.items():
        found[slot, asks_for(duty)] = found.get((slot, asks_for(duty)), 0) + people
    return found


def full(grid: Grid) -> frozenset[tuple[Slot, Able]]:
    """Where every place is fixed already: nobody else can be asked, whoever they are.

    Of a roster that is taken that is nearly all of it. To ask everybody for it too takes seconds, and finds the same.
    """
    there = Counter((grid.placed(one), asks_for(one.duty)) for one in grid.rota.fixed)
    return frozenset(key for key, people in crews(grid).items() if there[key] == people)


def ticket(*parts: str) -> int:
    """A number that follows from the words alone."""
    return int.from_bytes(blake2b("|".join(parts).encode(), digest_size=8).digest(), "little") >> (64 - TICKETS)

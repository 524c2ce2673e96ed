"""A roster made in one pass, slot by slot, for the search to start from: whoever may and is least asked, is asked."""

from __future__ import annotations

from collections import defaultdict

from vestry.roster.model import crews, ticket
from vestry.roster.needing import Grid, Slot
from vestry.roster.rota import Able, Member, asks_for

Start = dict[tuple[Slot, Able], list[str]]


def start(grid: Grid) -> Start:
    """Who is asked in each slot for each ability. It breaks no rule; it need not be the best."""
    return _Start(grid).run()


class _Start:
    def __init__(self, grid: Grid) -> None:
        self.grid = grid
        self.worked: dict[str, list[tuple[Slot, Able]]] = defaultdict(list)
        for one in (*grid.rota.before, *grid.rota.fixed):
            self.worked[one.person].append((grid.placed(one), asks_for(one.duty)))

    def run(self) -> Start:
        found: Start = {key: [] for key in crews(self.grid)}
        for one in self.grid.rota.fixed:
            found[self.grid.placed(one), asks_for(one.duty)].append(one.person)
        # Within a slot, the ability that fewest have goes first.
        having = {able: sum(able in one.may for one in self.grid.rota.people) for _, able in found}
        for (slot, able), people in sorted(crews(self.grid).items(), key=lambda one: (one[0][0], having[one[0][1]])):
            while len(found[slot, able]) < people:
                able_now = [one for one in self.grid.rota.people if able in one.may and self._may(one, slot, able)]
                if not able_now:
                    break
                chosen = min(able_now, key=lambda one: self._turn(one, slot))
                found[slot, able].append(chosen.id)
                self.worked[chosen.id].append((slot, able))
        return found

    def _turn(self, person: Member, slot: Slot) -> tuple[int, int, int]:
        """Least asked first, then who can do least else, then by ticket."""
        return len(self.worked[person.id]), len(person.may), ticket(person.id, str(slot.day), slot.shift)

    def _may(self, person: Member, slot: Slot, able: Able) -> bool:
        rules, worked = self.grid.rota.rules, self.worked[person.id]
        if not self.grid.qualified(person, able, slot) or self.grid.away(person, slot):
            return False
        if any(one.day == slot.day for one, _ in worked):
            return False
        if any(max(one.start, slot.start) - min(one.end, slot.end) < rules.rest_hours for one, _ in worked):
            return False
        own = person.most_in_seven_days
        most = min(rules.most_in_seven_days, 7 if own is None else own) + person.further
        longest = max(one.hours for one in self.grid.rota.shifts)
        most_hours = rules.most_hours_in_seven_days + person.further * longest
        for first in range(slot.day - 6, slot.day + 1):
            week = [(one, of) for one, of in worked if first <= one.day <= first + 6]
            inside = sum(of == "inside" for _, of in week) + (able == "inside")
            if len(week) + 1 > most or sum(one.hours for one, _ in week) + slot.hours > most_hours:
                return False
            if (
                rules.most_inside_in_seven_days is not None
                and able == "inside"
                and (inside > rules.most_inside_in_seven_days)
            ):
                return False
        days = {one.day for one, _ in worked} | {slot.day}
        first = last = slot.day
        while first - 1 in days:
            first -= 1
        while last + 1 in days:
            last += 1
        return last - first + 1 <= rules.most_days_in_a_row + person.further

"""What a rota needs, slot by slot: who is inside, and the relief that the longest time inside asks for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from math import ceil

from vestry.roster.rota import DUTIES, Able, Assigned, Duty, Member, Rota, RotaShift


@dataclass(frozen=True, order=True)
class Slot:
    """A shift of one day. `day` counts from the start of the rota, and is below 0 before it."""

    day: int
    number: int
    shift: str
    start: int
    hours: int

    @property
    def end(self) -> int:
        """Hour of the rota at which it ends; `start` likewise."""
        return self.start + self.hours


class Grid:
    """The slots of a rota, what each needs, and who can be asked for it."""

    def __init__(self, rota: Rota) -> None:
        self.rota = rota
        self.shifts: Mapping[str, tuple[int, RotaShift]] = {one.id: (n, one) for n, one in enumerate(rota.shifts)}
        self.people: Mapping[str, Member] = {one.id: one for one in rota.people}

    def slot(self, day: int, shift: str) -> Slot:
        """The slot of a day and a shift."""
        number, one = self.shifts[shift]
        return Slot(day, number, shift, 24 * day + one.from_hour, one.hours)

    def day_of(self, day: date) -> int:
        """A date as a day of the rota."""
        return (day - self.rota.starts).days

    def date_of(self, day: int) -> date:
        """A day of the rota as a date."""
        return self.rota.starts + timedelta(days=day)

    @cached_property
    def slots(self) -> tuple[Slot, ...]:
        """All slots in order of day and shift."""
        return tuple(self.slot(day, one.id) for day in range(self.rota.days) for one in self.rota.shifts)

    @cached_property
    def needs(self) -> Mapping[tuple[Slot, Duty], int]:
        """How many each duty of each slot needs; what needs nobody is left out. Several needs of one duty add up."""
        found: dict[tuple[Slot, Duty], int] = {}
        for slot in self.slots:
            for need in self.rota.needs:
                if (not need.shifts or slot.shift in need.shifts) and (
                    not need.days or self.date_of(slot.day) in need.days
                ):
                    found[slot, need.duty] = found.get((slot, need.duty), 0) + need.people
            inside = found.get((slot, "inside"), 0)
            found[slot, "relief"] = crew(self.rota, inside, slot.hours) - inside
        ordered = sorted(found.items(), key=lambda one: (one[0][0], DUTIES.index(one[0][1])))
        return {key: people for key, people in ordered if people}

    def away(self, person: Member, slot: Slot) -> bool:
        """Whether somebody cannot be asked for a slot."""
        day = self.date_of(slot.day)
        return any(one.from_ <= day <= one.until for one in person.away) or any(
            one.day == day and one.shift == slot.shift for one in person.off
        )

    def qualified(self, person: Member, able: Able, slot: Slot) -> bool:
        """Whether somebody is qualified for something on the day of a slot."""
        last = person.until.get(able)
        return able in person.may and (last is None or self.date_of(slot.day) <= last)

    def placed(self, one: Assigned) -> Slot:
        """The slot of somebody's duty."""
        return self.slot(self.day_of(one.day), one.shift)


def crew(rota: Rota, inside: int, hours: int) -> int:
    """People it takes to keep so many inside through a shift of these hours.

    Each time inside brings dressing, undressing and rest with it: inside x (time inside + these) / time inside, and no
    fewer than the minutes inside of one shift allow.
    """
    rules = rota.rules
    if not inside:
        return 0
    time = min(rules.minutes_inside, 60.0 * hours)
    people = ceil(inside * (time + rules.don + rules.doff + rules.rest) / time - 1e-9) if 60 * hours > time else inside
    if rules.most_inside_a_shift is not None:
        people = max(people, ceil(inside * 60 * hours / rules.most_inside_a_shift - 1e-9))
    return people

"""A roster proposed, its gaps named, and the smallest change that would close them; to be taken or left."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from vestry.roster.closing import closing
from vestry.roster.found import Closing, Gap, Load, Needed, Reasons, Roster, WhyNot
from vestry.roster.model import RotaModel
from vestry.roster.needing import Grid, Slot
from vestry.roster.replaying import Held, breaches
from vestry.roster.rota import Assigned, Duty, Rota, asks_for
from vestry.roster.solving import Goal, in_turn
from vestry.roster.starting import Start, start

MOST_TICKETS = 1500  # variables up to which ties are settled by proof


class NotHeld(RuntimeError):
    """A proposal that does not hold when it is replayed: a fault of ours, never shown to anyone."""


def propose(rota: Rota, *, close: bool = True, workers: int = 1) -> Roster:
    """The roster of a rota that has been checked: fewest empty places, then work spread evenly, then ties settled.

    close    whether to look for the smallest change that would close the gaps
    Every proposal is replayed against the rules before it is given. The same rota gives the same roster.
    """
    from ortools.sat.python import cp_model

    model, grid = cp_model.CpModel(), Grid(rota)
    held = RotaModel(grid, model)
    first = start(grid)
    hint = [(variable, int(person in first[slot, able])) for (person, slot, able), variable in held.ask.items()]
    goals = [Goal(held.all_uncovered()), Goal(held.unevenness(), _most_even(rota, first))]
    if len(held.ask) <= MOST_TICKETS:
        goals.append(Goal(held.tickets()))
    solver, goes = in_turn(model, goals, rota.effort, workers, hint)
    assigned = held.asked(solver.value) if solver is not None else rota.fixed
    proved = [go.proved for go in goes]
    found = told(rota, assigned, proposed=True, fewest=proved[:1] == [True], only=proved == [True] * 3)
    change = closing(rota, found.uncovered, workers) if close and found.fewest else Closing(found="not-settled")
    return found.model_copy(
        update={"closing": change if found.uncovered else Closing(found="none-needed", fewest=True)}
    )


def _most_even(rota: Rota, first: Start) -> int:
    """No roster with as many asked as this start is more even than this: everybody the same, or one more."""
    asked, people = sum(map(len, first.values())), max(1, len(rota.people))
    each, over = divmod(asked, people)
    return (people - over) * each**2 + over * (each + 1) ** 2


def as_it_is(rota: Rota) -> Roster:
    """The grid of what is fixed, with its gaps; nothing proposed."""
    found = told(rota, rota.fixed, proposed=False, fewest=False, only=False)
    none = Closing(found="none-needed", fewest=True)
    return found if found.uncovered else found.model_copy(update={"closing": none, "fewest": True})


def told(rota: Rota, assigned: Sequence[Assigned], *, proposed: bool, fewest: bool, only: bool) -> Roster:
    """What is told of a roster. NotHeld when it breaks a rule."""
    if broken := breaches(rota, assigned):
        raise NotHeld("; ".join(f"{one.rule} of {one.person} on day {one.day}" for one in broken))
    return laid_out(rota, assigned, proposed=proposed, fewest=fewest, only=only)


def laid_out(
    rota: Rota, assigned: Sequence[Assigned], *, proposed: bool = False, fewest: bool = False, only: bool = False
) -> Roster:
    """The grid of a roster with its gaps, whether or not it still holds: somebody may have gone away since."""
    grid, held = Grid(rota), Held(rota)
    who: dict[tuple[Slot, Duty], list[str]] = {key: [] for key in grid.needs}
    for one in assigned:
        who[grid.placed(one), one.duty].append(one.person)
    rows = tuple(
        Needed(
            day=grid.date_of(slot.day),
            shift=slot.shift,
            duty=duty,
            needed=people,
            people=tuple(sorted(who[slot, duty])),
        )
        for (slot, duty), people in grid.needs.items()
    )
    gaps = tuple(
        Gap(
            day=row.day,
            shift=row.shift,
            duty=row.duty,
            needed=row.needed,
            there=len(row.people),
            reasons=_reasons(rota, grid, held, assigned, row),
        )
        for row in rows
        if len(row.people) < row.needed
    )
    empty = sum(gap.needed - gap.there for gap in gaps)
    return Roster(
        title=rota.title,
        starts=rota.starts,
        days=rota.days,
        proposed=proposed,
        uncovered=empty,
        fewest=fewest or not empty,
        only=only,
        assigned=tuple(assigned),
        grid=rows,
        gaps=gaps,
        closing=Closing(found="not-settled"),
        loads=_loads(rota, grid, assigned),
    )


def _reasons(rota: Rota, grid: Grid, held: Held, assigned: Sequence[Assigned], row: Needed) -> Reasons:
    count: Counter[WhyNot] = Counter()
    slot = grid.slot(grid.day_of(row.day), row.shift)
    duty = asks_for(row.duty)
    able = [one for one in rota.people if grid.qualified(one, duty, slot) and one.id not in row.people]
    places = _by_person(assigned)
    for person in able:
        own = places.get(person.id, [])
        if grid.away(person, slot):
            count["away"] += 1
        elif any(grid.placed(one) == slot for one in own):
            count["other-duty"] += 1
        else:
            one = Assigned(person=person.id, day=row.day, shift=row.shift, duty=row.duty)
            broken = {one.rule for one in breaches(rota, (*own, one), held) if one.person == person.id}
            close = broken & {"rest", "two-shifts-a-day"}
            count["rest" if close else "limit"] += 1
    return Reasons(
        qualified=len(able) + len(row.people),
        away=count["away"],
        other_duty=count["other-duty"],
        rest=count["rest"],
        limit=count["limit"],
    )


def _loads(rota: Rota, grid: Grid, assigned: Sequence[Assigned]) -> tuple[Load, ...]:
    found, places = [], _by_person(assigned)
    for person in rota.people:
        own = places.get(person.id, [])
        found.append(
            Load(
                person=person.id,
                shifts=len(own),
                hours=sum(grid.placed(one).hours for one in own),
                inside=sum(one.duty in ("inside", "relief") for one in own),
            )
        )
    return tuple(found)


def _by_person(assigned: Iterable[Assigned]) -> dict[str, list[Assigned]]:
    found: dict[str, list[Assigned]] = {}
    for one in assigned:
        found.setdefault(one.person, []).append(one)
    return found

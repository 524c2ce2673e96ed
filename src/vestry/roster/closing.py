"""The smallest change that would close the gaps: who could learn what, who one shift more, how many more people."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from vestry.roster.found import Change, Closing
from vestry.roster.model import RotaModel, crews, ticket
from vestry.roster.needing import Grid
from vestry.roster.rota import Able, Member, Rota
from vestry.roster.solving import Goal, in_turn

MOST_GAPS = 16
ABLE: tuple[Able, ...] = ("inside", "observing", "assisting")
KINDS = ("qualify", "one-more", "one-person")
STEP = 1 << 20


def closing(rota: Rota, uncovered: int, workers: int = 1) -> Closing:
    """The fewest changes after which everything is covered; of equally many, first learning, then shifts, then people.

    Rest between shifts, absences and the days in which somebody cannot be asked are never given up.
    """
    if not uncovered:
        return Closing(found="none-needed", fewest=True)
    if uncovered > MOST_GAPS:
        return Closing(found="too-many")
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    grid = Grid(rota)
    asked = {able for _, able in crews(grid)}
    able = {
        (person.id, duty): model.new_bool_var("")
        for person in rota.people
        for duty in ABLE
        if duty in asked and duty not in person.may
    }
    longer = {person.id: model.new_int_var(0, 2, "") for person in rota.people}
    # Each one who joins can take one place at least: so many always do.
    more = {f"+{number}": model.new_bool_var("") for number in range(uncovered)}
    for first, then in zip([*more.values()], [*more.values()][1:], strict=False):
        model.add_implication(then, first)
    held = RotaModel(grid, model, able, longer, more)
    for empty in held.uncovered.values():
        model.add(empty == 0)
    changes: list[tuple[int, Any, tuple[str, ...]]] = [
        *((0, one, (*of,)) for of, one in able.items()),
        *((1, one, (of,)) for of, one in longer.items()),
        *((2, one, (of,)) for of, one in more.items()),
    ]
    count = sum(one for _, one, _ in changes)
    rank = sum((kind * STEP + ticket(KINDS[kind], *of) % STEP) * one for kind, one, of in changes)
    solver, goes = in_turn(model, [Goal(count, 1), Goal(rank)], rota.effort, workers)
    if solver is None:
        return Closing(found="not-settled")
    value = solver.value
    found = [Change(kind="qualify", person=person, duty=duty) for (person, duty), one in able.items() if value(one)]
    for person, one in longer.items():
        found += [Change(kind="one-more", person=person)] * value(one)
    for name, one in more.items():
        if value(one):
            duties = {able for (who, _, able), asked in held.ask.items() if who == name and value(asked)}
            found.append(Change(kind="one-person", duties=tuple(duty for duty in ABLE if duty in duties)))
    return Closing(found="changes", changes=tuple(found), fewest=goes[0].proved)


def changed(rota: Rota, changes: Iterable[Change]) -> Rota:
    """The rota with these changes made. Whoever joins is called `+1`, `+2`, and so on."""
    people = {one.id: one for one in rota.people}
    for number, change in enumerate(changes, 1):
        if change.kind == "qualify" and change.person and change.duty:
            person = people[change.person]
            people[person.id] = person.model_copy(update={"may": (*person.may, change.duty)})
        elif change.kind == "one-person":
            people[f"+{number}"] = Member(id=f"+{number}", may=change.duties)
        elif change.person:
            person = people[change.person]
            people[person.id] = person.model_copy(update={"further": person.further + 1})
    return rota.model_copy(update={"people": tuple(people.values())})

"""The question what a change of case means, checked: everything that is wrong with it is told at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import get_close_matches

from vestry.contact.surfaces import surface
from vestry.sequence.assuring import program_of
from vestry.sequence.case import Case
from vestry.sequence.case_change import MOST_INSIDE, Inside
from vestry.sequence.checking import case_and_policy_problems
from vestry.sequence.plan import Plan
from vestry.sequence.whereabouts import worn_at
from vestry.trade import BadFacts, Catalogue, Problem


def check_question(
    plan: Plan, after: Case | None, inside: Sequence[Inside], ruled_out: bool, catalogue: Catalogue
) -> None:
    """BadFacts naming each field that is wrong."""
    found = [*_case(plan, after, ruled_out, catalogue)]
    if len(inside) > MOST_INSIDE:
        found.append(_problem("inside", f"{len(inside)} people; at most {MOST_INSIDE}"))
    seen: set[str] = set()
    for number, one in enumerate(inside):
        if one.code in seen:
            found.append(_problem(f"inside.{number}.code", f"{one.code} stands twice; each needs a code of their own"))
        seen.add(one.code)
        found += _person(f"inside.{number}", one, plan, catalogue)
    if found:
        raise BadFacts(found)


def _case(plan: Plan, after: Case | None, ruled_out: bool, catalogue: Catalogue) -> Iterable[Problem]:
    if after is None:
        if not ruled_out:
            yield _problem("case", "say what the case is now, or that it is ruled out")
        return
    yield from case_and_policy_problems(after, plan.policy, catalogue)
    if ruled_out and after.hazard == plan.case.hazard:
        yield _problem("case.hazard", f"{after.hazard} cannot be ruled out and be the hazard at once")


def _person(at: str, one: Inside, plan: Plan, catalogue: Catalogue) -> Iterable[Problem]:
    for number, item in enumerate(one.worn or ()):
        if item not in catalogue.items:
            yield _unknown(f"{at}.worn.{number}", "item", item, catalogue.items)
        elif item in (one.worn or ())[:number]:
            yield _problem(f"{at}.worn.{number}", f"{item} is worn twice")
    faces = _surfaces(catalogue)
    for number, name in enumerate(one.contaminated):
        if name not in faces:
            yield _unknown(f"{at}.contaminated.{number}", "surface", name, faces)
    yield from _place(at, one, plan, catalogue)


def _place(at: str, one: Inside, plan: Plan, catalogue: Catalogue) -> Iterable[Problem]:
    """The step that was done last, and what goes with it."""
    if one.at is None:
        if one.happened:
            yield _problem(f"{at}.happened", "say at which step of the way out they are: `at`")
        return
    program = program_of(plan, catalogue)
    if one.at not in program.steps:
        yield _unknown(f"{at}.at", "step of the way out", one.at, program.steps)
        return
    worn = worn_at(program, one.at)
    if one.worn is not None and set(one.worn) != set(worn):
        yield _problem(
            f"{at}.worn",
            f"after {one.at} the plan wears {', '.join(worn) or 'nothing'}; where something else is worn, leave out"
            " `at` and say the `zone`",
        )
    events = [event.id for event in program.events]
    for number, event in enumerate(one.happened):
        if event not in events:
            yield _unknown(f"{at}.happened.{number}", "event of this plan", event, events)


def _surfaces(catalogue: Catalogue) -> set[str]:
    found = {surface(item.id, face.id) for item in catalogue.items.values() for face in item.faces}
    found |= {surface("body", site) for site in catalogue.body}
    found |= {surface("place", place) for place in catalogue.places}
    return found | {surface(helper.id, face) for helper in catalogue.helpers.values() for face in helper.faces}


def _unknown(field: str, sort: str, word: str, known: Iterable[str]) -> Problem:
    near = get_close_matches(word, list(known), 1)
    hint = f"; did you mean {near[0]}?" if near else ""
    return _problem(field, f"no {sort} is called {word}{hint}")


def _problem(field: str, what: str) -> Problem:
    return Problem("change", 0, field, what)

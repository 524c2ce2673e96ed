"""The case changes while people are inside: is what each wears enough, how do they leave from it, who goes first.

Exit status: 0 what everybody wears is enough; 1 someone's is not; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse
import datetime
from typing import get_args

from vestry.cli import files, output
from vestry.sequence import Case, CaseChange, Inside, Plan, Practised, change, say
from vestry.sequence.case import Task
from vestry.sequence.case_change import Exit, InsideFile, Person
from vestry.sequence.change_telling import (
    told_adding,
    told_afterwards,
    told_asked,
    told_case,
    told_exit,
    told_lane,
    told_loads,
    told_next_in,
    told_person,
    told_title,
    told_turn,
)
from vestry.trade import BadFacts, Catalogue, Problem
from vestry.trade.values import Presentation
from vestry.trade.words import Words, load_words


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument(
        "--from", dest="plan", required=True, metavar="PLAN", help="the plan they were dressed by, as JSON"
    )
    parser.add_argument("--hazard", metavar="HAZARD", help="what it is now; left out: as in the plan")
    parser.add_argument("--presentation", choices=get_args(Presentation), help="left out: as in the plan")
    parser.add_argument("--tasks", nargs="+", choices=get_args(Task), help="left out: as in the plan")
    parser.add_argument(
        "--ruled-out",
        action="store_true",
        help="the plan's hazard is ruled out; --hazard says what is left, if anything",
    )
    parser.add_argument(
        "--inside",
        metavar="FILE",
        help="who is inside (docs/reference/change.md); left out: one, who wears what the plan does",
    )
    parser.add_argument(
        "--practised", nargs="+", default=[], metavar="PLAN", help="other plans of the unit whose exit may be taken"
    )
    parser.add_argument("--sheet", nargs=2, metavar=("CODE", "FILE"), help="write the exit of one of them as a PDF")
    parser.add_argument("--all-clear", metavar="FILE", help="write a paper for each of them, once ruled out, as a PDF")
    files.facts_argument(parser)
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Find what the change means, and print it."""
    for place in filter(None, (options.all_clear, options.sheet and options.sheet[1])):
        files.check_place(place)
    catalogue, words = files.facts_of(options).catalogue, load_words("en")
    own = _practised(options.plan, catalogue, words)
    inside, lines = _inside(options.inside)
    others = [_practised(name, catalogue, words) for name in options.practised]
    with files.blamed_on(options.inside or "change", lines, only="inside."):
        found = change(own, _after(options, own.plan), catalogue, inside, options.ruled_out, others)
    _print_papers(options, found, words, catalogue)
    if options.json:
        output.print_json(found.as_json())
    else:
        print("\n".join(describe(found, words, catalogue)))
    return 0 if found.enough else 1


def _practised(name: str, catalogue: Catalogue, words: Words) -> Practised:
    plan = files.read_plan(name, catalogue, words)
    return Practised(name=name, title=f"plan {plan.hash[:12]} ({name})", plan=plan, approved=False)


def _inside(name: str | None) -> tuple[tuple[Inside, ...], files.Lines]:
    if name is None:
        return (Inside(code="one"),), {}
    file, lines = files.read_model(InsideFile, name)
    return file.inside, lines


def _after(options: argparse.Namespace, plan: Plan) -> Case | None:
    """The case now; None where it is ruled out and nothing else is named."""
    asked = {
        name: value for name in ("hazard", "presentation", "tasks") if (value := getattr(options, name)) is not None
    }
    if options.ruled_out and "hazard" not in asked:
        return None
    if "tasks" in asked:
        asked["tasks"] = tuple(asked["tasks"])
    return plan.case.model_copy(update=asked)


def _print_papers(options: argparse.Namespace, found: CaseChange, words: Words, catalogue: Catalogue) -> None:
    """What was asked for on paper; BadFacts where there is no such paper."""
    today = datetime.date.today().isoformat()
    sheet = exit_for(options.sheet[0], found) if options.sheet else None
    if options.all_clear and (found.ruled_out is None or not found.people):
        raise BadFacts([Problem("change", 0, "all-clear", "nothing is ruled out, or nobody is inside")])
    if sheet is not None:
        from vestry.papers import sheet_pdf

        content = sheet_pdf(sheet.plan, sheet.assurance, words, catalogue, None, kinds=("doffing",), printed_on=today)
        files.write(options.sheet[1], content)
    if options.all_clear:
        from vestry.papers import all_clear_pdf

        people = [one.code for one in found.people]
        files.write(options.all_clear, all_clear_pdf(found, people, words, printed_on=today))


def exit_for(code: str, found: CaseChange) -> Exit:
    """The computed exit of one of them; BadFacts where there is none."""
    person = next((one for one in found.people if one.code == code), None)
    way = found.exit_of(person) if person else None
    if way is None:
        known = ", ".join(one.code for one in found.people if one.exit) or "nobody"
        raise BadFacts([Problem("change", 0, "sheet", f"no exit of {code}; there is one of {known}")])
    return way


def describe(found: CaseChange, words: Words, catalogue: Catalogue) -> list[str]:
    """A change of case as it is read in a terminal."""
    names = {one.code: one.code for one in found.people}
    lines = [told_title(found, words), ""]
    for part in (told_case, told_asked, told_afterwards, told_next_in):
        lines += [output.paragraph(one) for one in part(found, words)]
    if found.order:
        lines += ["", "Who leaves first, if all leave:"]
        for turn in found.order:
            lines.append(output.paragraph(" ".join(told_turn(turn, names[turn.code], words)), "  "))
    lines += [output.paragraph(one, "  ") for one in told_lane(found, names, words)]
    for person in found.people:
        lines += _person(person, found.exit_of(person), words, catalogue)
    for number, one in enumerate(found.exits, 1):
        if any(same.same and same.name == one.take for same in one.practised):
            continue
        lines += ["", f"Computed exit {number}, plan {one.plan.hash[:16]}:", *_steps(one, words, catalogue)]
    return [
        *lines,
        "",
        output.paragraph(words.finding("case.unapproved")),
        *(output.paragraph(caution) for caution in words.cautions),
    ]


def _person(person: Person, way: Exit | None, words: Words, catalogue: Catalogue) -> list[str]:
    told = [
        *told_person(person, words, catalogue),
        *told_loads(person, words),
        *told_adding(person, words),
        *told_exit(person, way, words),
    ]
    name = f"{person.code}, who wears {', '.join(words.item_short(item).lower() for item in person.worn) or 'nothing'}"
    return ["", output.paragraph(f"{name}:"), *(output.paragraph(one, "  ") for one in told)]


def _steps(one: Exit, words: Words, catalogue: Catalogue) -> list[str]:
    return [
        f"  {number:>3}  {words.term('who', step.who)}: {say(step, words, catalogue).say}"
        for number, step in enumerate(one.plan.steps, 1)
    ]

"""Could this hospital take this patient tonight: by its registers, the weakest link first, and thirty days ahead.

Without --hazard every hazard is asked about. Exit status: 0 ready for all that was asked (also where something wants to
be looked at); 1 not ready; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse
import datetime
import os
from pathlib import Path
from typing import TYPE_CHECKING

from vestry.cli import output
from vestry.trade import BadFacts, Problem, load_catalogue
from vestry.trade.values import Presentation
from vestry.trade.words import Words, load_words

if TYPE_CHECKING:
    from vestry.hospital.desk.ready import Asked
    from vestry.readiness import Tonight
    from vestry.readiness.telling import TellsNames

MOST_HOURS = 30 * 24


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("--hazard", action="append", metavar="HAZARD", help="which hazard; several times for several")
    parser.add_argument("--hours", type=int, default=24, help="for how many hours (24)")
    parser.add_argument("--presentation", choices=("dry", "wet"), help="of one presentation alone; both when not said")
    parser.add_argument("--on", metavar="DAY", help="from which day, as 2027-03-01 (today)")
    parser.add_argument("--data", type=Path, default=Path("data"), help="the folder that holds the record")
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Ask, and print."""
    hazards, on = _checked(options)
    from vestry.hospital.setting_up import set_up

    set_up(options.data)
    from django.utils import timezone

    from vestry.hospital import facts
    from vestry.hospital.desk.ready import ask

    presentations: tuple[Presentation, ...] = (options.presentation,) if options.presentation else ("dry", "wet")
    answers = ask(
        hazards or list(facts.catalogue().hazards),
        options.hours,
        on or timezone.localdate(),
        names=False,
        presentations=presentations,
    )
    if options.json:
        output.print_json({"answers": [one.found.as_json() for one in answers]})
    else:
        words = load_words("en")
        print("\n".join(_printed(answers, words)))
        print(output.paragraph(words.finding("ready.caution")))
    return 0 if all(one.found.ready for one in answers) else 1


def _printed(answers: list[Asked], words: Words) -> list[str]:
    """One answer whole; of several the weakest link of each, and together those that have no procedure."""
    if len(answers) == 1:
        return describe(answers[0].found, words, answers[0].names)
    without = [one for one in answers if one.no_procedure]
    lines = [line for one in answers if one not in without for line in in_short(one.found, words, one.names)]
    if without:
        named = ", ".join(words.hazard(one.found.question.hazard) for one in without)
        lines.append(output.paragraph(f"{words.term('ready-state', 'not-ready')}: {named}"))
        lines.append(f"  {words.term('ready-why', 'no-procedure')}")
    return [*lines, ""]


def describe(found: Tonight, words: Words, names: TellsNames) -> list[str]:
    """One answer, whole."""
    from vestry.readiness import telling

    lines = [telling.told_verdict(found, words), telling.told_question(found, words), ""]
    lines += [output.paragraph(line) for line in telling.told_cover(found, words)]
    lines += [telling.told_days(found, words), "", "Weakest first:"]
    for link in found.links:
        state = words.term("ready-state", link.state)
        said = [f"{state}: {telling.told_link(link, words, names)}", telling.told_stands(link, words)]
        lines.append(output.paragraph(". ".join(filter(None, said)), "  "))
        lines += [output.paragraph(f"why: {telling.told_why(one, words)}", "      ") for one in link.why]
        lines += [output.paragraph(f"mend: {telling.told_mend(one, words, names)}", "      ") for one in link.mend]
    return [*lines, ""]


def in_short(found: Tonight, words: Words, names: TellsNames) -> list[str]:
    """One answer of many: the verdict, and the weakest link."""
    from vestry.readiness import telling

    head = f"{words.hazard(found.question.hazard)}: {words.term('ready-state', found.state)}"
    if not found.links:
        return [head]
    weakest = found.links[0]
    said = [telling.told_link(weakest, words, names), telling.told_stands(weakest, words)]
    said += [telling.told_why(one, words) for one in weakest.why]
    return [head, output.paragraph("; ".join(filter(None, said)), "  ")]


def _checked(options: argparse.Namespace) -> tuple[list[str], datetime.date | None]:
    """What was asked; BadFacts with everything that is wrong with it."""
    problems, on = [], None
    known = load_catalogue().hazards
    for hazard in options.hazard or ():
        if hazard not in known:
            problems.append(Problem("--hazard", 0, "", f"no hazard is called {hazard}; there are {', '.join(known)}"))
    if not 1 <= options.hours <= MOST_HOURS:
        problems.append(Problem("--hours", 0, "", f"{options.hours}: from 1 to {MOST_HOURS} hours"))
    if options.on:
        try:
            on = datetime.date.fromisoformat(options.on)
        except ValueError:
            problems.append(Problem("--on", 0, "", f"{options.on} is no day; write it as 2027-03-01"))
        else:
            if not 2000 <= on.year < 3000:  # looked at for a month ahead, and to dates of expiry years from it
                problems.append(Problem("--on", 0, "", f"{options.on} lies too far off: from 2000 to 2999"))
    if not (options.data / "db.sqlite3").exists() and not os.environ.get("VESTRY_DATABASE"):
        problems.append(Problem(str(options.data), 0, "", "holds no record yet; `vestry demo` makes one to try"))
    if problems:
        raise BadFacts(problems)
    return list(dict.fromkeys(options.hazard or ())), on

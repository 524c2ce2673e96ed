"""Roster: who covers inside, observing, assisting and relief; gaps, what would close them, and a proposal.

Exit status: 0 every place is covered; 1 some stay empty; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Iterator
from zoneinfo import ZoneInfo, available_timezones

from vestry.cli import files, output
from vestry.roster import Roster, as_it_is, propose, read_rota
from vestry.roster.telling import event_name, headlines, told_closing, why_not
from vestry.trade import BadFacts, Problem
from vestry.trade.words import Words, load_words


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("rota", metavar="ROTA", help="a rota as TOML or JSON (docs/reference/roster.md)")
    parser.add_argument("--as-it-is", action="store_true", help="look at what is fixed; propose nothing")
    parser.add_argument("--ics", metavar="FILE", help="write the shifts there as a calendar (iCalendar)")
    parser.add_argument("--person", default="", metavar="ID", help="with --ics: only theirs")
    parser.add_argument("--zone", default="", metavar="NAME", help="with --ics: the hospital's time zone")
    parser.add_argument("--pdf", metavar="FILE", help="write the roster there, as an accessible PDF")
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Propose, and print."""
    for place in filter(None, (options.ics, options.pdf)):
        files.check_place(place)
    words = load_words("en")
    rota = read_rota(files.read_text(options.rota), options.rota)
    _check(options, [one.id for one in rota.people])
    found = as_it_is(rota) if options.as_it_is else propose(rota)
    if options.ics:
        from vestry.roster.calendar import calendar

        stamp = datetime.datetime.now(datetime.UTC)
        zone = ZoneInfo(options.zone) if options.zone else None
        files.write(
            options.ics,
            calendar(
                rota,
                found,
                stamp,
                lambda one: event_name(one, words),
                zone,
                options.person,
            ),
        )
    if options.pdf:
        from vestry.papers.roster import roster_pdf

        files.write(options.pdf, roster_pdf(found, words, printed_on=datetime.date.today().isoformat()))
    if options.json:
        output.print_json(found.as_json())
    else:
        print("\n".join(describe(found, words)))
    return 1 if found.uncovered else 0


def _check(options: argparse.Namespace, people: list[str]) -> None:
    problems = []
    if options.person and options.person not in people:
        problems.append(Problem(options.rota, 0, "person", f"no person is called {options.person}"))
    if options.zone and options.zone not in available_timezones():
        problems.append(Problem("roster", 0, "zone", f"no time zone is called {options.zone}"))
    if problems:
        raise BadFacts(problems)


def describe(found: Roster, words: Words) -> Iterator[str]:
    """A roster as it is read in a terminal."""

    def heads(*names: str) -> list[str]:
        return [words.term("roster", name) for name in names]

    if found.title:
        yield from (found.title, "")
    yield from (output.paragraph(one) for one in headlines(found, words))
    empty = words.term("roster", "empty")
    rows = [
        (row.day, row.shift, words.term("roster-duty", row.duty), ", ".join([*row.people, *[empty] * row.empty]))
        for row in found.grid
    ]
    yield from ("", output.table(rows, heads("day", "shift", "duty", "who")))
    if found.gaps:
        gaps = [
            (one.day, one.shift, words.term("roster-duty", one.duty), one.needed, one.there, why_not(one, words))
            for one in found.gaps
        ]
        yield from ("", output.table(gaps, heads("day", "shift", "duty", "needed", "there", "why")))
        yield from ("", words.term("roster", "closing") + ":")
        yield from (output.paragraph(one, "  ") for one in told_closing(found.closing, words))
    loads = [(one.person, one.shifts, one.hours, one.inside) for one in found.loads]
    yield from ("", output.table(loads, heads("person", "shifts", "hours", "inside")))
    yield from ("", output.paragraph(words.term("roster", "caution")))
    yield from (output.paragraph(caution) for caution in words.cautions)

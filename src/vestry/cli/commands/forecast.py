"""Forecast a stay: hours of cover by item and size, first to run out, people against need, waste, what to order now.

Exit status: 0 stock lasts the hours asked for with the chance asked for, and there are people for the work; 1 not, or
too few draws to tell; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from vestry.cli import files, output
from vestry.readiness import Forecast, forecast, read_stay
from vestry.readiness.forecast_telling import (
    POOL_HEADS,
    figure_row,
    headlines,
    percent,
    pool_row,
    told_instead,
    told_orders,
)
from vestry.sequence import Plan
from vestry.trade import BadFacts, Catalogue, Problem
from vestry.trade.words import Words, load_words


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("stay", metavar="STAY", help="a stay as TOML or JSON (docs/reference/forecast.md)")
    parser.add_argument("--hours", type=int, help="how long it is to last (as the file says)")
    parser.add_argument("--target", type=float, help="the chance that is called enough, such as 0.95 (as the file)")
    parser.add_argument("--draws", type=int, help="simulated stays (as the file says, else 1000)")
    parser.add_argument("--seed", type=int, help="the same seed gives the same numbers (as the file says, else 1)")
    parser.add_argument(
        "--plan",
        nargs="+",
        action="extend",
        default=[],
        metavar="ENSEMBLE=FILE",
        help="count what this plan puts on (JSON, as `vestry plan --json` prints it) as that ensemble",
    )
    files.facts_argument(parser)
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Simulate, and print."""
    catalogue, words = files.facts_of(options).catalogue, load_words("en")
    stay = read_stay(
        files.read_text(options.stay),
        options.stay,
        catalogue,
        _plans(options.plan, catalogue, words),
        **{name: getattr(options, name) for name in ("hours", "target", "draws", "seed")},
    )
    found = forecast(stay, catalogue, progress=lambda done, _: output.progress("stays", done))
    if options.json:
        output.print_json(found.as_json())
    else:
        print("\n".join(describe(found, words)))
    return 0 if found.enough == "yes" and found.people_enough else 1


def _plans(given: list[str], catalogue: Catalogue, words: Words) -> dict[str, Plan]:
    found, problems = {}, []
    for one in given:
        name, equals, file = one.partition("=")
        if not equals:
            problems.append(Problem("forecast", 0, "plan", f"ENSEMBLE=FILE, such as bedside=plan.json (got {one!r})"))
            continue
        try:
            found[name] = files.read_plan(file, catalogue, words)
        except BadFacts as bad:
            problems.extend(bad.problems)
    if problems:
        raise BadFacts(problems)
    return found


def describe(found: Forecast, words: Words) -> Iterator[str]:
    """A forecast as it is read in a terminal."""

    def heads(*names: str) -> list[str]:
        return [words.term("forecast", name) for name in names]

    if found.title:
        yield from (found.title, "")
    yield from (output.paragraph(one) for one in headlines(found, words))
    yield from ("", output.table([pool_row(one, found, words) for one in found.pools], heads(*POOL_HEADS)), "")
    yield from (output.paragraph(one) for one in told_orders(found, words))
    yield from ("", *(output.paragraph(told_instead(one, words)) for one in found.instead))
    rows = [
        (one.shift, one.group, one.there, f"{one.hours:g}", _nine(one.need), percent(one.enough.value))
        for one in found.shifts
    ]
    yield output.table(rows, heads("shift", "group", "there", "hours-there", "hours-need", "enough"))
    yield ""
    waste = [
        (words.waste(one.stream), f"{one.pieces.value:.0f}", _nine(one.kilograms), _nine(one.litres))
        for one in found.waste
    ]
    yield output.table(waste, heads("stream", "pieces", "kilograms", "litres"))
    for name, figures in (("defaults", found.defaults), ("beside", found.beside)):
        if figures:
            yield from ("", words.finding(f"forecast.{name}"))
            yield output.table(
                [figure_row(one, words) for one in figures], heads("figure", "value", "source", "certainty")
            )
    yield from ("", output.paragraph(words.finding("forecast.draws", draws=found.draws)))
    yield output.paragraph(words.term("forecast", "caution"))
    yield from (output.paragraph(caution) for caution in words.cautions)


def _nine(quantiles: tuple) -> str:
    return f"{quantiles[0].value:.0f} – {quantiles[2].value:.0f} – {quantiles[4].value:.0f}"

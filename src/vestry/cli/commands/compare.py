"""Compare two sequences of steps: routes endpoint by endpoint, steps side by side, minutes.

Exit status: 0 compared; 1 compared, but ensembles or cases differ, so that numbers of routes do not compare;
2 wrong use or bad input.
"""

from __future__ import annotations

import argparse

from vestry.cli import files, output
from vestry.cli.sequences import WHAT, read_subject
from vestry.sequence import Comparison, Subject, compare
from vestry.sequence.comparison import CountedTable, Row
from vestry.sequence.telling import said_step, summary, told_team
from vestry.trade import Catalogue
from vestry.trade.words import Words, load_words

TITLES = {
    ("all", False): "Routes by errors needed (from every contaminated face)",
    ("all", True): "The same with hidden faults",
    ("high", False): "The same from heavily loaded faces only",
    ("high", True): "From heavily loaded faces only, with hidden faults",
}


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("a", metavar="A", help=WHAT)
    parser.add_argument("b", metavar="B", help=WHAT)
    parser.add_argument("--presentation", choices=("dry", "wet"), help="judge orders for this presentation")
    files.facts_argument(parser)
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Compare and print."""
    catalogue, words = files.facts_of(options).catalogue, load_words("en")
    a, b = (read_subject(name, catalogue, words, options.presentation) for name in (options.a, options.b))
    found = compare(a, b)
    if options.json:
        output.print_json(found.as_json())
    else:
        print("\n".join(describe(found, a, b, words, catalogue)))
    return 0 if found.comparable else 1


def describe(found: Comparison, a: Subject, b: Subject, words: Words, catalogue: Catalogue) -> list[str]:
    """A comparison as it is read in a terminal."""
    lines = [f"A  {found.a.title}: {words.verdict(found.a.verdict).short}"]
    lines += [f"B  {found.b.title}: {words.verdict(found.b.verdict).short}", ""]
    for first, *rest in summary(found, a, b, words):
        lines += [output.paragraph(first), *(output.paragraph(one, "    ") for one in rest), ""]
    for title, items in (("Worn in A only", found.dropped), ("Worn in B only", found.added)):
        if items:
            lines += [f"{title}: " + ", ".join(words.item(item) for item in items), ""]
    for table in found.tables:
        lines += [f"{TITLES[table.loads, table.latent]}, A then B:", counts(table, found.order, words), ""]
    lines += ["Steps side by side:", output.table([_row(row, words, catalogue) for row in found.steps], _HEAD), ""]
    lines += team_lines(found, words, catalogue)
    return [*lines, *(output.paragraph(caution) for caution in words.cautions)]


def team_lines(found: Comparison, words: Words, catalogue: Catalogue) -> list[str]:
    """What differs of observer, assistant and lane; nothing where one of the two is an order."""
    if not found.team and not found.turnaround:
        return []
    lines: list[str] = []
    for title, told in told_team(found, words, catalogue):
        lines += [f"{title}:", *(output.paragraph(one, "  ") for one in told), ""]
    return lines or [words.finding("team.same"), ""]


def counts(table: CountedTable, order: int, words: Words) -> str:
    """One table of counts, both sides in each cell."""
    rows = [
        (
            words.endpoint(one.endpoint),
            *(f"{x} / {y}" for x, y in zip(one.a_ever, one.b_ever, strict=True)),
            *(f"{x} / {y}" for x, y in zip(one.a_at_end, one.b_at_end, strict=True)),
            {"a": "A", "b": "B", "equal": "equal"}[one.better],
        )
        for one in table.endpoints
    ]
    sizes = range(order + 1)
    return output.table(rows, ("reaches", *(f"{n} err" for n in sizes), *(f"{n} at end" for n in sizes), "fewer"))


_HEAD = ("", "A", "B", "step", "errors A", "errors B")


def _row(row: Row, words: Words, catalogue: Catalogue) -> tuple[str, ...]:
    step = row.b or row.a
    assert step is not None
    return (
        words.term("change", row.change),
        str(row.a.number) if row.a else "",
        str(row.b.number) if row.b else "",
        said_step(step, words, catalogue)[1],
        *(_further(one) for one in (row.a, row.b)),
    )


def _further(step: object) -> str:
    if step is None or not getattr(step, "judged", False):
        return ""
    further = getattr(step, "further", None)
    return "more" if further is None else str(further)

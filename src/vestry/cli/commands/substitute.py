"""Substitute an item of a plan: the shelf lacks it, or the wearer has no fit test for it. Unapproved.

Exit status: 0 a plan that is clean as taught; 1 no plan without it, or one with a route as taught; 2 wrong use or bad
input.
"""

from __future__ import annotations

import argparse
import datetime
import json
from typing import get_args

from vestry.cli import files, output
from vestry.cli.commands.compare import team_lines
from vestry.sequence import NoPlan, Substitution, substitute
from vestry.sequence.substitution import Because
from vestry.sequence.telling import told_change, told_substitution
from vestry.trade import Catalogue
from vestry.trade.words import Words, load_words


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("plan", metavar="PLAN", help="a plan as JSON, as `vestry plan --json` prints it")
    parser.add_argument("--without", required=True, metavar="ITEM", help="the item that cannot be had, or not worn")
    parser.add_argument(
        "--with", dest="instead", nargs="+", default=[], metavar="ITEM", help="what is to be worn; the policy's choice"
    )
    parser.add_argument("--because", choices=get_args(Because), default="shelf", help="shelf (default) or fit-test")
    parser.add_argument("--out", metavar="FILE", help="write the new plan there, as `vestry plan --json` would")
    parser.add_argument("--sheet", metavar="FILE", help="write the differences there, as an accessible PDF")
    files.facts_argument(parser)
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Substitute and print."""
    for place in filter(None, (options.out, options.sheet)):
        files.check_place(place)
    catalogue, words = files.facts_of(options).catalogue, load_words("en")
    plan = files.read_plan(options.plan, catalogue, words)
    try:
        found = substitute(plan, options.without, catalogue, tuple(options.instead), options.because)
    except NoPlan as none:
        return output.no_plan(none, options.json, words)
    if options.out:
        document = {"hash": found.plan.hash, "plan": found.plan.as_json(), "assurance": found.assurance.as_json()}
        files.write(options.out, json.dumps(document, indent=1, ensure_ascii=False).encode())
    if options.sheet:
        from vestry.papers import differences_pdf

        files.write(
            options.sheet, differences_pdf(found, words, catalogue, printed_on=datetime.date.today().isoformat())
        )
    if options.json:
        output.print_json(found.as_json())
    else:
        print("\n".join(describe(found, words, catalogue)))
    return 0 if found.assurance.clean else 1


def describe(found: Substitution, words: Words, catalogue: Catalogue) -> list[str]:
    """A substitution as it is read in a terminal."""
    changed = [row for row in found.comparison.steps if row.change != "kept"]
    same = len(found.comparison.steps) - len(changed)
    return [
        words.finding("substitute.title", item=words.item_it(found.without)),
        "",
        *(output.paragraph(one) for one in told_substitution(found, words)),
        output.paragraph(f"{words.verdict(found.assurance.verdict).short}. {words.finding('substitute.not-compared')}"),
        "",
        *(output.paragraph(told_change(row, words, catalogue), "  ") for row in changed),
        "  " + words.finding("substitute.same", count=same),
        "",
        *team_lines(found.comparison, words, catalogue),
        f"Plan {found.plan.hash[:16]}, before {found.before[:16]}",
        "",
        *(output.paragraph(caution) for caution in words.cautions),
    ]

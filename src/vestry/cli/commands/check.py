"""Check an order written by anyone, for any ensemble of catalogue items, against the contact model.

Exit status: 0 clean as taught; 1 something is reached, or the order is not for this case; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse

from vestry.cli import files, output
from vestry.sequence import assure_order
from vestry.trade import BadFacts, Problem
from vestry.trade.words import load_words


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("file", metavar="FILE", help="a sequence file, TOML or JSON (- for standard input)")
    parser.add_argument("--presentation", choices=("dry", "wet"), help="judge it for this presentation")
    parser.add_argument(
        "--without",
        action="append",
        default=[],
        metavar="CONVENTION",
        help="a published convention that is not relied on; may be given several times",
    )
    parser.add_argument("--errors", type=int, default=3, choices=(1, 2, 3, 4), help="count routes up to so many errors")
    files.facts_argument(parser)
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Check and print."""
    catalogue, words = files.facts_of(options).catalogue, load_words("en")
    order, lines = files.read_order_file(options.file)
    unknown = [one for one in options.without if one not in catalogue.conventions]
    if unknown:
        known = ", ".join(catalogue.conventions)
        raise BadFacts(
            [Problem("check", 0, "without", f"no convention is called {one}; there are {known}") for one in unknown]
        )
    if options.presentation:
        case = order.case.model_copy(update={"presentation": options.presentation})
        order = order.model_copy(update={"case": case})
    with files.blamed_on(options.file, lines):
        found = assure_order(order, catalogue, options.errors, frozenset(options.without))
    if options.json:
        output.print_json(found.as_json())
    else:
        print(order.title)
        print("\n".join(output.verdict_lines(found, words)))
        watch = [one for one in found.steps if one.watch]
        if watch:
            print("\nWatch this (one error reaches mucosa or skin):")
            print(
                output.table(
                    [(one.number, one.step, words.endpoint(one.endpoint or "skin")) for one in watch],
                    ("step", "what", "reaches"),
                )
            )
    return 0 if found.verdict == "clean" else 1

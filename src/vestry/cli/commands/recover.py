"""The way on after a deviation, a tear or soiling at a step, searched and replayed from its stated start.

Exit status: 0 the way on reaches nothing further as taught; 1 it does; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse

from vestry.cli import files, output
from vestry.contact.taught import taught_step, worn_after
from vestry.sequence import Happened, Recovery, recover, say_step
from vestry.trade import Catalogue
from vestry.trade.words import Words, load_words


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("plan", metavar="PLAN", help="a plan as JSON, as `vestry plan --json` prints it")
    parser.add_argument("--at", required=True, metavar="STEP", help="the id of the step at which it happened")
    parser.add_argument(
        "--event", action="append", default=[], help="a slip or fault by its id; may be given several times"
    )
    parser.add_argument("--soiled", action="append", default=[], metavar="SURFACE", help="a surface seen soiled")
    parser.add_argument("--whatever", action="store_true", help="whatever may have gone wrong at this step")
    files.facts_argument(parser)
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Recover and print."""
    catalogue, words = files.facts_of(options).catalogue, load_words("en")
    plan = files.read_plan(options.plan, catalogue, words)
    happened = Happened(
        tuple(options.event), tuple(options.soiled), options.whatever or not (options.event or options.soiled)
    )
    found = recover(plan, catalogue, options.at, happened)
    if options.json:
        output.print_json(found.model_dump(mode="json", by_alias=True))
    else:
        print("\n".join(describe(found, words, catalogue)))
    return 0 if found.clean else 1


def describe(found: Recovery, words: Words, catalogue: Catalogue) -> list[str]:
    """A recovery as it is read aloud."""
    lines = ["Hands still, away from the face.", "Computed and unapproved: the unit's approved answer comes first.", ""]
    if found.exposed:
        reached = ", ".join(words.surface(name) for name in found.exposed)
        lines += [f"May have been reached already: {reached}. First aid by the unit's own text.", ""]
    worn = found.worn
    for number, step in enumerate(found.steps, 1):
        taught = taught_step(step, worn, catalogue)
        worn = worn_after(taught, worn, catalogue)
        lines.append(
            f"  {number:>3}  {words.term('who', taught.who)}: "
            f"{say_step(step, taught.technique.id, words, catalogue).say}"
        )
    return [*lines, "", *(output.paragraph(caution) for caution in words.cautions)]

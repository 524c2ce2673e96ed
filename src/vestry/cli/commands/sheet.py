"""The printed sheet of a plan, as an accessible PDF to be read aloud at one metre.

Exit status: 0 written; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse
import datetime

from vestry.cli import files
from vestry.sequence import assure
from vestry.trade.words import load_words


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("plan", metavar="PLAN", help="a plan as JSON, as `vestry plan --json` prints it")
    parser.add_argument("--out", required=True, metavar="FILE", help="the PDF to write")
    files.facts_argument(parser)
    parser.add_argument("--json", action="store_true", help="say what was written as JSON")


def run(options: argparse.Namespace) -> int:
    """Write the sheet."""
    from vestry.cli import output
    from vestry.papers import sheet_pdf

    files.check_place(options.out)
    catalogue, words = files.facts_of(options).catalogue, load_words("en")
    plan = files.read_plan(options.plan, catalogue, words)
    content = sheet_pdf(
        plan, assure(plan, catalogue), words, catalogue, None, printed_on=datetime.date.today().isoformat()
    )
    files.write(options.out, content)
    if options.json:
        output.print_json({"written": options.out, "bytes": len(content), "plan": plan.hash, "approved": False})
    else:
        print(f"{options.out}: plan {plan.hash[:16]}, unapproved")
    return 0

"""The command line: one module per command, errors said once, in the reader's words."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence

from vestry.cli.commands import (
    amounts,
    catalog,
    change,
    check,
    compare,
    demo,
    evidence,
    explain,
    forecast,
    orders,
    overlay,
    plan,
    prove,
    recover,
    rules,
    scan,
    serve,
    sheet,
    substitute,
    validate,
    whatif,
)
from vestry.sequence import NoPlan
from vestry.trade import BadFacts

YES, NO, WRONG_USE = 0, 1, 2
LONGEST_LINE = 500
COMMANDS = (
    plan,
    check,
    explain,
    compare,
    substitute,
    change,
    rules,
    scan,
    recover,
    catalog,
    overlay,
    amounts,
    whatif,
    evidence,
    validate,
    orders,
    prove,
    forecast,
    sheet,
    serve,
    demo,
)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit status."""
    parser = argparse.ArgumentParser(
        prog="vestry",
        description="From the case at hand to a dressed, watched, undressed and accounted-for colleague.",
        epilog="Supports trained people. Local procedure governs. Checked against the contact model; never a promise.",
    )
    parser.add_argument("--version", action="version", version="vestry 0.1.0")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for module in COMMANDS:
        name = module.__name__.rpartition(".")[2]
        summary = (module.__doc__ or "").strip().splitlines()[0]
        sub = commands.add_parser(name, help=summary, description=module.__doc__)
        module.arguments(sub)
        sub.set_defaults(run=module.run)
    try:
        arguments = parser.parse_args(argv)
    except SystemExit as stop:
        return WRONG_USE if stop.code else YES
    try:
        status = int(arguments.run(arguments))
        sys.stdout.flush()
        return status
    except BadFacts as bad:
        for problem in bad.problems:
            print(plainly(str(problem)), file=sys.stderr)
        return WRONG_USE
    except NoPlan as none:
        print(plainly(f"No way on: {none.why}"), file=sys.stderr)
        return NO
    except BrokenPipeError:  # whoever read has read enough; before OSError, which it is one of
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return YES
    except OSError as error:
        print(f"{error.filename or 'file'}: {error.strerror or error}", file=sys.stderr)
        return WRONG_USE


def plainly(text: str) -> str:
    """One line that a terminal shows as it is: nothing that moves the cursor, and no key of a megabyte."""
    shown = "".join(c if c.isprintable() else c.encode("unicode-escape").decode() for c in text)
    return shown if len(shown) <= LONGEST_LINE else f"{shown[:LONGEST_LINE]}..."

"""Runs one of some commands: errors said once, in the reader's words, with the exit status that they have."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterable, Sequence
from types import ModuleType

from vestry.trade.errors import BadFacts

YES, NO, WRONG_USE = 0, 1, 2
LONGEST_LINE = 500


def run(modules: Iterable[ModuleType], argv: Sequence[str] | None) -> int:
    """Parse and run; returns the exit status."""
    parser = argparse.ArgumentParser(
        prog="vestry",
        description="From the case at hand to a dressed, watched, undressed and accounted-for colleague.",
        epilog="Supports trained people. Local procedure governs. Checked against the contact model; never a promise.",
    )
    parser.add_argument("--version", action="version", version="vestry 0.1.0")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for module in modules:
        name = module.__name__.rpartition(".")[2].replace("_", "-")
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

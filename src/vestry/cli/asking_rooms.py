"""What `air`, `dilute`, `waste` and `heat` share: quantities from the command line, own records, printing."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import TypeVar

from vestry.cli import output
from vestry.cli.answers import Answer, Cited
from vestry.cli.reading_files import read_text
from vestry.trade.errors import BadFacts, Problem
from vestry.trade.operations import Operations, load_operations, load_operations_texts
from vestry.trade.quantities import BadQuantity
from vestry.trade.shipped import shipped_texts
from vestry.trade.words import Words

T = TypeVar("T")


def operations_argument(parser: argparse.ArgumentParser) -> None:
    """The options that all of them have."""
    parser.add_argument(
        "--own",
        nargs="+",
        action="extend",
        default=[],
        metavar="FILE",
        help="the hospital's own records, laid over those shipped (docs/reference/operations.md)",
    )
    parser.add_argument("--json", action="store_true")


def operations_of(options: argparse.Namespace) -> Operations:
    """The records that a command runs on; BadFacts with every problem of every file."""
    if not options.own:
        return load_operations()
    return load_operations_texts(shipped_texts("operations"), {name: read_text(name) for name in options.own})


class Asked:
    """Reads what was typed, and gathers everything that is wrong with it."""

    def __init__(self, command: str) -> None:
        self.command, self.problems = command, list[Problem]()

    def read(self, text: str | None, field: str, reader: Callable[[str], T]) -> T | None:
        """One option through a reader; None when it was not given or is wrong."""
        if text is None:
            return None
        try:
            return reader(text)
        except (BadQuantity, ValueError, KeyError) as bad:
            self.wrong(field, str(getattr(bad, "what", None) or bad.args[0]))
            return None

    def all(self, texts: Iterable[str], field: str, reader: Callable[[str], Fraction]) -> list[Fraction]:
        """Several."""
        return [one for one in (self.read(text, field, reader) for text in texts) if one is not None]

    def wrong(self, field: str, what: str) -> None:
        """Note one thing that is wrong."""
        self.problems.append(Problem(self.command, 0, field, what))

    def done(self) -> None:
        """BadFacts when anything was wrong."""
        if self.problems:
            raise BadFacts(self.problems)


def print_answer(answer: Answer, lines: Iterable[str], options: argparse.Namespace, words: Words) -> None:
    """As JSON, or to be read, with the cautions."""
    if options.json:
        output.print_json(answer.model_dump(mode="json", by_alias=True))
    else:
        print("\n".join([*lines, "", *(output.paragraph(caution) for caution in words.cautions)]))


def told_source(one: Cited, words: Words) -> str:
    """A citation in one line."""
    year = f" {one.year}" if one.year else ""
    return f"{one.publisher}{year}, {words.term('certainty', one.certainty)}" + (f". {one.note}" if one.note else "")


def short(number: float) -> str:
    """A number as it is read: up to four figures that mean something."""
    return f"{number:.4g}" if abs(number) < 1000 else f"{number:,.0f}"

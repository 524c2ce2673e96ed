"""Files that a command reads and writes: read whole or refused whole, written whole or not at all."""

from __future__ import annotations

import argparse
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel

from vestry.cli.reading_files import read_text as read_text
from vestry.sequence import Plan
from vestry.sequence.checking import check_plan
from vestry.trade import BadFacts, Catalogue, Order, Problem, load_catalogue, read_order, reading
from vestry.trade.overlay import Overlaid, lay_over
from vestry.trade.words import UnknownWord, Words

Model = TypeVar("Model", bound=BaseModel)
Lines = dict[reading.Path, int]


def facts_argument(parser: argparse.ArgumentParser) -> None:
    """The option that lays a hospital's own facts over ours."""
    parser.add_argument(
        "--facts",
        nargs="+",
        action="extend",
        default=[],
        metavar="FILE",
        help="the hospital's own facts, laid over those shipped (docs/reference/overlay.md)",
    )


def facts_of(options: argparse.Namespace) -> Overlaid:
    """The facts that a command runs on. BadFacts with every problem of every file that was named."""
    if not options.facts:
        return Overlaid(load_catalogue(), ())
    return overlaid(options.facts)


def overlaid(names: list[str]) -> Overlaid:
    """These files laid over ours; all that cannot be read is told at once."""
    return lay_over(texts_of(names))


def texts_of(names: list[str]) -> dict[str, str]:
    """These files, name to text; all that cannot be read is told at once."""
    texts: dict[str, str] = {}
    problems: list[Problem] = []
    for name in names:
        try:
            texts[name] = read_text(name)
        except BadFacts as bad:
            problems.extend(bad.problems)
    if problems:
        raise BadFacts(problems)
    return texts


def read_order_file(name: str) -> tuple[Order, Lines]:
    """A sequence file, and the line of each of its fields."""
    text = read_text(name)
    return read_order(text, name), reading.parse(text, name)[1]


@contextmanager
def blamed_on(name: str, lines: Lines | None = None, below: str = "", only: str = "") -> Iterator[None]:
    """What turns out to be wrong with a file once it is used is told with the file's name and line.

    below    only fields under this name, which in the file stand at the top
    only     only fields that begin so
    """
    try:
        yield
    except BadFacts as bad:
        raise BadFacts(
            [
                _blamed(problem, name, lines or {}, below) if problem.field.startswith(only) else problem
                for problem in bad.problems
            ]
        ) from None


def _blamed(problem: Problem, name: str, lines: Lines, below: str) -> Problem:
    if not problem.field.startswith(below):
        return problem
    parts = problem.field.removeprefix(below).split(".")
    path = tuple(int(part) if part.isdigit() else part for part in parts)
    return replace(problem, file=name, line=reading.line_of(lines, path))


def read_model(model: type[Model], name: str) -> tuple[Model, Lines]:
    """A TOML or JSON file as a value, and the line of each of its fields."""
    document, lines = reading.parse(read_text(name), name)
    return reading.validate(model, document, name, lines), lines


def read_plan(name: str, catalogue: Catalogue, words: Words) -> Plan:
    """A plan as JSON: the plan itself, or what `vestry plan --json` prints. All that it names is known here."""
    document, lines = reading.parse(read_text(name), name)
    return plan_in(document, lines, name, catalogue, words)


def plan_in(document: dict[str, Any], lines: Lines, name: str, catalogue: Catalogue, words: Words) -> Plan:
    """The plan in a document that was read; as `read_plan`."""
    inner = document.get("plan") if isinstance(document.get("plan"), dict) else document
    plan = reading.validate(Plan, inner, name, lines)
    with blamed_on(name):
        check_plan(plan, catalogue)
    unsaid = [*_unsaid(plan, words, name)]
    if unsaid:
        raise BadFacts(unsaid)
    return plan


def _unsaid(plan: Plan, words: Words, name: str) -> Iterator[Problem]:
    """What a plan names that has no words."""
    for number, one in enumerate(plan.ensemble):
        for reason in one.reasons:
            try:
                words.why(reason.why)
            except UnknownWord as unknown:
                yield Problem(name, 0, f"ensemble.{number}.reasons", str(unknown))
    for number, step in enumerate(plan.steps):
        topics = {"confirm": words.confirm, "inspect": words.inspect}
        if step.topic is not None and step.act in topics:
            try:
                topics[step.act](step.topic)
            except UnknownWord as unknown:
                yield Problem(name, 0, f"steps.{number}.topic", str(unknown))


def check_place(name: str) -> None:
    """BadFacts when no file can be written there; asked before the work, not after it."""
    path = Path(name)
    if path.is_dir():
        raise BadFacts([Problem(name, 0, "", "a folder; a file is wanted")])
    if not path.parent.is_dir():
        raise BadFacts([Problem(name, 0, "", f"the folder {path.parent} does not exist")])


def write(name: str, content: bytes) -> None:
    """Write a file beside its place and move it there, so that nothing is ever half-written."""
    check_place(name)
    path = Path(name)
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise

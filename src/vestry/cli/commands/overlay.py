"""A hospital's own facts, laid over those that Vestry ships: check the files together and list what they shadow.

Exit status: 0 they can be laid; 2 they cannot, or wrong use.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from vestry.cli import files, output
from vestry.trade import BadFacts, Problem, load_catalogue
from vestry.trade.operations import Operations, load_operations_texts
from vestry.trade.overlay import Overlaid, lay_over
from vestry.trade.parting import part
from vestry.trade.shadows import Shadow, shown
from vestry.trade.shipped import shipped_texts
from vestry.trade.standards import Standards, load_standards_texts

T = TypeVar("T")


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("what", choices=("check",), help="read the files together, as one catalogue with ours")
    parser.add_argument("files", nargs="+", metavar="FILE", help="overlay files, TOML or JSON")
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Lay and list."""
    laid = read(options.files)
    if options.json:
        output.print_json(describe(laid, options.files))
    else:
        print("\n".join(lines(laid)))
    return 0


@dataclass(frozen=True)
class Checked:
    """All files of one overlay: facts, what a unit runs on, fit and size."""

    facts: Overlaid
    operations: Operations
    standards: Standards

    @property
    def shadows(self) -> tuple[Shadow, ...]:
        """Everything that lies over ours."""
        return (*self.facts.shadows, *self.operations.shadows, *self.standards.shadows)


def read(names: list[str]) -> Checked:
    """The files, each by its sort. BadFacts with every problem of all."""
    parted, problems = part(files.texts_of(names)), list[Problem]()

    def laid(make: Callable[[], T]) -> T | None:
        try:
            return make()
        except BadFacts as bad:
            problems.extend(bad.problems)
            return None

    facts = laid(lambda: lay_over({**parted.facts, **parted.evidence}))
    operations = laid(lambda: load_operations_texts(shipped_texts("operations"), parted.operations))
    standards = laid(lambda: load_standards_texts(shipped_texts("standards"), parted.standards))
    if facts is None or operations is None or standards is None:
        raise BadFacts(problems)
    return Checked(facts, operations, standards)


def describe(laid: Checked, names: list[str]) -> dict[str, object]:
    """What was laid, as plain JSON; docs/reference/overlay.md."""
    return {
        "format-version": 1,
        "files": names,
        "ours": load_catalogue().digest,
        "facts": laid.facts.digest,
        "operations": laid.operations.digest,
        "standards": laid.standards.digest,
        "shadowed": [shadow.as_json() for shadow in laid.shadows],
    }


def lines(laid: Checked) -> list[str]:
    """The same, to be read."""
    found = [f"{len(laid.shadows)} records laid over, added or retired. Nothing of ours is deleted."]
    for shadow in laid.shadows:
        found += ["", *_one(shadow)]
    return [*found, "", f"Facts digest {laid.facts.digest} (as shipped: {load_catalogue().digest})"]


def _one(shadow: Shadow) -> list[str]:
    why = shadow.because
    head = f"{shadow.kind} {shadow.id}: {shadow.change.replace('-', ' ')} ({shadow.file}:{shadow.line})"
    differs = [f"  {one.field}: {shown(one.ours)} -> {shown(one.theirs)}" for one in shadow.differs]
    if shadow.change == "laid-over" and not differs:
        differs = ["  says what ours says"]
    return [head, *differs, output.paragraph(f"{why.reason} {why.name}, {why.date.isoformat()}", "  ")]

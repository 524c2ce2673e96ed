"""A hospital's own facts, laid over those that Vestry ships: check the files together and list what they shadow.

Exit status: 0 they can be laid; 2 they cannot, or wrong use.
"""

from __future__ import annotations

import argparse

from vestry.cli import files, output
from vestry.trade import load_catalogue
from vestry.trade.overlay import Overlaid
from vestry.trade.shadows import Shadow, shown


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("what", choices=("check",), help="read the files together, as one catalogue with ours")
    parser.add_argument("files", nargs="+", metavar="FILE", help="overlay files, TOML or JSON")
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Lay and list."""
    laid = files.overlaid(options.files)
    if options.json:
        output.print_json(describe(laid, options.files))
    else:
        print("\n".join(lines(laid)))
    return 0


def describe(laid: Overlaid, names: list[str]) -> dict[str, object]:
    """What was laid, as plain JSON; docs/reference/overlay.md."""
    return {
        "format-version": 1,
        "files": names,
        "ours": load_catalogue().digest,
        "facts": laid.digest,
        "shadowed": [shadow.as_json() for shadow in laid.shadows],
    }


def lines(laid: Overlaid) -> list[str]:
    """The same, to be read."""
    found = [f"{len(laid.shadows)} records laid over, added or retired. Nothing of ours is deleted."]
    for shadow in laid.shadows:
        found += ["", *_one(shadow)]
    return [*found, "", f"Facts digest {laid.digest} (as shipped: {load_catalogue().digest})"]


def _one(shadow: Shadow) -> list[str]:
    why = shadow.because
    head = f"{shadow.kind} {shadow.id}: {shadow.change.replace('-', ' ')} ({shadow.file}:{shadow.line})"
    differs = [f"  {one.field}: {shown(one.ours)} -> {shown(one.theirs)}" for one in shadow.differs]
    if shadow.change == "laid-over" and not differs:
        differs = ["  says what ours says"]
    return [head, *differs, output.paragraph(f"{why.reason} {why.name}, {why.date.isoformat()}", "  ")]

"""Restore a backup into a fresh data folder, checked against its manifest and along its chains.

Exit status: 0 restored, and the chains hold; 1 it could not be, or they do not; 2 wrong use.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from vestry.cli import output


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("file", type=Path, metavar="FILE", help="a file that vestry backup made")
    parser.add_argument("--data", type=Path, required=True, help="the folder to restore into: empty, or not there yet")
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Restore, verify, and say so."""
    from vestry.hospital.keeping_copies import CannotCopy, restore

    try:
        found = restore(options.file, options.data)
    except CannotCopy as why:
        print(f"Not restored: {why}.", file=sys.stderr)
        return 1
    from vestry.hospital.setting_up import migrate, set_up

    set_up(options.data)
    migrate()
    from vestry.hospital.record.chain import verified

    walked = verified((found.head,) if found.events else ())
    said = {
        "data": str(options.data),
        "at": found.at,
        "events": found.events,
        "head": found.head,
        "holds": walked.holds,
    }
    if options.json:
        output.print_json(said)
    else:
        print(f"Restored into {options.data}: {found.events} events, as of {found.at}.")
        print("The chains hold." if walked.holds else "The chains do not hold: vestry verify-record says where.")
    return 0 if walked.holds else 1

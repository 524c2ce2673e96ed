"""Back up the record of a data folder into one file, while the pages are served and written on.

The file holds everything, the secret key too: keep it as the record itself is kept. Exit status: 0 copied; 1 it could
not be; 2 wrong use.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from vestry.cli import output


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("--data", type=Path, default=Path("data"), help="the folder that holds the record")
    parser.add_argument("--to", type=Path, required=True, metavar="FILE", help="the new file; none is overwritten")
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Copy and say what was copied."""
    from vestry.hospital.keeping_copies import CannotCopy, backup

    try:
        made = backup(options.data, options.to)
    except CannotCopy as why:
        print(f"No backup: {why}.", file=sys.stderr)
        return 1
    said = {"file": str(made.file), "at": made.at, "bytes": made.size, "events": made.events, "head": made.head}
    if options.json:
        output.print_json(said)
    else:
        print(f"Backed up to {made.file}: {made.events} events, {made.size} bytes.\nHead of the record: {made.head}")
    return 0

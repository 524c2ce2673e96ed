"""Load the invented hospital, Harrow Point General, and plan a demo case. Safe to run twice.

Exit status: 0 loaded; 1 it could not be; 2 wrong use.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from vestry.cli import output


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("--data", type=Path, default=Path("data"), help="the folder that holds the record")
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Load and plan."""
    from vestry.hospital.demo import load

    return int(load(options.data, output.progress) or 0)

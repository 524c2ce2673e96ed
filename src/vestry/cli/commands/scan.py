"""What a scanned code says: item number, lot, expiry and serial by GS1's rules; what in it cannot be right is named.

Exit status: 0 read whole; 1 something in it cannot be read or cannot be right; 2 wrong use.
"""

from __future__ import annotations

import argparse
import datetime

from vestry.cli import output
from vestry.stock.gs1 import Scan, read_code
from vestry.stock.scanners import SEPARATORS
from vestry.trade import BadFacts, Problem

_ROWS = (
    ("item number (GTIN)", "gtin"),
    ("packaging level", "packaging"),
    ("lot", "lot"),
    ("expiry", "expiry"),
    ("production", "production"),
    ("best before", "best_before"),
    ("serial", "serial"),
    ("count", "count"),
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("text", metavar="TEXT", help="as the scanner sends it, or as it is printed, with brackets")
    parser.add_argument(
        "--separator",
        action="append",
        default=[],
        metavar="KEY",
        help="what your scanner types for the group separator; <GS>, {GS} and ^] are known",
    )
    parser.add_argument("--year", type=int, help="this year, by which a date's century is told (this machine's)")
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Read the code and say what it says."""
    year = options.year if options.year is not None else datetime.date.today().year
    if not 2000 <= year <= 2999:
        raise BadFacts([Problem("--year", 0, "", f"{year}: a year of four digits, from 2000")])
    found = read_code(options.text, year, (*SEPARATORS, *filter(None, options.separator)))
    if options.json:
        output.print_json(found.model_dump(mode="json", by_alias=True))
    else:
        print("\n".join(_lines(found)))
    return 0 if found.whole else 1


def _lines(found: Scan) -> list[str]:
    lines = [f"{title}: {getattr(found, name)}" for title, name in _ROWS if getattr(found, name) is not None]
    lines += [f"({ai}): {value}" for ai, value in found.other.items()]
    lines += [
        f"Cannot be right: {one.field}: {one.what}" if one.field else f"Not read: {one.what}" for one in found.problems
    ]
    lines += [f"Look at: {one.field}: {one.what}" for one in found.notes]
    return lines

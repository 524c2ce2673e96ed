"""Begin a record for a hospital: an empty one, with its name and one administrator. Refused where there is one already.

Prints the set-up code with which the administrator sets a password. The administrator then adds everybody else.

Exit status: 0 begun; 1 there is a record already; 2 wrong use.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from vestry.cli import output
from vestry.trade import BadFacts, Problem


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("--data", type=Path, default=Path("data"), help="the folder that will hold the record")
    parser.add_argument("--hospital", required=True, help="its name, as it stands on pages and sheets")
    parser.add_argument(
        "--administrator", required=True, metavar="SIGN-IN", help="sign-in name of the first administrator"
    )
    parser.add_argument("--name", required=True, help="the administrator's name")
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Begin."""
    from vestry.hospital.beginning import begin, wrong

    problems = [
        Problem(field, 0, "", what) for field, what in wrong(options.hospital, options.administrator, options.name)
    ]
    if problems:
        raise BadFacts(problems)
    code = begin(options.data, options.hospital, options.administrator, options.name)
    if code is None:
        print(f"{options.data} holds a record already. It was left as it is.", file=sys.stderr)
        return 1
    if options.json:
        output.print_json({"format-version": 1, "administrator": options.administrator, "set-up-code": code})
        return 0
    print(f"{options.hospital} is begun in {options.data}.")
    print(f"Set-up code of {options.administrator}, good for 72 hours and shown only now: {code}")
    print("Serve the pages (vestry serve), open /sign-in/first/ and set a password with it.")
    return 0

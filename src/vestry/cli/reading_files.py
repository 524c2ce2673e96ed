"""The text of a file that a command is handed; apart, for commands that need nothing else of `files`."""

from __future__ import annotations

import sys
from pathlib import Path

from vestry.trade import reading
from vestry.trade.errors import BadFacts, Problem


def read_text(name: str) -> str:
    """The text of a file, `-` for standard input. BadFacts when it is too large, not UTF-8, or not a file."""
    if name == "-":
        return reading.decode(sys.stdin.buffer.read(reading.MAX_CHARACTERS + 1), "standard input")
    path = Path(name)
    if path.is_dir():
        raise BadFacts([Problem(name, 0, "", "a folder; a file is wanted")])
    if not path.exists():
        raise BadFacts([Problem(name, 0, "", "no such file")])
    with path.open("rb") as file:
        return reading.decode(file.read(reading.MAX_CHARACTERS + 1), name)

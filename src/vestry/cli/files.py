"""Files that a command reads and writes: read whole or refused whole, written whole or not at all."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel

from vestry.sequence import Plan
from vestry.trade import BadFacts, Order, Problem, read_order, reading

Model = TypeVar("Model", bound=BaseModel)


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


def read_order_file(name: str) -> Order:
    """A sequence file."""
    return read_order(read_text(name), name)


def read_model(model: type[Model], name: str) -> Model:
    """A TOML or JSON file as a value."""
    return reading.read(model, read_text(name), name)


def read_plan(name: str) -> Plan:
    """A plan as JSON: the plan itself, or what `vestry plan --json` prints."""
    document, lines = reading.parse(read_text(name), name)
    inner = document.get("plan") if isinstance(document.get("plan"), dict) else document
    return reading.validate(Plan, inner, name, lines)


def write(name: str, content: bytes) -> None:
    """Write a file beside its place and move it there, so that nothing is ever half-written."""
    path = Path(name)
    if not path.parent.is_dir():
        raise BadFacts([Problem(name, 0, "", f"the folder {path.parent} does not exist")])
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise

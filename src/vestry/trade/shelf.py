"""How what is on the shelf is kept, by kind of item. Apart from the catalogue: no plan and no verdict rests on it."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

from vestry.trade import reading
from vestry.trade.shipped import shipped_texts
from vestry.trade.values import Id, Sourced, Value


class PoweredKind(Sourced):
    """A kind of item that runs on a battery: each piece stands in the register of powered units, by serial number."""

    kind: Id
    note: str | None = None


class ShelfFile(Value):
    """The file of kinds."""

    format_version: Literal[1]
    powered_kind: tuple[PoweredKind, ...]


@lru_cache(maxsize=1)
def load_shelf() -> ShelfFile:
    """The shipped file. BadFacts with all problems when it does not fit."""
    return reading.read(ShelfFile, shipped_texts("shelf")["kinds.toml"], "shelf/kinds.toml")


@lru_cache(maxsize=1)
def powered_kinds() -> frozenset[str]:
    """The kinds of item that are followed by serial number."""
    return frozenset(one.kind for one in load_shelf().powered_kind)

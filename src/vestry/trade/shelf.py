"""How what is on the shelf is kept. Apart from the catalogue: no plan and no verdict rests on it.

powered_kinds()    kinds of item that are followed by serial number
supplies()         what a stay takes besides what is worn: concentrates, bags and containers for waste
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Literal

from pydantic import Field, model_validator

from vestry.trade import reading
from vestry.trade.shipped import shipped_texts
from vestry.trade.values import Id, Sourced, Value

SupplySort = Literal["concentrate", "waste-bag", "waste-container"]
ONE_SIZE = "one-size"
"""The size in which every supply is kept."""


class PoweredKind(Sourced):
    """A kind of item that runs on a battery: each piece stands in the register of powered units, by serial number."""

    kind: Id
    note: str | None = None


class Supply(Sourced):
    """What a stay takes besides what is worn. Its lots stand in the stock register, as those of items do.

    product   of a concentrate: the chlorine product of the operations' records
    litres    of a container: what it holds
    """

    id: Id
    sort: SupplySort
    product: Id | None = None
    litres: int | None = Field(default=None, ge=1, le=2000)
    note: str | None = None

    @model_validator(mode="after")
    def _by_sort(self) -> Supply:
        given = self.product is not None, self.litres is not None
        if given != (self.sort == "concentrate", self.sort == "waste-container"):
            raise ValueError("a concentrate has a product, a container litres, a bag neither")
        return self


class ShelfFile(Value):
    """The file of kinds."""

    format_version: Literal[1]
    powered_kind: tuple[PoweredKind, ...]


class SuppliesFile(Value):
    """The file of supplies."""

    format_version: Literal[1]
    supply: tuple[Supply, ...]


@lru_cache(maxsize=1)
def load_shelf() -> ShelfFile:
    """The shipped file. BadFacts with all problems when it does not fit."""
    return reading.read(ShelfFile, shipped_texts("shelf")["kinds.toml"], "shelf/kinds.toml")


@lru_cache(maxsize=1)
def powered_kinds() -> frozenset[str]:
    """The kinds of item that are followed by serial number."""
    return frozenset(one.kind for one in load_shelf().powered_kind)


@lru_cache(maxsize=1)
def supplies() -> Mapping[str, Supply]:
    """Every supply by id. BadFacts with all problems when the shipped file does not fit."""
    file = reading.read(SuppliesFile, shipped_texts("shelf")["supplies.toml"], "shelf/supplies.toml")
    return MappingProxyType({one.id: one for one in file.supply})

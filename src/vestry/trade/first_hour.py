"""What a unit's own lists begin with before it writes its own: the area, the person, the signals, the calls to make.

Apart from the facts of the catalogue: no plan and no verdict rests on them.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Literal, get_args

from pydantic import Field, model_validator

from vestry.trade import reading
from vestry.trade.shipped import shipped_texts
from vestry.trade.values import Id, Source, Sourced, Value

ListName = Literal["area", "person", "signals", "calls"]
LIST_NAMES: tuple[ListName, ...] = get_args(ListName)
MOST_ITEMS = 20
LONGEST_SAYING = 240


class ListItem(Value):
    """One item: read aloud and looked at, or a call to make.

    say      what must be so; of a call, who is called
    else_do  what to do while it is not so; empty: nothing is written
    alone    the person answers it for themselves and says only may or may not
    """

    id: Id
    say: str = Field(min_length=1, max_length=LONGEST_SAYING)
    else_do: str = Field(default="", max_length=LONGEST_SAYING)
    alone: bool = False


class UnitList(Value):
    """A list as it is in force: its items in the order in which they are asked. ValueError: an id stands twice."""

    name: ListName
    items: tuple[ListItem, ...] = Field(max_length=MOST_ITEMS)

    @model_validator(mode="after")
    def _ids_stand_once(self) -> UnitList:
        ids = [one.id for one in self.items]
        if len(set(ids)) < len(ids):
            raise ValueError("an item of a list stands twice")
        if self.name != "person" and any(one.alone for one in self.items):
            raise ValueError("only items about the person are answered alone")
        return self


class ShippedItem(ListItem, Sourced):
    """An item as it is shipped, with where it comes from."""

    list: ListName


class ShippedLists(Value):
    """The file of shipped lists."""

    format_version: Literal[1]
    source: tuple[Source, ...]
    item: tuple[ShippedItem, ...]


@lru_cache(maxsize=1)
def load_shipped_lists() -> ShippedLists:
    """The shipped file. BadFacts with all problems when it does not fit."""
    return reading.read(ShippedLists, shipped_texts("first-hour")["lists.toml"], "first-hour/lists.toml")


def shipped_list(name: ListName) -> UnitList:
    """What this list begins with: common practice, until the unit has written its own."""
    found = [one for one in load_shipped_lists().item if one.list == name]
    items = tuple(ListItem(id=one.id, say=one.say, else_do=one.else_do, alone=one.alone) for one in found)
    return UnitList(name=name, items=items)

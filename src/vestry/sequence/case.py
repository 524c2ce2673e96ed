"""A case: whom the team goes in to, what they will do, and which kinds of gear are at hand. Kinds, never counts."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from vestry.trade.values import Id, Presentation, Value

Task = Literal["care", "invasive", "aerosol-generating", "transfer", "cleaning"]


class Case(Value):
    """One case. No patient identifiers: `code` is the unit's own code.

    gear      item ids at hand; empty means every item of the catalogue
    wearers   how many go in together and come out through one lane, one after the other
    """

    format_version: Literal[1] = 1
    code: Id = "case"
    hazard: Id
    presentation: Presentation = "dry"
    tasks: tuple[Task, ...] = Field(default=("care",), min_length=1)
    gear: tuple[Id, ...] = ()
    wearers: int = Field(default=1, ge=1, le=4)

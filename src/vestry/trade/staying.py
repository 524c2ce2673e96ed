"""Planning figures of a stay: what a forecast takes where the unit has set nothing. Data, with source and certainty.

Apart from the facts of the catalogue, as the evidence is: no plan and no verdict rests on them.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

from pydantic import Field

from vestry.trade import reading
from vestry.trade.shipped import shipped_texts
from vestry.trade.values import Id, Source, Sourced, Value

FigureId = Literal[
    "damaged-pieces-a-day",
    "glove-changes-an-hour",
    "glove-changes-intensive-care",
    "don-minutes",
    "doff-minutes",
    "minutes-inside",
    "rest-minutes",
    "lead-hours",
    "cleaning-hours",
    "waste-cubic-metres",
    "waste-kilograms",
    "waste-litres-liquid",
]


class Figure(Sourced):
    """One planning figure. `range`: what has been seen or is thinkable."""

    id: FigureId
    unit: str
    value: float = Field(ge=0)
    range: tuple[float, float] | None = None
    note: str | None = None


class Piece(Value):
    """One piece thrown away (gloves: the pair): grams, and litres as it lies in the bag. Judgement."""

    grams: float = Field(gt=0)
    litres: float = Field(gt=0)


class StayFigures(Value):
    """The file of planning figures. `piece`: by kind of item."""

    format_version: Literal[1]
    source: tuple[Source, ...]
    figure: tuple[Figure, ...]
    piece: dict[Id, Piece]

    def find(self, figure: FigureId) -> Figure:
        """The figure of this id."""
        return next(one for one in self.figure if one.id == figure)


@lru_cache(maxsize=1)
def load_stay_figures() -> StayFigures:
    """The shipped figures. BadFacts with all problems when the file does not fit."""
    return reading.read(StayFigures, shipped_texts("stay")["figures.toml"], "stay/figures.toml")

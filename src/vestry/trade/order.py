"""A sequence file: what is worn and the ordered steps, written by anyone, for any ensemble of catalogue items.

Conditions do not exist in it: a source that says "if" becomes two files. `change-gloves` stands for three acts (gloves
off, hand hygiene on bare hands, fresh gloves on) and is opened into them before anything is checked.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from vestry.trade import reading
from vestry.trade.values import Act, Certainty, Id, LoadClass, Presentation, Role, Value, Who, Zone

MAX_STEPS = 400


class Step(Value):
    """One step: an act on an item, by a technique (the taught one when none is named)."""

    act: Act
    item: Id | None = None
    items: tuple[Id, ...] = ()
    technique: Id | None = None
    who: Who | None = None
    agent: Id | None = None
    seconds: int | None = Field(default=None, ge=0, le=7200)
    to: Zone | None = None
    faces: tuple[Id, ...] = ()
    touches: tuple[str, str] | None = None
    certainty: Certainty | None = None

    @model_validator(mode="after")
    def _one_way_to_name_items(self) -> Step:
        if self.item is not None and self.items:
            raise ValueError("give item or items, not both")
        return self

    @property
    def handled(self) -> tuple[str, ...]:
        """The items that this step handles."""
        return (self.item,) if self.item is not None else self.items


class OrderCase(Value):
    """For whom an order is judged. Unknown hazard: the loads and the air are those of `presentation` alone."""

    hazard: Id | None = None
    presentation: Presentation = "dry"
    air_contaminated: bool | None = None
    virus_class: Literal["enveloped", "non-enveloped", "bacteria", "unknown"] | None = None


class Lane(Value):
    """What the lane carries in from the wearer before: surfaces of the place and of the helpers."""

    contaminated: tuple[str, ...] = ()


class Published(Value):
    """Where a published order was read, and how surely."""

    publisher: str
    year: str
    url: str
    certainty: Certainty
    for_presentations: tuple[Presentation, ...] = ("dry",)
    kind: Literal["don", "doff"] = "doff"
    population: str = ""
    variant: str = ""


class Order(Value):
    """A whole sequence file. `worn` is the donning order, first donned first."""

    format_version: Literal[1]
    title: str = Field(min_length=1, max_length=300)
    case: OrderCase = OrderCase()
    loads: dict[str, LoadClass] | None = None
    worn: tuple[Id, ...] = Field(max_length=40)
    roles: tuple[Role, ...] = ()
    zone: Zone = "doffing-area"
    lane: Lane = Lane()
    published: Published | None = None
    steps: tuple[Step, ...] = Field(min_length=1, max_length=MAX_STEPS)


def read_order(text: str, file: str) -> Order:
    """The order in this text (TOML, or JSON when the name ends in .json); BadFacts with every problem and its line."""
    return reading.read(Order, text, file)

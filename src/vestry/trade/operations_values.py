"""What running a unit rests on, typed: air, disinfectant, waste, heat; the records of data/operations/.

Numbers and ids only, each with source, certainty and year. How they are reckoned with is `vestry.room` and
`vestry.heat`.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from vestry.trade.shadows import Because, Retire
from vestry.trade.values import Id, Source, Sourced, Value


class Told(Sourced):
    """A record of operations.

    because   in a hospital's file: why, who answers for it, since when
    """

    id: Id
    year: int | None = None
    note: str | None = None
    because: Because | None = None


class AirLimit(Told):
    """What a room for airborne isolation has to keep: at least, or at most, so much.

    measure   `air-changes` an hour, or `pressure` of the room against the corridor, in pascal
    rooms     the kinds of room that it holds for
    """

    measure: Literal["air-changes", "pressure"]
    rooms: tuple[Literal["isolation-new", "isolation-existing"], ...] = Field(min_length=1)
    at_least: float | None = None
    at_most: float | None = None

    @model_validator(mode="after")
    def _one_side(self) -> AirLimit:
        if (self.at_least is None) == (self.at_most is None):
            raise ValueError("give either at-least or at-most")
        return self


class CheckInterval(Told):
    """How often a room in use is looked at, in hours."""

    hours: float = Field(gt=0, le=8760)


class MixingFactor(Told):
    """By how much the wait is multiplied where the air of a room does not mix perfectly."""

    factor: float = Field(ge=1, le=20)


class ChlorineProduct(Told):
    """A form in which chlorine is bought.

    percent          available chlorine, as this unit buys it; None for tablets
    range            what is sold under this name
    mg_per_tablet    available chlorine in one tablet
    """

    form: Literal["liquid", "powder", "tablet"]
    percent: float | None = Field(default=None, gt=0, le=100)
    range: tuple[float, float] | None = None
    mg_per_tablet: float | None = Field(default=None, gt=0)

    @model_validator(mode="after")
    def _by_form(self) -> ChlorineProduct:
        if (self.form == "tablet") != (self.mg_per_tablet is not None) or (self.form == "tablet") == (
            self.percent is not None
        ):
            raise ValueError("a tablet has mg-per-tablet; a liquid or a powder has percent")
        return self


class ChlorineStrength(Told):
    """The strength made up for one use, in percent available chlorine."""

    use: Literal["skin", "surfaces"]
    percent: float = Field(gt=0, le=100)


class Conversion(Told):
    """By what a number on a label is multiplied to give percent available chlorine."""

    factor: float = Field(gt=0)


class ShelfLife(Told):
    """How long a made-up solution keeps.

    setting    `field` is what one works by; `laboratory` and `model` are ideal storage, shown beside it
    hours      at most so long; with `or_longer` it kept for longer than that; None: the source gives words only
    celsius    the temperatures it was found at
    """

    products: tuple[Id, ...]
    setting: Literal["field", "laboratory", "model"]
    hours: float | None = Field(default=None, gt=0)
    or_longer: bool = False
    percent: float | None = None
    celsius: tuple[float, float] | None = None


class SpoonMeasure(Told):
    """A published recipe in level spoons of a powder: so many in so much water for this strength."""

    product: Id
    wanted_percent: float = Field(gt=0)
    spoons: float = Field(gt=0)
    litres: float = Field(gt=0)
    grams_per_spoon: tuple[float, float]


class Spoon(Told):
    """What a level tablespoon holds of a liquid, in millilitres. Sources differ: a recipe in spoons is read by each."""

    millilitres: float = Field(gt=0, le=50)


class ContactTime(Told):
    """How long chlorine that was made up here has to act, in minutes, by what is disinfected with it.

    A room's turnaround and the page of disinfectant read it. Of a wipe that comes ready from its tub, `HygieneTime`
    says it: no agent is in both (docs/decisions/0077).

    no_longer   the thing is rinsed after that time (cloth suffers)
    """

    use: Id
    minutes: float = Field(gt=0, le=240)
    no_longer: bool = False


class HygieneTime(Told):
    """How long a rub usually takes, or what is wiped keeps wet, in seconds, by the agent. It informs; it ends nothing.

    The clock beside a step reads it. Of chlorine that is made up here `ContactTime` says it.

    agent    a hygiene agent of the catalogue;   sort   `rub` until dry, or the `contact` time of a wipe
    product  what it is bought as, in a hospital's record: its label says the time
    """

    agent: Id
    on: Literal["hands", "gloves", "surfaces"]
    sort: Literal["rub", "contact"]
    seconds: int = Field(gt=0, le=3600)
    range: tuple[int, int]
    product: str | None = Field(default=None, min_length=1, max_length=80)


class DoorThing(Told):
    """A sort of thing that crosses the door, and what is asked of it there."""

    direction: Literal["in", "out"]
    asks: tuple[Literal["wipe", "label", "receiver"], ...] = ()


class WorkTime(Told):
    """How long one part of turning a room around takes, in minutes, from brisk to slow in `range`."""

    part: Literal["cleaning", "restock", "check"]
    minutes: float = Field(gt=0, le=600)
    range: tuple[float, float]


class WasteAmount(Told):
    """Waste that was published, or follows from what was: a figure or a stretch.

    of        `solid` (worn gear for the most part) or `liquid`
    high      None: one figure;   or_more: the text says "more than"
    """

    of: Literal["solid", "liquid"]
    per: Literal["patient-day", "doffing"]
    measure: Literal["litres", "kilograms", "bags"]
    low: float = Field(gt=0)
    high: float | None = None
    or_more: bool = False


class Packing(Told):
    """How waste or a specimen is packed: layers from the inside out, and the most that one package may hold."""

    categories: tuple[Literal["highest", "second"], ...]
    holds: Literal["specimen", "waste"]
    way: Literal["any", "passenger", "cargo"] = "any"
    layers: tuple[Id, ...] = ()
    most_litres: float | None = None
    most_kilograms: float | None = None
    instruction: str | None = None


class BagRight(Told):
    """Who may do this with a bag that is on hold, by role."""

    act: Literal["release", "downgrade", "collect"]
    roles: tuple[Id, ...] = Field(min_length=1)


class ClothingAdjustment(Told):
    """What clothing adds to the heat index, in degrees; a number belongs to one family and is added to no other's.

    alone    False: comes on top of a garment (a hood)
    """

    family: Id
    garment: Id
    celsius: float
    alone: bool = True


class WbgtLimit(Told):
    """A reference value of the heat index: class of work, whether used to heat, and, in one edition, moving air."""

    edition: Id
    work: int = Field(ge=0, le=4)
    acclimatised: bool
    celsius: float
    air: Literal["any", "still", "moving"] = "any"


class MetabolicClass(Told):
    """A class of work by its metabolic rate: above `over` up to `upto`, W per square metre; None: no bound."""

    edition: Id
    work: int = Field(ge=0, le=4)
    over: float | None = None
    upto: float | None = None
    typical: float | None = None


class ModelRange(Told):
    """Between which values a model was checked."""

    model: Id
    quantity: Literal["air", "radiant-over-air", "speed", "clothing", "metabolic", "vapour", "permeability"]
    low: float
    high: float


class FieldHeat(Told):
    """What was measured on people in protective suits.

    minutes, sd   of wearing, the mean;  most_minutes: the longest allowed
    rise          of the core temperature, in degrees, with `rise_sd`
    reached       how many `of` so many people reached `reached_celsius`
    """

    what: Id
    celsius: float | None = None
    humidity: float | None = None
    minutes: float | None = None
    sd: float | None = None
    most_minutes: float | None = None
    rise: float | None = None
    rise_sd: float | None = None
    reached: int | None = None
    of: int | None = None
    reached_celsius: float | None = None


class StopRule(Told):
    """When someone comes out, whatever the clock says."""

    measure: Literal["core-celsius", "pulse", "weight-loss-percent"]
    acclimatised: bool | None = None
    value: float


class OperationsFile(Value):
    """Any file under data/operations: a format version and lists of records."""

    format_version: int = Field(ge=1, le=1)
    source: tuple[Source, ...] = ()
    retire: tuple[Retire, ...] = ()
    air_limit: tuple[AirLimit, ...] = ()
    check_interval: tuple[CheckInterval, ...] = ()
    mixing_factor: tuple[MixingFactor, ...] = ()
    chlorine_product: tuple[ChlorineProduct, ...] = ()
    chlorine_strength: tuple[ChlorineStrength, ...] = ()
    conversion: tuple[Conversion, ...] = ()
    shelf_life: tuple[ShelfLife, ...] = ()
    spoon_measure: tuple[SpoonMeasure, ...] = ()
    spoon: tuple[Spoon, ...] = ()
    contact_time: tuple[ContactTime, ...] = ()
    work_time: tuple[WorkTime, ...] = ()
    hygiene_time: tuple[HygieneTime, ...] = ()
    door_thing: tuple[DoorThing, ...] = ()
    waste_amount: tuple[WasteAmount, ...] = ()
    packing: tuple[Packing, ...] = ()
    bag_right: tuple[BagRight, ...] = ()
    clothing_adjustment: tuple[ClothingAdjustment, ...] = ()
    wbgt_limit: tuple[WbgtLimit, ...] = ()
    metabolic_class: tuple[MetabolicClass, ...] = ()
    model_range: tuple[ModelRange, ...] = ()
    field_heat: tuple[FieldHeat, ...] = ()
    stop_rule: tuple[StopRule, ...] = ()


TABLES = tuple(name for name in OperationsFile.model_fields if name not in ("format_version", "source", "retire"))

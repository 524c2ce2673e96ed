"""What `air`, `dilute`, `waste` and `heat` print as JSON: typed, so that the schemas are what the code says."""

from __future__ import annotations

from fractions import Fraction
from typing import Literal

from vestry.trade.operations import Operations
from vestry.trade.operations_values import Told
from vestry.trade.values import Certainty, Sourced, Value


def plain(value: Fraction | float | None) -> float | None:
    """A number as JSON has it."""
    return None if value is None else float(value)


class Cited(Value):
    """Where a figure comes from, and how surely."""

    record: str | None
    source: str
    publisher: str
    title: str
    url: str | None
    year: str | None
    certainty: Certainty
    note: str | None


def cited(record: Sourced, operations: Operations) -> Cited:
    """The citation of a record."""
    source = operations.sources.get(record.source)
    year = getattr(record, "year", None)
    return Cited(
        record=record.id if isinstance(record, Told) else None,
        source=record.source,
        publisher=source.publisher if source else record.source,
        title=source.title if source else record.source,
        url=source.url if source else None,
        year=str(year) if year else (source.year if source else None),
        certainty=record.certainty,
        note=getattr(record, "note", None),
    )


class Answer(Value):
    """Every answer names its format and the records it rests on."""

    format_version: Literal[1] = 1
    operations: str


class ClearedAnswer(Value):
    """One removal: percent; minutes by the formula; to the nearest minute as tables print it; rounded up, to wait."""

    removal: float
    minutes: float
    rounded: int
    wait: int


class PartAnswer(Value):
    """Air changes from one source, and whether they count."""

    source: str
    ach: float
    counted: bool


class RelevanceAnswer(Value):
    """Whether the air matters for the hazard."""

    hazard: str
    answer: Literal["airborne", "by-task", "not-by-air", "unknown"]
    routes: tuple[str, ...]
    source: str
    certainty: Certainty


class LimitAnswer(Value):
    """A published limit for isolation rooms, and whether these air changes meet it."""

    rooms: tuple[str, ...]
    at_least: float
    met: bool
    cited: Cited


class AfterAnswer(Value):
    """What is left in the air after so many minutes, in percent."""

    minutes: float
    remaining: float
    removed: float


class AirAnswer(Answer):
    """`vestry air`: `clearances` is empty where the formula does not hold (`holds` false, `why`)."""

    ach: float
    parts: tuple[PartAnswer, ...]
    mixing: float
    holds: bool
    why: Literal["source-present"] | None
    clearances: tuple[ClearedAnswer, ...]
    after: AfterAnswer | None
    relevance: RelevanceAnswer | None
    limits: tuple[LimitAnswer, ...]
    says: tuple[str, ...]
    formula: Cited


class StrengthAnswer(Value):
    """A strength as it was written, how that was read, and in percent available chlorine."""

    written: str
    read_as: str
    percent: float


class MixAnswer(Value):
    """What goes into it; what does not belong to the form is null. Volumes in litres, of the finished solution."""

    gives_percent: float
    parts_water: float | None
    stock_ml_per_litre: float | None
    grams_per_litre: float | None
    tablets_per_litre: float | None
    litres: float | None
    stock_litres: float | None
    water_litres: float | None
    grams: float | None
    tablets: int | None
    spoons: tuple[float, float] | None


class ReadingAnswer(Value):
    """One way to read a recipe: what it gives, in percent; whether that is what was wanted, and how many times it.
    `spoon-ml`: what a tablespoon of a liquid was taken to hold; null where none is in it."""

    says: str
    percent: float
    percent_least: float
    percent_most: float
    fits: Literal["yes", "too-weak", "too-strong"] | None
    times: float | None
    spoon_ml: float | None = None


class RecipeAnswer(Value):
    """A written recipe; ambiguous when it has two readings."""

    written: str
    ambiguous: bool
    readings: tuple[ReadingAnswer, ...]


class KeepsAnswer(Value):
    """How long it was found to keep: hours, null where only words are given; `or-longer` for longer than that."""

    setting: Literal["field", "laboratory", "model"]
    hours: float | None
    or_longer: bool
    percent: float | None
    celsius: tuple[float, float] | None
    cited: Cited


class ContactAnswer(Value):
    """How long it has to act, in minutes."""

    use: str
    minutes: float
    no_longer: bool
    cited: Cited


class DiluteAnswer(Answer):
    """`vestry dilute`: `possible` false with the reason, and then no mix."""

    form: Literal["liquid", "powder", "tablet"]
    possible: bool
    why: Literal["too-strong-wanted", "ambiguous", "contradict", "does-not-give"] | None
    stock: StrengthAnswer | None
    mg_per_tablet: float | None
    product: str | None
    wanted: StrengthAnswer | None
    mix: MixAnswer | None
    recipes: tuple[RecipeAnswer, ...]
    use_within_hours: float | None
    keeps: tuple[KeepsAnswer, ...]
    contact: tuple[ContactAnswer, ...]
    says: tuple[str, ...]


class AmountAnswer(Value):
    """How much waste: a stretch; `or-more` where a source says "more than"."""

    of: Literal["solid", "liquid"]
    per: Literal["patient-day", "doffing"]
    measure: Literal["litres", "kilograms", "bags"]
    low: float
    high: float
    or_more: bool
    cited: tuple[Cited, ...]


class PackingAnswer(Value):
    """One way of packing: layers from the inside, and the most that one package holds."""

    holds: Literal["specimen", "waste"]
    way: Literal["any", "passenger", "cargo"]
    layers: tuple[str, ...]
    most_litres: float | None
    most_kilograms: float | None
    instruction: str | None
    cited: Cited


class WasteAnswer(Answer):
    """`vestry waste`: where it goes, how it is packed, how much; whether bags are held and who may let them go."""

    facts: str
    hazard: str
    jurisdiction: str
    stream: str
    container: str
    settled: bool
    stream_cited: Cited
    category: str | None
    category_of: str | None
    category_cited: Cited | None
    held: bool
    may_release: tuple[str, ...]
    may_downgrade: tuple[str, ...]
    packing: tuple[PackingAnswer, ...]
    amounts: tuple[AmountAnswer, ...]
    says: tuple[str, ...]


class ReasonAnswer(Value):
    """Why there is no prediction."""

    what: Literal["not-a-number", "out-of-range", "impermeable", "give-one"]
    quantity: str
    value: float | None
    low: float | None
    high: float | None


class ReachedAnswer(Value):
    """A limit: minutes, or null when it is not reached within the minutes that were reckoned."""

    reached: bool
    minutes: int | None


class PredictedAnswer(Value):
    """What the model says; temperatures in degrees Celsius at the end of the minutes reckoned."""

    core: ReachedAnswer
    loss_half: ReachedAnswer
    loss_most: ReachedAnswer
    rectal_at_end: float
    core_at_end: float
    sweat_grams: float
    minutes_reckoned: int


class FieldAnswer(Value):
    """What was measured on people in protective suits."""

    what: str
    celsius: float | None
    humidity: float | None
    minutes: float | None
    sd: float | None
    most_minutes: float | None
    rise: float | None
    reached: int | None
    of: int | None
    reached_celsius: float | None
    cited: Cited


class AllowedAnswer(Value):
    """The entry's clock: minutes, and what set them."""

    minutes: int
    by: Literal["policy", "core", "loss-most"]
    policy: int


class PredictAnswer(Answer):
    """`vestry heat predict`: `predicted` null where the model does not hold, with every reason."""

    edition: str
    predicted: PredictedAnswer | None
    reasons: tuple[ReasonAnswer, ...]
    allowed: AllowedAnswer | None
    measured: tuple[FieldAnswer, ...]
    says: tuple[str, ...]
    cited: Cited


class AddedAnswer(Value):
    """One clothing value, in degrees."""

    garment: str
    celsius: float
    cited: Cited


class HeldAnswer(Value):
    """One reference value, and whether the index with clothing is above it."""

    celsius: float
    air: Literal["any", "still", "moving"]
    over: bool
    cited: Cited


class FamilyAnswer(Value):
    """One family: what it adds, the index with clothing, and reference values of the same family."""

    family: str
    added: tuple[AddedAnswer, ...]
    effective: float
    limits: tuple[HeldAnswer, ...]


class IndexAnswer(Answer):
    """`vestry heat index`: `over` null when nothing could be compared."""

    wbgt: float
    work: int
    garment: str
    hood: bool
    acclimatised: bool
    families: tuple[FamilyAnswer, ...]
    over: bool | None
    says: tuple[str, ...]


class MeasuredAnswer(Answer):
    """`vestry heat measured`."""

    measured: tuple[FieldAnswer, ...]
    says: tuple[str, ...]

"""What a file of evidence holds: measured or judged quantities, each with law, unit, conditions, source and trust.

The closed lists stand here. How a record is found: `vestry.trade.evidence`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import inf
from typing import Annotated, Any, Literal, get_args

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator, model_validator

from vestry.trade.law import Law
from vestry.trade.shadows import Because
from vestry.trade.values import Act, Id, LoadClass, Presentation, Source, Sourced, Value, VirusClass

Quantity = Literal[
    "transfer-fraction",
    "face-share",
    "log-reduction",
    "slip-probability",
    "omission-probability",
    "short-rub-probability",
    "residue-chance",
    "residue-amount",
    "latent-fault-rate",
    "through-fault-fraction",
    "stir-fraction",
    "load",
    "detection-limit",
    "alarm-load",
    "recoverable-share",
    "slip-multiplier",
    "run-spread",
    "observer-miss-probability",
    "inactivation",
]
Amount = Literal["pfu", "cfu", "copies", "microlitre", "fraction-of-source"]
Unit = Literal[
    "fraction",
    "log10",
    "probability",
    "probability-per-critical-act",
    "odds-ratio",
    "log-odds",
    "pfu",
    "cfu",
    "copies",
    "microlitre",
    "fraction-of-source",
]
Material = Literal[
    "glove",
    "fabric-gown",
    "coated-fabric",
    "film",
    "hard",
    "filter",
    "elastic",
    "work-clothing",
    "skin",
    "mucosa",
    "hair",
    "air",
]
Size = Literal["small", "hand", "middle", "large"]
Layer = Literal["hands", "gloves", "surfaces"]
Wetness = Literal["wet", "dry", "aerosol"]
Trust = Literal["high", "medium", "low"]
Factor = Literal["observer-absent", "not-read-aloud", "untrained", "months-since-practice", "minutes-worn"]

AMOUNTS: tuple[str, ...] = get_args(Amount)
UNITS: dict[str, tuple[str, ...]] = {
    "transfer-fraction": ("fraction",),
    "face-share": ("fraction",),
    "log-reduction": ("log10",),
    "slip-probability": ("probability-per-critical-act",),
    "omission-probability": ("probability",),
    "short-rub-probability": ("probability",),
    "residue-chance": ("probability",),
    "residue-amount": ("fraction",),
    "latent-fault-rate": ("probability",),
    "through-fault-fraction": ("fraction",),
    "stir-fraction": ("fraction",),
    "load": AMOUNTS,
    "detection-limit": AMOUNTS,
    "alarm-load": AMOUNTS,
    "recoverable-share": ("fraction",),
    "slip-multiplier": ("odds-ratio",),
    "run-spread": ("log-odds",),
    "observer-miss-probability": ("probability",),
    "inactivation": ("log10",),
}
BETWEEN: dict[str, tuple[float, float]] = {
    "fraction": (0, 1),
    "probability": (0, 1),
    "probability-per-critical-act": (0, 1),
    "fraction-of-source": (0, 1),
    "log10": (0, inf),
    "odds-ratio": (0, inf),
    "log-odds": (0, inf),
    **dict.fromkeys(("pfu", "cfu", "copies", "microlitre"), (0.0, inf)),
}


def _many(value: object) -> object:
    return (value,) if isinstance(value, str) else value


class Span(Value):
    """A stretch of seconds, months or minutes: `from` (0 when left out) up to but not including `below` (no end)."""

    from_: float = Field(default=0, ge=0, alias="from")
    below: float | None = Field(default=None, gt=0)

    @model_validator(mode="after")
    def _forwards(self) -> Span:
        if self.from_ >= self.end:
            raise ValueError("from must lie below below")
        return self

    @property
    def end(self) -> float:
        """The end, infinite when there is none."""
        return inf if self.below is None else self.below

    def holds(self, number: float) -> bool:
        """Whether a number lies in it."""
        return self.from_ <= number < self.end


class When(Value):
    """The conditions of a record. One left out is no condition; several words under one name mean any of them."""

    from_material: Annotated[tuple[Material, ...], BeforeValidator(_many)] = ()
    to_material: Annotated[tuple[Material, ...], BeforeValidator(_many)] = ()
    wetness: Annotated[tuple[Wetness, ...], BeforeValidator(_many)] = ()
    verb: Annotated[tuple[Literal["contact", "slide", "stir", "breathe"], ...], BeforeValidator(_many)] = ()
    size: Annotated[tuple[Size, ...], BeforeValidator(_many)] = ()
    virus_class: Annotated[tuple[VirusClass, ...], BeforeValidator(_many)] = ()
    agent: Annotated[tuple[Id, ...], BeforeValidator(_many)] = ()
    layer: Annotated[tuple[Layer, ...], BeforeValidator(_many)] = ()
    soil: Annotated[tuple[Literal["none", "blood"], ...], BeforeValidator(_many)] = ()
    seconds: Span | None = None
    act: Annotated[tuple[Act, ...], BeforeValidator(_many)] = ()
    kind: Annotated[tuple[Id, ...], BeforeValidator(_many)] = ()
    technique: Annotated[tuple[Id, ...], BeforeValidator(_many)] = ()
    slip: Annotated[tuple[Id, ...], BeforeValidator(_many)] = ()
    residue: Annotated[tuple[Id, ...], BeforeValidator(_many)] = ()
    fault: Annotated[tuple[Id, ...], BeforeValidator(_many)] = ()
    given: Annotated[tuple[Literal["hole-above"], ...], BeforeValidator(_many)] = ()
    glove_layer: Annotated[
        tuple[Literal["inner", "middle", "outer", "single", "fresh"], ...], BeforeValidator(_many)
    ] = ()
    load_class: Annotated[tuple[LoadClass | Literal["uncovered"], ...], BeforeValidator(_many)] = ()
    zone: Annotated[tuple[Id, ...], BeforeValidator(_many)] = ()
    presentation: Annotated[tuple[Presentation, ...], BeforeValidator(_many)] = ()
    marker: Annotated[
        tuple[Literal["fluorescent", "phage", "culture", "pcr", "virus"], ...], BeforeValidator(_many)
    ] = ()
    family: Annotated[tuple[Id, ...], BeforeValidator(_many)] = ()
    factor: Annotated[tuple[Factor, ...], BeforeValidator(_many)] = ()
    read_aloud: Annotated[tuple[Literal["yes", "no"], ...], BeforeValidator(_many)] = ()
    climate: Annotated[tuple[Literal["hot", "cool"], ...], BeforeValidator(_many)] = ()
    months: Span | None = None
    minutes: Span | None = None

    def given_conditions(self) -> dict[str, tuple[str, ...] | Span]:
        """The conditions that are set, by name (snake_case)."""
        return {name: value for name, value in self if value not in ((), None)}


Conditions = dict[str, tuple[str, ...] | Span]


def met(wanted: Conditions, asked: Mapping[str, Any]) -> bool:
    """Whether each of these conditions is met by what is asked; one that the question leaves open is not met."""
    for name, condition in wanted.items():
        value = asked.get(name)
        if value is None or not (condition.holds(value) if isinstance(condition, Span) else value in condition):
            return False
    return True


class EvidenceRecord(Sourced):
    """One quantity under stated conditions.

    drawn    `once` in a run (what is unknown about the parameter) or `each` time (what varies from touch to touch)
    range    lowest and highest central value that the sources support, for display and for sensitivity
    basis    ids of the measurements it rests on
    derived  how the numbers were computed from them, where they were
    because  in a hospital's file: why, who answers for it, since when
    """

    id: Id
    quantity: Quantity
    unit: Unit
    law: Law
    when: When = When()
    drawn: Literal["once", "each"] = "once"
    range: tuple[float, float] | None = None
    trust: Trust
    basis: tuple[Id, ...] = ()
    note: str | None = None
    derived: str | None = None
    because: Because | None = None

    @field_validator("unit", mode="after")
    @classmethod
    def _unit_of_its_quantity(cls, unit: Unit, info: ValidationInfo) -> Unit:
        allowed = UNITS.get(info.data.get("quantity", ""), (unit,))
        if unit not in allowed:
            raise ValueError(f"the unit of {info.data['quantity']} is {' or '.join(allowed)}")
        return unit

    @field_validator("law", mode="after")
    @classmethod
    def _law_within_its_unit(cls, law: Law, info: ValidationInfo) -> Law:
        lowest, highest = _between(info)
        low, high = law.support
        if low < lowest or high > highest:
            raise ValueError(
                f"it reaches from {low:g} to {high:g}; {info.data['unit']} lies between {lowest:g} and "
                f"{_end(highest)}; cut the law off with low and high where it can be"
            )
        return law

    @field_validator("range", mode="after")
    @classmethod
    def _range_within_its_unit(
        cls, limits: tuple[float, float] | None, info: ValidationInfo
    ) -> tuple[float, float] | None:
        lowest, highest = _between(info)
        if limits is not None and not lowest <= limits[0] <= limits[1] <= highest:
            raise ValueError(f"it must rise, and lie between {lowest:g} and {_end(highest)}")
        return limits


def _between(info: ValidationInfo) -> tuple[float, float]:
    """The bounds of the unit; none when the unit itself was refused."""
    return BETWEEN.get(info.data.get("unit", ""), (-inf, inf))


def _end(highest: float) -> str:
    return "no end" if highest == inf else f"{highest:g}"


class Measurement(Sourced):
    """One published figure as it was read; the records rest on these. `values` by name, a number or low and high.

    says    what was measured, in our words
    """

    id: Id
    says: str
    unit: str
    values: dict[str, float | tuple[float, float]] = Field(default_factory=dict)
    finding: str | None = None
    n: str | None = None
    conditions: str | None = None
    trust: Trust
    derived: str | None = None
    note: str | None = None


class SurfaceRule(Value):
    """Material and size of surfaces: of faces of items, of body sites, of things of the place, of helpers.

    Exactly one of items, kinds, body, places, helpers. `faces` (families; left out: all) narrows items and kinds. A
    rule for items goes before one for kinds, one with faces before one without.
    """

    items: tuple[Id, ...] = ()
    kinds: tuple[Id, ...] = ()
    faces: tuple[Id, ...] = ()
    body: tuple[Id, ...] = ()
    places: tuple[Id, ...] = ()
    helpers: tuple[Id, ...] = ()
    material: Material
    size: Size

    @model_validator(mode="after")
    def _one_sort(self) -> SurfaceRule:
        sorts = [name for name in ("items", "kinds", "body", "places", "helpers") if getattr(self, name)]
        if len(sorts) != 1:
            raise ValueError("give exactly one of items, kinds, body, places, helpers")
        if self.faces and sorts[0] not in ("items", "kinds"):
            raise ValueError("faces belong to items or kinds")
        return self


class Nature(Value):
    """What a surface is made of, and how large it is beside a hand."""

    material: Material
    size: Size


class EvidenceFile(Value):
    """Any file under data/evidence, or a hospital's file over it."""

    format_version: int = Field(ge=1, le=1)
    evidence: tuple[EvidenceRecord, ...] = ()
    measurement: tuple[Measurement, ...] = ()
    surface: tuple[SurfaceRule, ...] = ()
    source: tuple[Source, ...] = ()


def overlap(a: When, b: When) -> Conditions | None:
    """The conditions under which both apply; None when they never do together."""
    first, second = a.given_conditions(), b.given_conditions()
    both: Conditions = {}
    for name in {*first, *second}:
        x, y = first.get(name), second.get(name)
        shared = _shared(x, y) if x is not None and y is not None else x if y is None else y
        if shared is None:
            return None
        both[name] = shared
    return both


def _shared(x: tuple[str, ...] | Span, y: tuple[str, ...] | Span) -> tuple[str, ...] | Span | None:
    if isinstance(x, Span) and isinstance(y, Span):
        low, high = max(x.from_, y.from_), min(x.end, y.end)
        return Span(from_=low, below=None if high == inf else high) if low < high else None
    if isinstance(x, Span) or isinstance(y, Span):
        raise TypeError("a span and a list of words under one name")
    return tuple(word for word in x if word in y) or None


def covers(when: When, conditions: Conditions) -> bool:
    """Whether a record with `when` applies wherever all of these conditions hold."""
    for name, wanted in when.given_conditions().items():
        had = conditions.get(name)
        if had is None or not _inside(had, wanted):
            return False
    return True


def _inside(inner: tuple[str, ...] | Span, outer: tuple[str, ...] | Span) -> bool:
    if isinstance(inner, Span) and isinstance(outer, Span):
        return outer.from_ <= inner.from_ and inner.end <= outer.end
    if isinstance(inner, Span) or isinstance(outer, Span):
        raise TypeError("a span and a list of words under one name")
    return set(inner) <= set(outer)


def families(names: Iterable[str]) -> set[str]:
    """Names as they are, and without the side (`palm-l` is also `palm`)."""
    return {form for name in names for form in (name, name.removesuffix("-l").removesuffix("-r"))}

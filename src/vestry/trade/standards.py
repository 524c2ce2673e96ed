"""Standards of fit and size, as data with sources: pass levels of fit tests, intervals, glove and gown tables.

Apart from the catalogue: they have no part in a plan or a verdict, so a changed table changes no digest of facts.

load_standards()          the shipped standards, read once
load_standards_texts()    from texts (file name to text); BadFacts with every problem
Standards                 the records, and one lookup for each question
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any, Literal

from pydantic import Field, model_validator

from vestry.trade.laying import Shape, Tables, digest, lay
from vestry.trade.shadows import Because, Retire, Shadow
from vestry.trade.shipped import shipped_texts
from vestry.trade.values import Certainty, Fact, Id, Source, Sourced, Value

Device = Literal["half-mask", "full-facepiece"]
IntervalOf = Literal["fit-test", "competency", "clearance", "unit-service", "battery-test", "flow-check"]
Size = str


class Standard(Value):
    """A record of standards. `because`, in a hospital's file: why, who answers for it, since when."""

    id: Id
    because: Because | None = None


class PassLevel(Standard, Sourced):
    """The overall fit factor that a class of respirator must reach in one country's system.

    qualitative    whether a taste or smell test will do for this class there
    """

    jurisdiction: Id
    device: Device
    level: int = Field(ge=1)
    qualitative: bool
    year: int | None = None
    note: str | None = None


class ExerciseFact(Standard, Sourced):
    """An exercise of a quantitative fit test; whether its factor counts towards the overall one."""

    scored: bool = True


class Interval(Standard):
    """For how many months a thing on the register holds, where the record itself does not say."""

    of: IntervalOf
    jurisdiction: Id
    months: Fact[int]

    @model_validator(mode="after")
    def _known(self) -> Interval:
        if self.months.value is None and self.months.default is None:
            raise ValueError("give `value`, or `default`")
        return self


class GloveSize(Standard, Sourced):
    """One row of a hand-to-glove table. Millimetres."""

    system: Id
    number: int
    size: Size
    circumference_mm: int
    hand_length_mm: int
    glove_length_mm: int


class GloveWidth(Standard, Sourced):
    """The width, laid flat, that a glove of this size may have; None: not bounded on that side. Millimetres."""

    system: Id
    size: Size
    least_mm: int | None = None
    most_mm: int | None = None


class GownSize(Standard, Sourced):
    """One row of a gown table, measures of the finished gown. Millimetres."""

    size: Size
    chest_least_mm: int
    chest_most_mm: int | None = None
    back_least_mm: int
    back_most_mm: int
    sleeve_least_mm: int


class Proportion(Standard, Sourced):
    """A height above the floor as thousandths of stature."""

    thousandths: int = Field(ge=1, le=1000)


class StandardsFile(Value):
    """Any file under data/standards/."""

    format_version: int = Field(ge=1, le=1)
    source: tuple[Source, ...] = ()
    retire: tuple[Retire, ...] = ()
    pass_level: tuple[PassLevel, ...] = ()
    exercise: tuple[ExerciseFact, ...] = ()
    interval: tuple[Interval, ...] = ()
    glove_size: tuple[GloveSize, ...] = ()
    glove_width: tuple[GloveWidth, ...] = ()
    gown_size: tuple[GownSize, ...] = ()
    proportion: tuple[Proportion, ...] = ()


@dataclass(frozen=True)
class Standards:
    """All standards in force, by id."""

    sources: Mapping[str, Source]
    pass_levels: Mapping[str, PassLevel]
    exercises: Mapping[str, ExerciseFact]
    intervals: Mapping[str, Interval]
    glove_sizes: Mapping[str, GloveSize]
    glove_widths: Mapping[str, GloveWidth]
    gown_sizes: Mapping[str, GownSize]
    proportions: Mapping[str, Proportion]
    shadows: tuple[Shadow, ...] = ()

    @cached_property
    def tables(self) -> Tables:
        """The records in force by table (`pass-level`) and id."""
        return {table.replace("_", "-"): getattr(self, f"{table}s") for table in TABLES}

    @cached_property
    def digest(self) -> str:
        """SHA-256 over the canonical JSON of all records."""
        return digest(self.tables)

    def pass_level(self, jurisdiction: str, device: Device) -> PassLevel | None:
        """The level of this country's system; None where none is held. Another country's never takes its place."""
        return self._levels.get((jurisdiction, device))

    @cached_property
    def _levels(self) -> Mapping[tuple[str, str], PassLevel]:
        """Asked for with every fit test of everybody."""
        return {(one.jurisdiction, one.device): one for one in self.pass_levels.values()}

    def months(self, of: IntervalOf, jurisdiction: str) -> int:
        """For how long a thing holds: by the jurisdiction's own interval, else by the one for nobody's."""
        own = self._months.get((of, jurisdiction))
        return self._months[of, "unstated"] if own is None else own

    @cached_property
    def _months(self) -> Mapping[tuple[str, str], int]:
        found: dict[tuple[str, str], int] = {}
        for one in self.intervals.values():
            months = one.months.value if one.months.value is not None else one.months.default
            assert months is not None, "checked when the file was read"
            found[one.of, one.jurisdiction] = months
        return found

    def gloves(self, system: str) -> tuple[GloveSize, ...]:
        """The rows of a hand-to-glove table, smallest first."""
        return tuple(
            sorted((one for one in self.glove_sizes.values() if one.system == system), key=lambda one: one.number)
        )

    def widths(self, system: str) -> tuple[GloveWidth, ...]:
        """The rows of a table of glove widths, in the order of the file."""
        return tuple(one for one in self.glove_widths.values() if one.system == system)


TABLES = ("pass_level", "exercise", "interval", "glove_size", "glove_width", "gown_size", "proportion")


def _check(table: str, record: Any, tables: Tables) -> Iterator[tuple[str, str]]:
    if isinstance(record, Interval):
        months = record.months.value if record.months.value is not None else record.months.default
        if months is not None and not 1 <= months <= 600:
            yield "months.value", f"{months} months; from 1 to 600"


SHAPE = Shape(
    StandardsFile,
    TABLES,
    same={
        "pass-level": lambda one: (one.jurisdiction, one.device),
        "interval": lambda one: (one.of, one.jurisdiction),
        "glove-size": lambda one: (one.system, one.number),
        "glove-width": lambda one: (one.system, one.size),
        "gown-size": lambda one: one.size,
    },
    check=_check,
)


def load_standards_texts(texts: Mapping[str, str], over: Mapping[str, str] | None = None) -> Standards:
    """The standards in these files, a hospital's files `over` them, whole record by record, each with its reason.

    BadFacts with every problem of every file; nothing is half-loaded.
    """
    laid = lay(SHAPE, texts, over or {}, {})
    rows = {f"{table}s": laid.tables[table.replace("_", "-")] for table in TABLES}
    return Standards(sources=laid.sources, shadows=laid.shadows, **rows)


def origin(record: Value) -> tuple[str, Certainty]:
    """Source and certainty of a record, or of the fact in it."""
    said = record.months if isinstance(record, Interval) else record
    return said.source, said.certainty  # type: ignore[attr-defined]


@lru_cache(maxsize=1)
def load_standards() -> Standards:
    """The shipped standards, read once."""
    return load_standards_texts(shipped_texts("standards"))

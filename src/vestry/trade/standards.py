"""Standards of fit and size, as data with sources: pass levels of fit tests, intervals, glove and gown tables.

Apart from the catalogue: they have no part in a plan or a verdict, so a changed table changes no digest of facts.

load_standards()          the shipped standards, read once
load_standards_texts()    from texts (file name to text); BadFacts with every problem
Standards                 the records, and one lookup for each question
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

from pydantic import Field

from vestry.trade import reading
from vestry.trade.errors import BadFacts, Problem
from vestry.trade.shipped import shipped_texts
from vestry.trade.values import Certainty, Fact, Id, Source, Sourced, Value

Device = Literal["half-mask", "full-facepiece"]
IntervalOf = Literal["fit-test", "competency", "clearance", "unit-service", "battery-test", "flow-check"]
Size = str


class PassLevel(Sourced):
    """The overall fit factor that a class of respirator must reach in one country's system.

    qualitative    whether a taste or smell test will do for this class there
    """

    id: Id
    jurisdiction: Id
    device: Device
    level: int = Field(ge=1)
    qualitative: bool
    year: int | None = None
    note: str | None = None


class ExerciseFact(Sourced):
    """An exercise of a quantitative fit test; whether its factor counts towards the overall one."""

    id: Id
    scored: bool = True


class Interval(Value):
    """For how many months a thing on the register holds, where the record itself does not say."""

    id: Id
    of: IntervalOf
    jurisdiction: Id
    months: Fact[int]


class GloveSize(Sourced):
    """One row of a hand-to-glove table. Millimetres."""

    id: Id
    system: Id
    number: int
    size: Size
    circumference_mm: int
    hand_length_mm: int
    glove_length_mm: int


class GloveWidth(Sourced):
    """The width, laid flat, that a glove of this size may have; None: not bounded on that side. Millimetres."""

    id: Id
    system: Id
    size: Size
    least_mm: int | None = None
    most_mm: int | None = None


class GownSize(Sourced):
    """One row of a gown table, measures of the finished gown. Millimetres."""

    id: Id
    size: Size
    chest_least_mm: int
    chest_most_mm: int | None = None
    back_least_mm: int
    back_most_mm: int
    sleeve_least_mm: int


class Proportion(Sourced):
    """A height above the floor as thousandths of stature."""

    id: Id
    thousandths: int = Field(ge=1, le=1000)


class StandardsFile(Value):
    """Any file under data/standards/."""

    format_version: int = Field(ge=1, le=1)
    source: tuple[Source, ...] = ()
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

    def pass_level(self, jurisdiction: str, device: Device) -> PassLevel | None:
        """The level of this country's system; None where none is held. Another country's never takes its place."""
        return next(
            (one for one in self.pass_levels.values() if (one.jurisdiction, one.device) == (jurisdiction, device)), None
        )

    def months(self, of: IntervalOf, jurisdiction: str) -> int:
        """For how long a thing holds: by the jurisdiction's own interval, else by the one for nobody's."""
        for wanted in (jurisdiction, "unstated"):
            for one in self.intervals.values():
                if one.of == of and one.jurisdiction == wanted:
                    months = one.months.value if one.months.value is not None else one.months.default
                    assert months is not None, "checked when the file was read"
                    return months
        raise KeyError(of)

    def gloves(self, system: str) -> tuple[GloveSize, ...]:
        """The rows of a hand-to-glove table, smallest first."""
        return tuple(
            sorted((one for one in self.glove_sizes.values() if one.system == system), key=lambda one: one.number)
        )

    def widths(self, system: str) -> tuple[GloveWidth, ...]:
        """The rows of a table of glove widths, in the order of the file."""
        return tuple(one for one in self.glove_widths.values() if one.system == system)


_TABLES = ("pass_level", "exercise", "interval", "glove_size", "glove_width", "gown_size", "proportion")


def load_standards_texts(texts: Mapping[str, str]) -> Standards:
    """The standards in these files. BadFacts with every problem of every file; nothing is half-loaded."""
    problems: list[Problem] = []
    files: list[tuple[str, StandardsFile, dict[reading.Path, int]]] = []
    for name, text in sorted(texts.items()):
        try:
            document, lines = reading.parse(text, name)
            files.append((name, reading.validate(StandardsFile, document, name, lines), lines))
        except BadFacts as bad:
            problems.extend(bad.problems)
    found: dict[str, dict[str, Any]] = {}
    for table in ("source", *_TABLES):
        found[table] = {}
        for name, file, lines in files:
            for index, record in enumerate(getattr(file, table)):
                if record.id in found[table]:
                    line = reading.line_of(lines, (table.replace("_", "-"), index, "id"))
                    problems.append(Problem(name, line, f"{table}.{index}.id", f"{record.id} stands twice"))
                found[table][record.id] = record
    if not problems:
        problems += _sources_missing(files, found["source"])
    if problems:
        raise BadFacts(problems)
    return Standards(**{f"{table}s": rows for table, rows in found.items()})


def _sources_missing(
    files: list[tuple[str, StandardsFile, dict[reading.Path, int]]], sources: Mapping[str, Source]
) -> list[Problem]:
    problems = []
    for name, file, lines in files:
        for table in _TABLES:
            for index, record in enumerate(getattr(file, table)):
                source, _ = origin(record)
                if source not in sources:
                    line = reading.line_of(lines, (table.replace("_", "-"), index))
                    problems.append(Problem(name, line, f"{table}.{record.id}", f"no source is called {source}"))
                if isinstance(record, Interval) and record.months.value is None and record.months.default is None:
                    problems.append(Problem(name, 0, f"interval.{record.id}", "give `value`, or `default`"))
    return problems


def origin(record: Value) -> tuple[str, Certainty]:
    """Source and certainty of a record, or of the fact in it."""
    said = record.months if isinstance(record, Interval) else record
    return said.source, said.certainty  # type: ignore[attr-defined]


@lru_cache(maxsize=1)
def load_standards() -> Standards:
    """The shipped standards, read once."""
    return load_standards_texts(shipped_texts("standards"))

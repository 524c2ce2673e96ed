"""A hospital's own records over shipped tables that stand apart from the catalogue: operations, and standards.

As with the facts of the catalogue (overlay.py): whole records, each with its reason; all files or none; what differs
says that it is the hospital's; nothing is deleted, and every record of ours that is shadowed is listed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any, Generic, TypeVar

import rfc8785

from vestry.trade import reading
from vestry.trade.crosscheck import NO_SOURCE_NEEDED
from vestry.trade.errors import BadFacts, Problem
from vestry.trade.shadows import OWN, Change, Retire, Shadow, claimed, differing
from vestry.trade.values import Fact, Source, Sourced, Value

File = TypeVar("File", bound=Value)
Check = Callable[[str, Any, "Tables"], Iterator[tuple[str, str]]]
"""What is wrong with a record of a hospital's (its table, itself, the whole): field and what would be right."""
Tables = Mapping[str, Mapping[str, Any]]


@dataclass(frozen=True)
class Shape(Generic[File]):
    """How tables of one sort are read.

    model       a file; its fields are the tables (besides format-version, source and retire)
    same        by table: what a record speaks of; two records of one table do not speak of the same
    check       what else a hospital's record has to keep to
    retirable   tables of which a record can be out of force
    """

    model: type[File]
    tables: tuple[str, ...]
    same: Mapping[str, Callable[[Any], Any]] = field(default_factory=dict)
    check: Check = lambda _table, _record, _tables: iter(())
    retirable: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Laid:
    """The records in force by table and id, all sources, and what a hospital laid over, added or retired."""

    tables: Tables
    sources: Mapping[str, Source]
    shadows: tuple[Shadow, ...]


@dataclass(frozen=True)
class _Read(Generic[File]):
    name: str
    file: File
    lines: dict[reading.Path, int]

    def problem(self, path: reading.Path, what: str) -> Problem:
        return Problem(self.name, reading.line_of(self.lines, path), ".".join(map(str, path)), what)

    def records(self, tables: tuple[str, ...]) -> Iterator[tuple[str, int, Any]]:
        for table in tables:
            for index, record in enumerate(getattr(self.file, table)):
                yield table.replace("_", "-"), index, record


def lay(shape: Shape[File], texts: Mapping[str, str], over: Mapping[str, str], sources: Mapping[str, Source]) -> Laid:
    """The records of these files (name to text), a hospital's `over` them. BadFacts with every problem of all."""
    problems: list[Problem] = []
    below, above = [[*_parsed(shape, some, problems)] for some in (texts, over)]
    if problems:
        raise BadFacts(problems)
    laying = _Laying(shape, below, above, dict(sources))
    return laying.laid()


def digest(tables: Tables) -> str:
    """SHA-256 over the canonical JSON of all records."""
    document = {
        table: {key: record.model_dump(mode="json", by_alias=True) for key, record in sorted(records.items())}
        for table, records in sorted(tables.items())
    }
    return hashlib.sha256(rfc8785.dumps(document)).hexdigest()


def _parsed(shape: Shape[File], texts: Mapping[str, str], problems: list[Problem]) -> Iterator[_Read[File]]:
    for name, text in sorted(texts.items()):
        try:
            document, lines = reading.parse(text, name)
            yield _Read(name, reading.validate(shape.model, document, name, lines), lines)
        except BadFacts as bad:
            problems.extend(bad.problems)


class _Laying(Generic[File]):
    """The work: the shipped tables, then the hospital's records in their places."""

    def __init__(
        self,
        shape: Shape[File],
        below: list[_Read[File]],
        above: list[_Read[File]],
        sources: dict[str, Source],
    ) -> None:
        self.shape, self.below, self.above, self.sources = shape, below, above, sources
        self.problems: list[Problem] = []
        self.ours = self._gathered(below)
        self.theirs = self._gathered(above)
        self.gone: dict[tuple[str, str], tuple[_Read[File], int, Retire]] = {}

    def laid(self) -> Laid:
        self._sources()
        self._retired()
        whole = {
            table: {key: one for key, (one, _, _) in {**records, **self.theirs[table]}.items()}
            for table, records in self.ours.items()
        }
        for file, ours in [*((one, True) for one in self.below), *((one, False) for one in self.above)]:
            for table, index, record in file.records(self.shape.tables):
                self.problems += [
                    file.problem((table, index, *filter(None, field.split("."))), what)
                    for field, what in self._wrong(table, record, whole, ours)
                ]
        self._same(whole)
        if self.problems:
            raise BadFacts(self.problems)
        left = {
            table: MappingProxyType({key: one for key, one in records.items() if (table, key) not in self.gone})
            for table, records in whole.items()
        }
        return Laid(MappingProxyType(left), MappingProxyType(self.sources), self._shadows())

    def _gathered(self, files: list[_Read[File]]) -> dict[str, dict[str, tuple[Any, _Read[File], int]]]:
        found: dict[str, dict[str, tuple[Any, _Read[File], int]]] = {
            table.replace("_", "-"): {} for table in self.shape.tables
        }
        for file in files:
            for table, index, record in file.records(self.shape.tables):
                if record.id in found[table]:
                    self.problems.append(file.problem((table, index, "id"), f"{record.id} stands twice"))
                found[table][record.id] = (record, file, index)
        return found

    def _sources(self) -> None:
        for file in (*self.below, *self.above):
            for index, source in enumerate(file.file.source):  # type: ignore[attr-defined]
                if source.id in self.sources:
                    self.problems.append(file.problem(("source", index, "id"), f"{source.id} stands twice"))
                self.sources[source.id] = source

    def _retired(self) -> None:
        for file in self.below:
            for index, _ in enumerate(file.file.retire):  # type: ignore[attr-defined]
                self.problems.append(file.problem(("retire", index), "only a hospital's file takes a record out"))
        for file in self.above:
            for index, one in enumerate(file.file.retire):  # type: ignore[attr-defined]
                at = (one.kind, one.id)
                if one.kind not in self.ours:
                    what = f"no kind of record here is called {one.kind}; there are {', '.join(self.ours)}"
                    self.problems.append(file.problem(("retire", index, "kind"), what))
                elif one.kind not in self.shape.retirable:
                    what = f"{one.kind} is reckoned with: lay another record over it instead"
                    self.problems.append(file.problem(("retire", index, "kind"), what))
                elif one.id not in self.ours[one.kind]:
                    what = f"we ship no {one.kind} called {one.id}{_near(one.id, self.ours[one.kind])}"
                    self.problems.append(file.problem(("retire", index, "id"), what))
                elif one.id in self.theirs[one.kind] or at in self.gone:
                    self.problems.append(file.problem(("retire", index, "id"), f"{one.id} stands twice"))
                self.gone[at] = (file, index, one)

    def _wrong(self, table: str, record: Any, whole: Tables, ours: bool) -> Iterator[tuple[str, str]]:
        for path, said in _sourced(record):
            known = said.source in self.sources or said.source in NO_SOURCE_NEEDED
            if not known:
                yield f"{path}source", f"no source is called {said.source}{_near(said.source, self.sources)}"
            elif said.source in NO_SOURCE_NEEDED and said.certainty not in NO_SOURCE_NEEDED:
                yield f"{path}source", "this certainty needs a source"
        for name, low, high in _stretches(record):
            if high < low:
                yield name, f"{low:g} to {high:g} runs backwards"
        if ours:
            if record.because is not None:
                yield "because", "only a hospital's file lies over another"
            return
        if record.because is None:
            yield "", "a hospital's record says why: because = { reason, name, date }"
        yield from self._claims(table, record)
        yield from self.shape.check(table, record, whole)

    def _claims(self, table: str, record: Any) -> Iterator[tuple[str, str]]:
        """What differs from ours says that it is the hospital's."""
        shipped = self.ours[table].get(record.id)
        for path, certainty in claimed(_bare(record), shipped[0] if shipped else None):
            if certainty not in OWN:
                what = f'differs from what we ship, so it says certainty = "hospital" (got {certainty!r})'
                yield ".".join(path), what

    def _same(self, whole: Tables) -> None:
        for table, speaks_of in self.shape.same.items():
            said: dict[Any, str] = {}
            for key, record in whole[table].items():
                first = said.setdefault(speaks_of(record), key)
                if first != key and key in self.theirs[table]:
                    _, file, index = self.theirs[table][key]
                    what = f"speaks of the same as {first}: lay it over that one, by its id"
                    self.problems.append(file.problem((table, index, "id"), what))

    def _shadows(self) -> tuple[Shadow, ...]:
        found = []
        for table, records in self.theirs.items():
            for key, (record, file, index) in records.items():
                shipped = self.ours[table].get(key)
                change: Change = "laid-over" if shipped else "added"
                differs = differing(shipped[0], _bare(record)) if shipped else ()
                line = reading.line_of(file.lines, (table, index))
                found.append(Shadow(table, key, change, differs, record.because, file.name, line))
        for (table, key), (file, index, one) in self.gone.items():
            line = reading.line_of(file.lines, ("retire", index))
            found.append(Shadow(table, key, "retired", (), one.because, file.name, line))
        order = list(self.ours)
        return tuple(sorted(found, key=lambda shadow: (order.index(shadow.kind), shadow.id)))


def _bare(record: Any) -> Any:
    return record.model_copy(update={"because": None})


def _sourced(record: Any) -> Iterator[tuple[str, Sourced]]:
    """Whatever in a record names a source: the record itself, and the facts in it; each with where it stands."""
    if isinstance(record, Sourced):
        yield "", record
    for name in type(record).model_fields:
        if isinstance(fact := getattr(record, name), Fact):
            yield f"{name.replace('_', '-')}.", fact


def _stretches(record: Any) -> Iterator[tuple[str, float, float]]:
    for name in type(record).model_fields:
        value: Any = getattr(record, name)
        if isinstance(value, tuple) and len(value) == 2 and all(type(one) in (float, int) for one in value):
            yield name.replace("_", "-"), value[0], value[1]
    for low, high in (("low", "high"), ("over", "upto"), ("least_mm", "most_mm"), ("back_least_mm", "back_most_mm")):
        first, last = getattr(record, low, None), getattr(record, high, None)
        if first is not None and last is not None:
            yield high.replace("_", "-"), first, last


def _near(word: str, known: Mapping[str, Any]) -> str:
    near = get_close_matches(word, known, 1)
    return f"; did you mean {near[0]}?" if near else ""

"""The facts that a unit runs on: air, disinfectant, waste, heat; read, cross-checked, digested.

Apart from the facts of the catalogue, with a digest of their own: no order and no verdict depends on them. A hospital's
records lie over ours by table and id, whole, each with its reason; an id that we do not have adds a record.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property, lru_cache
from types import MappingProxyType
from typing import Any, TypeVar

import rfc8785

from vestry.trade import reading
from vestry.trade.catalogue import load_catalogue
from vestry.trade.crosscheck import NO_SOURCE_NEEDED
from vestry.trade.errors import BadFacts, Problem
from vestry.trade.operations_values import TABLES, OperationsFile, Told
from vestry.trade.shipped import shipped_texts
from vestry.trade.values import Source

R = TypeVar("R", bound=Told)
Parsed = tuple[str, OperationsFile, dict[reading.Path, int]]


@dataclass(frozen=True)
class Operations:
    """The records in force, by table (`air-limit`) and id; the sources; which of them a hospital laid over or added."""

    tables: Mapping[str, Mapping[str, Told]]
    sources: Mapping[str, Source]
    theirs: tuple[tuple[str, str], ...] = ()

    def all(self, kind: type[R]) -> tuple[R, ...]:
        """Every record of one kind, in the order of the files."""
        return tuple(one for table in self.tables.values() for one in table.values() if isinstance(one, kind))

    def one(self, kind: type[R], key: str) -> R:
        """The record of this kind and id. KeyError with the nearest id."""
        found = {record.id: record for record in self.all(kind)}
        if key not in found:
            near = get_close_matches(key, found, 1)
            raise KeyError(f"no {_said(kind)} is called {key}" + (f"; did you mean {near[0]}?" if near else ""))
        return found[key]

    @cached_property
    def digest(self) -> str:
        """SHA-256 over the canonical JSON of all records."""
        document = {
            table: {key: record.model_dump(mode="json", by_alias=True) for key, record in sorted(records.items())}
            for table, records in sorted(self.tables.items())
        }
        return hashlib.sha256(rfc8785.dumps(document)).hexdigest()


def _said(kind: type[Told]) -> str:
    return "".join(f" {c.lower()}" if c.isupper() else c for c in kind.__name__).strip()


def load_operations_texts(texts: Mapping[str, str], over: Mapping[str, str] | None = None) -> Operations:
    """The records in these files (name to text), a hospital's files `over` them.

    BadFacts with every problem of every file; nothing is half-loaded.
    """
    problems: list[Problem] = []
    below = [*_parse(texts, problems)]
    above = [*_parse(over or {}, problems)]
    if problems:
        raise BadFacts(problems)
    sources = {**load_catalogue().sources}
    for name, file, lines in (*below, *above):
        for index, source in enumerate(file.source):
            if source.id in sources:
                problems.append(_problem(name, lines, ("source", index, "id"), f"{source.id} stands twice"))
            sources[source.id] = source
    tables: dict[str, dict[str, Told]] = {table.replace("_", "-"): {} for table in TABLES}
    _gather(below, tables, problems)
    theirs: dict[str, dict[str, Told]] = {table: {} for table in tables}
    _gather(above, theirs, problems)
    for number, one in enumerate((*below, *above)):
        problems.extend(_checked(one, sources, number >= len(below)))
    for table, records in theirs.items():
        tables[table].update(records)
    if problems:
        raise BadFacts(problems)
    return Operations(
        MappingProxyType({table: MappingProxyType(records) for table, records in tables.items()}),
        MappingProxyType(sources),
        tuple((table, key) for table, records in theirs.items() for key in records),
    )


def _parse(texts: Mapping[str, str], problems: list[Problem]) -> Iterator[Parsed]:
    for name, text in sorted(texts.items()):
        try:
            document, lines = reading.parse(text, name)
            yield name, reading.validate(OperationsFile, document, name, lines), lines
        except BadFacts as bad:
            problems.extend(bad.problems)


def _gather(parsed: list[Parsed], into: dict[str, dict[str, Told]], problems: list[Problem]) -> None:
    for name, table, index, record, lines in _records(parsed):
        if record.id in into[table]:
            problems.append(_problem(name, lines, (table, index, "id"), f"{record.id} stands twice"))
        into[table][record.id] = record


def _records(parsed: list[Parsed]) -> Iterator[tuple[str, str, int, Told, dict[reading.Path, int]]]:
    for name, file, lines in parsed:
        for table in TABLES:
            for index, record in enumerate(getattr(file, table)):
                yield name, table.replace("_", "-"), index, record, lines


def _checked(one: Parsed, sources: Mapping[str, Source], ours: bool) -> Iterator[Problem]:
    """Sources that exist; a reason in a hospital's file and in no other; stretches that run forwards."""
    for name, table, index, record, lines in _records([one]):
        known = record.source in sources or record.source in NO_SOURCE_NEEDED
        if not known or (record.source in NO_SOURCE_NEEDED and record.certainty not in NO_SOURCE_NEEDED):
            near = get_close_matches(record.source, sources, 1)
            hint = f"; did you mean {near[0]}?" if near else ""
            what = f"no source is called {record.source}{hint}" if not known else "this certainty needs a source"
            yield _problem(name, lines, (table, index, "source"), what)
        if ours and record.because is None:
            yield _problem(
                name, lines, (table, index), "a hospital's record says why: because = { reason, name, date }"
            )
        if not ours and record.because is not None:
            yield _problem(name, lines, (table, index, "because"), "only a hospital's file lies over another")
        for field, low, high in _stretches(record):
            if high < low:
                yield _problem(name, lines, (table, index, field), f"{low:g} to {high:g} runs backwards")


def _stretches(record: Told) -> Iterator[tuple[str, float, float]]:
    for field in type(record).model_fields:
        value: Any = getattr(record, field)
        if isinstance(value, tuple) and len(value) == 2 and all(isinstance(one, float) for one in value):
            yield field, value[0], value[1]
    for low, high in (("low", "high"), ("over", "upto")):
        first, last = getattr(record, low, None), getattr(record, high, None)
        if first is not None and last is not None:
            yield high, first, last


def _problem(name: str, lines: dict[reading.Path, int], path: reading.Path, what: str) -> Problem:
    return Problem(name, reading.line_of(lines, path), ".".join(map(str, path)), what)


@lru_cache(maxsize=1)
def load_operations() -> Operations:
    """The shipped records, read once."""
    return load_operations_texts(shipped_texts("operations"))

"""A hospital's own facts, laid over ours by record: whole record, each with reason, name and date; never half.

1. A file has the same tables as ours. Each record has `because = { reason, name, date }` besides its own fields.
2. A record of a name that we ship stands in place of ours, at its place; any other is added.
3. `[[retire]]` with kind, id and because takes a record out of force. Nothing is deleted: ours stays on the list of
   what is shadowed.
4. What differs from ours says `certainty = "hospital"` (or "invented", for a demonstration).
5. All files are read and checked together as one catalogue; with a single problem none of it is laid.
6. What the model itself names, and who must be there, can be laid over but is not retired.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import lru_cache
from typing import Any

from pydantic import ValidationError

from vestry.trade import reading
from vestry.trade.catalogue import (
    KINDS,
    Catalogue,
    FactsFile,
    Parsed,
    assemble,
    digest_of,
    key_of,
    packaged_texts,
    parse_facts,
)
from vestry.trade.errors import BadFacts, Problem
from vestry.trade.naming import named_by
from vestry.trade.shadows import OWN, Because, Change, Retire, Shadow, claimed, differing
from vestry.trade.values import Value
from vestry.trade.words import load_words

MOST_FILES = 40
MODEL_NEEDS = frozenset({"body", "place", "helper", "zone", "convention"})
NEEDED = frozenset(
    {
        ("item", "fresh-gloves"),
        ("agent", "alcohol-rub"),
        ("agent", "disinfectant-wipe"),
        ("waste-stream", "infectious-lined"),
        ("waste-stream", "reusable-parts"),
        ("jurisdiction", "unstated"),
    }
)
TABLES = tuple(name for name in FactsFile.model_fields if name != "format_version")
Place = tuple[str, str, int]
"""A file, a table as it is called in it, and the number of a record there."""


class OverlayFile(FactsFile):
    """A file of overlaid facts: as a file of facts, and records to retire."""

    retire: tuple[Retire, ...] = ()


@dataclass(frozen=True)
class Overlaid:
    """Facts with a hospital's own laid over. Without overlay: ours, and no shadows."""

    catalogue: Catalogue
    shadows: tuple[Shadow, ...]

    @property
    def digest(self) -> str:
        """The name of the merged set."""
        return self.catalogue.digest


def lay_over(overlays: Mapping[str, str], ours: Mapping[str, str] | None = None) -> Overlaid:
    """Overlay files (name to text) over ours (as shipped where none are given). BadFacts with every problem of all."""
    base = _shipped() if ours is None else parse_facts(ours)
    if len(overlays) > MOST_FILES:
        raise BadFacts([Problem("overlay", 0, "", f"{len(overlays)} files; at most {MOST_FILES}")])
    problems: list[Problem] = []
    read: list[_Read] = []
    for name, text in sorted(overlays.items()):
        try:
            read.append(_read(name, text))
        except BadFacts as bad:
            problems.extend(bad.problems)
    if not problems:
        problems.extend(_clashes(read, {name for name, _, _ in base}))
    if problems:
        raise BadFacts(problems)
    laying = _Laying(base, read)
    return Overlaid(laying.catalogue(), laying.shadows())


@lru_cache(maxsize=1)
def _shipped() -> list[Parsed]:
    return parse_facts(packaged_texts())


# ---- one file ----


@dataclass(frozen=True)
class _Read:
    """One overlay file: its facts, why each record is there (by table and number), and what it retires."""

    name: str
    facts: FactsFile
    because: Mapping[tuple[str, int], Because]
    retire: tuple[Retire, ...]
    lines: dict[reading.Path, int]

    def line(self, *path: str | int) -> int:
        return reading.line_of(self.lines, path)


def _read(name: str, text: str) -> _Read:
    document, lines = reading.parse(text, name)
    problems: list[Problem] = []
    because: dict[tuple[str, int], Because] = {}
    bare = dict(document)
    retire = bare.pop("retire", [])
    for table in (field.replace("_", "-") for field in TABLES):
        if isinstance(records := document.get(table), list):
            bare[table] = [_without_because(one) for one in records]
            for number, one in enumerate(records):
                if isinstance(one, dict):
                    found = _because(one, (table, number), name, lines, problems)
                    because |= {(table, number): found} if found else {}
    facts: FactsFile | None = None
    whole: OverlayFile | None = None
    try:
        facts = reading.validate(FactsFile, bare, name, lines)
        whole = reading.validate(OverlayFile, {"format-version": 1, "retire": retire}, name, lines)
    except BadFacts as bad:
        problems.extend(bad.problems)
    if problems or facts is None or whole is None:
        raise BadFacts(problems)
    if not because and not whole.retire:
        raise BadFacts([Problem(name, 0, "", "no record and nothing to retire: leave the file out")])
    return _Read(name, facts, because, whole.retire, lines)


def _without_because(record: Any) -> Any:
    return {key: value for key, value in record.items() if key != "because"} if isinstance(record, dict) else record


def _because(
    record: dict[str, Any], at: tuple[str, int], name: str, lines: dict[reading.Path, int], problems: list[Problem]
) -> Because | None:
    path = (*at, "because")
    if "because" not in record:
        what = 'say why: because = { reason = "...", name = "...", date = 2026-01-31 }'
        problems.append(Problem(name, reading.line_of(lines, path), ".".join(map(str, path)), what))
        return None
    try:
        return Because.model_validate(record["because"])
    except ValidationError as error:
        for one in error.errors():
            whole = (*path, *one["loc"])
            problems.append(Problem(name, reading.line_of(lines, whole), ".".join(map(str, whole)), one["msg"]))
        return None


def _clashes(read: Iterable[_Read], ours: set[str]) -> Iterator[Problem]:
    """Records that two places speak of, and files that are called like one of ours."""
    said: dict[tuple[str, str], str] = {}
    for one in read:
        if one.name in ours:
            yield Problem(one.name, 0, "", "a file of ours is called so; give yours another name")
        for kind, key, line in _spoken_of(one):
            place = f"{one.name}:{line}"
            if (kind, key) in said:
                yield Problem(one.name, line, kind, f"{key} is spoken of twice: {said[kind, key]} and here")
            said.setdefault((kind, key), place)


def _spoken_of(one: _Read) -> Iterator[tuple[str, str, int]]:
    for field in TABLES:
        kind = field.replace("_", "-")
        for number, record in enumerate(getattr(one.facts, field)):
            yield kind, key_of(record), one.line(kind, number)
    for number, retire in enumerate(one.retire):
        yield retire.kind, retire.id, one.line("retire", number)


# ---- all of them over ours ----


class _Laying:
    """Overlay files over ours, and where in which file each record of the whole came from."""

    def __init__(self, base: list[Parsed], read: list[_Read]) -> None:
        self.base, self.read = base, read
        self.shipped = {
            (field.replace("_", "-"), key_of(record)): record
            for _, facts, _ in base
            for field in TABLES
            for record in getattr(facts, field)
        }
        self.origin: dict[Place, tuple[_Read, int]] = {}
        self.lay = {
            (field.replace("_", "-"), key_of(record)): (record, one, number)
            for one in read
            for field in TABLES
            for number, record in enumerate(getattr(one.facts, field))
        }

    def catalogue(self) -> Catalogue:
        """The whole, checked; what is retired is checked with it and then taken out."""
        problems = [*self._claims(), *self._retirements(), *self._unwritable()]
        try:
            whole = assemble([*map(self._laid, self.base), *filter(None, map(self._added, self.read))])
        except BadFacts as bad:
            raise BadFacts([*problems, *map(self._blamed, bad.problems)]) from None
        problems += [*self._unsaid(whole)]
        if problems:
            raise BadFacts(problems)
        left = _without(whole, {(one.kind, one.id) for file in self.read for one in file.retire})
        problems += [*self._still_named(left)]
        if problems:
            raise BadFacts(problems)
        return left

    def _laid(self, parsed: Parsed) -> Parsed:
        """One of our files with their records in place of ours."""
        name, facts, lines = parsed
        changes: dict[str, tuple[Value, ...]] = {}
        for field in TABLES:
            kind = field.replace("_", "-")
            records = list(getattr(facts, field))
            for number, record in enumerate(records):
                if (theirs := self.lay.get((kind, key_of(record)))) is not None:
                    records[number] = theirs[0]
                    self.origin[name, kind, number] = theirs[1:]
            changes[field] = tuple(records)
        return name, facts.model_copy(update=changes), lines

    def _added(self, one: _Read) -> Parsed | None:
        """The records of one of their files that we do not ship."""
        changes: dict[str, tuple[Value, ...]] = {}
        for field in TABLES:
            kind = field.replace("_", "-")
            new: list[Value] = []
            for number, record in enumerate(getattr(one.facts, field)):
                if (kind, key_of(record)) not in self.shipped:
                    self.origin[one.name, kind, len(new)] = (one, number)
                    new.append(record)
            changes[field] = tuple(new)
        return (one.name, one.facts.model_copy(update=changes), {}) if any(changes.values()) else None

    def _blamed(self, problem: Problem) -> Problem:
        """A problem of the whole, told where their file has it."""
        kind, _, rest = problem.field.partition(".")
        number, _, field = rest.partition(".")
        kind = kind.replace("_", "-")
        if number.isdigit() and (found := self.origin.get((problem.file, kind, int(number)))):
            one, theirs = found
            path: list[str | int] = [int(part) if part.isdigit() else part for part in field.split(".") if part]
            where = ".".join([kind, str(theirs), *([field] if field else [])])
            return replace(problem, file=one.name, line=one.line(kind, theirs, *path), field=where)
        return problem

    # ---- what only an overlay has to keep to ----

    def _claims(self) -> Iterator[Problem]:
        """Rule 4."""
        for (kind, key), (record, one, number) in self.lay.items():
            ours = self.shipped.get((kind, key))
            for path, certainty in claimed(record, ours):
                if certainty not in OWN:
                    what = f'differs from what we ship, so it says certainty = "hospital" (got {certainty!r})'
                    yield Problem(one.name, one.line(kind, number, *path), ".".join([kind, str(number), *path]), what)

    def _retirements(self) -> Iterator[Problem]:
        for one in self.read:
            for number, retire in enumerate(one.retire):
                for field, what in self._not_retired(retire):
                    yield Problem(one.name, one.line("retire", number, field), f"retire.{number}.{field}", what)

    def _not_retired(self, retire: Retire) -> Iterator[tuple[str, str]]:
        at = (retire.kind, retire.id)
        if retire.kind not in KINDS:
            yield "kind", f"no kind of record is called {retire.kind}; there are {', '.join(KINDS)}"
        elif retire.kind in MODEL_NEEDS or at in NEEDED:
            yield "kind", f"the model itself names {retire.kind} {retire.id}; lay another record over it instead"
        elif at not in self.shipped:
            yield "id", f"we ship no {retire.kind} called {retire.id}{_near(retire, self.shipped)}"
        elif getattr(self.shipped[at], "kind", None) == "people":
            yield (
                "id",
                "who must be there is not retired; a policy can switch the rule off, by name",
            )

    def _still_named(self, left: Catalogue) -> Iterator[Problem]:
        """What is retired and still named by a record in force."""
        gone = {(one.kind, one.id): (file, number) for file in self.read for number, one in enumerate(file.retire)}
        for kind in KINDS:
            for key, record in left.records(kind).items():
                for named in named_by(record):
                    if named in gone:
                        file, number = gone[named]
                        what = f"{kind} {key} still names it; lay another record over that one, or retire it too"
                        yield Problem(file.name, file.line("retire", number), f"retire.{number}.id", what)

    def _unsaid(self, whole: Catalogue) -> Iterator[Problem]:
        """What has no words: it could be neither shown nor read aloud."""
        for lacking in load_words("en").missing(whole):
            table, _, key = lacking.partition(" ")
            one, line = self._about(key)
            yield Problem(one, line, table, f"there are no words for {key}; use an id that is known, or lay over ours")

    def _about(self, key: str) -> tuple[str, int]:
        """The overlay's record that a missing word is about, as far as its name says so."""
        for (kind, _), (record, one, number) in self.lay.items():
            if str(getattr(record, "id", "-")) in key.replace(" ", ".").split("."):
                return one.name, one.line(kind, number)
        return self.read[0].name, 0

    def _unwritable(self) -> Iterator[Problem]:
        """Records without a digest: a number that no JSON holds exactly."""
        for (kind, key), (record, one, number) in self.lay.items():
            try:
                digest_of(record)
            except ValueError:
                what = f"{key} holds a number too large to be written down exactly"
                yield Problem(one.name, one.line(kind, number), f"{kind}.{number}", what)

    def shadows(self) -> tuple[Shadow, ...]:
        """Every record laid over, added or retired, by kind and id."""
        found = []
        for (kind, key), (record, one, number) in self.lay.items():
            ours = self.shipped.get((kind, key))
            change: Change = "added" if ours is None else "laid-over"
            differs = () if ours is None else differing(ours, record)
            found.append(
                Shadow(kind, key, change, differs, one.because[kind, number], one.name, one.line(kind, number))
            )
        for one in self.read:
            for number, retire in enumerate(one.retire):
                line = one.line("retire", number)
                found.append(Shadow(retire.kind, retire.id, "retired", (), retire.because, one.name, line))
        order = [field.replace("_", "-") for field in TABLES]
        return tuple(sorted(found, key=lambda shadow: (order.index(shadow.kind), shadow.id)))


def _near(retire: Retire, shipped: Mapping[tuple[str, str], Value]) -> str:
    near = get_close_matches(retire.id, [key for kind, key in shipped if kind == retire.kind], 1)
    return f"; did you mean {near[0]}?" if near else ""


def _without(catalogue: Catalogue, gone: set[tuple[str, str]]) -> Catalogue:
    """The catalogue without these records."""
    changes: dict[str, Any] = {}
    for kind, name in KINDS.items():
        if not any(of == kind for of, _ in gone):
            continue
        held = getattr(catalogue, name)
        if isinstance(held, Mapping):
            changes[name] = {key: record for key, record in held.items() if (kind, key) not in gone}
        else:
            changes[name] = tuple(record for record in held if (kind, key_of(record)) not in gone)
    return replace(catalogue, **changes)

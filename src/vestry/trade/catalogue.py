"""All facts of the trade, read, cross-checked and digested.

A catalogue either loads whole or not at all: every problem of every file is reported at once.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from types import MappingProxyType
from typing import Any, TypeVar

import rfc8785
from pydantic import Field

from vestry.trade import reading
from vestry.trade.errors import BadFacts, Problem
from vestry.trade.shipped import shipped_texts
from vestry.trade.values import (
    Agent,
    BodySite,
    Colleague,
    Convention,
    DonningRule,
    Duration,
    ExposureZone,
    Form,
    Hazard,
    Helper,
    Item,
    Jurisdiction,
    Place,
    ProtectionFactor,
    Requirement,
    Rule,
    Source,
    Technique,
    Turnaround,
    Value,
    WasteRule,
    WasteStream,
)

R = TypeVar("R", bound=Value)


class FactsFile(Value):
    """Any file under data/: a format version and lists of records."""

    format_version: int = Field(ge=1, le=1)
    form: tuple[Form, ...] = ()
    item: tuple[Item, ...] = ()
    technique: tuple[Technique, ...] = ()
    body: tuple[BodySite, ...] = ()
    place: tuple[Place, ...] = ()
    helper: tuple[Helper, ...] = ()
    zone: tuple[ExposureZone, ...] = ()
    convention: tuple[Convention, ...] = ()
    agent: tuple[Agent, ...] = ()
    hazard: tuple[Hazard, ...] = ()
    waste_stream: tuple[WasteStream, ...] = ()
    jurisdiction: tuple[Jurisdiction, ...] = ()
    waste_rule: tuple[WasteRule, ...] = ()
    protection_factor: tuple[ProtectionFactor, ...] = ()
    rule: tuple[Rule, ...] = ()
    source: tuple[Source, ...] = ()
    requirement: tuple[Requirement, ...] = ()
    donning: tuple[DonningRule, ...] = ()
    duration: tuple[Duration, ...] = ()
    colleague: tuple[Colleague, ...] = ()
    turnaround: tuple[Turnaround, ...] = ()


@dataclass(frozen=True)
class Catalogue:
    """The facts by id. `digest` names this very set of facts."""

    items: Mapping[str, Item]
    techniques: tuple[Technique, ...]
    body: Mapping[str, BodySite]
    places: Mapping[str, Place]
    helpers: Mapping[str, Helper]
    zones: Mapping[str, ExposureZone]
    conventions: Mapping[str, Convention]
    agents: Mapping[str, Agent]
    hazards: Mapping[str, Hazard]
    waste_streams: Mapping[str, WasteStream]
    jurisdictions: Mapping[str, Jurisdiction]
    waste_rules: Mapping[str, WasteRule]
    protection_factors: Mapping[str, ProtectionFactor]
    rules: Mapping[str, Rule]
    sources: Mapping[str, Source]
    requirements: Mapping[str, Requirement]
    donning: tuple[DonningRule, ...]
    durations: Mapping[str, Duration]
    colleagues: Mapping[str, Colleague]
    turnarounds: Mapping[str, Turnaround]

    @cached_property
    def digest(self) -> str:
        """SHA-256 over the canonical JSON of all facts."""
        document = {
            name: sorted((_plain(record) for record in self._records(name)), key=rfc8785.dumps)
            for name in self.__dataclass_fields__
        }
        return hashlib.sha256(rfc8785.dumps(document)).hexdigest()

    def records(self, kind: str) -> Mapping[str, Value]:
        """The records of one of KINDS, by what they are called."""
        return {key_of(record): record for record in self._records(KINDS[kind])}

    def _records(self, name: str) -> Iterable[Value]:
        records = getattr(self, name)
        return records.values() if isinstance(records, Mapping) else records


def _plain(record: Value) -> Any:
    return record.model_dump(mode="json", by_alias=True)


Lines = dict[reading.Path, int]
Parsed = tuple[str, FactsFile, Lines]

KINDS: Mapping[str, str] = MappingProxyType(
    {
        "item": "items",
        "technique": "techniques",
        "body": "body",
        "place": "places",
        "helper": "helpers",
        "zone": "zones",
        "convention": "conventions",
        "agent": "agents",
        "hazard": "hazards",
        "waste-stream": "waste_streams",
        "jurisdiction": "jurisdictions",
        "waste-rule": "waste_rules",
        "protection-factor": "protection_factors",
        "rule": "rules",
        "source": "sources",
        "requirement": "requirements",
        "donning": "donning",
        "duration": "durations",
        "colleague": "colleagues",
        "turnaround": "turnarounds",
    }
)
"""Kinds of record, as their tables are called in a file, and where a catalogue holds them. Forms are not here: reading
works them into the items that have them."""


def key_of(record: Value) -> str:
    """What a record is called among those of its kind: its id; a technique: its act, its kinds of item and its id."""
    if isinstance(record, Technique):
        return ":".join([record.act, "+".join(record.for_ or record.together) or "-", record.id])
    return str(record.id)  # type: ignore[attr-defined]


def digest_of(record: Value) -> str:
    """SHA-256 over the canonical JSON of one record."""
    return hashlib.sha256(rfc8785.dumps(_plain(record))).hexdigest()


def load(texts: Mapping[str, str]) -> Catalogue:
    """The catalogue in these files (name to text). BadFacts with every problem of every file."""
    return assemble(parse_facts(texts))


def parse_facts(texts: Mapping[str, str]) -> list[Parsed]:
    """Each file's records and lines, nothing checked across files yet. BadFacts with every problem of every file."""
    problems: list[Problem] = []
    parsed: list[Parsed] = []
    for name, text in sorted(texts.items()):
        try:
            document, lines = reading.parse(text, name)
            parsed.append((name, reading.validate(FactsFile, document, name, lines), lines))
        except BadFacts as bad:
            problems.extend(bad.problems)
    if problems:
        raise BadFacts(problems)
    return parsed


def assemble(parsed: list[Parsed]) -> Catalogue:
    """The records of these files as one catalogue, checked across files. BadFacts with every problem."""
    problems: list[Problem] = []
    gather = _Gather(parsed, problems)
    forms = gather.by_id("form", Form)
    catalogue = Catalogue(
        items=MappingProxyType(
            {key: _formed(item, forms, problems) for key, item in gather.by_id("item", Item).items()}
        ),
        techniques=tuple(technique for _, facts, _ in parsed for technique in facts.technique),
        body=gather.by_id("body", BodySite),
        places=gather.by_id("place", Place),
        helpers=gather.by_id("helper", Helper),
        zones=gather.by_id("zone", ExposureZone),
        conventions=gather.by_id("convention", Convention),
        agents=gather.by_id("agent", Agent),
        hazards=gather.by_id("hazard", Hazard),
        waste_streams=gather.by_id("waste_stream", WasteStream),
        jurisdictions=gather.by_id("jurisdiction", Jurisdiction),
        waste_rules=gather.by_id("waste_rule", WasteRule),
        protection_factors=gather.by_id("protection_factor", ProtectionFactor),
        rules=gather.by_id("rule", Rule),
        sources=gather.by_id("source", Source),
        requirements=gather.by_id("requirement", Requirement),
        donning=tuple(rule for _, facts, _ in parsed for rule in facts.donning),
        durations=gather.by_id("duration", Duration),
        colleagues=gather.by_id("colleague", Colleague),
        turnarounds=gather.by_id("turnaround", Turnaround),
    )
    if not problems:
        from vestry.trade.crosscheck import crosscheck  # it needs Catalogue, which this module defines

        problems.extend(crosscheck(catalogue, parsed))
    if problems:
        raise BadFacts(problems)
    return catalogue


@dataclass(frozen=True)
class _Gather:
    parsed: list[Parsed]
    problems: list[Problem]

    def by_id(self, table: str, _: type[R]) -> Mapping[str, R]:
        found: dict[str, R] = {}
        for name, facts, lines in self.parsed:
            for index, record in enumerate(getattr(facts, table)):
                if record.id in found:
                    line = reading.line_of(lines, (table.replace("_", "-"), index, "id"))
                    self.problems.append(Problem(name, line, f"{table}.{index}.id", f"{record.id} stands twice"))
                found[record.id] = record
        return MappingProxyType(found)


def _formed(item: Item, forms: Mapping[str, Form], problems: list[Problem]) -> Item:
    if item.form is None:
        return item
    form = forms.get(item.form)
    if form is None:
        problems.append(Problem("items.toml", 0, f"item {item.id}.form", f"no form is called {item.form}"))
        return item
    return item.model_copy(
        update={
            "form": None,
            "faces": item.faces or form.faces,
            "drags": item.drags or form.drags,
            "latent": item.latent or form.latent,
        }
    )


def packaged_texts() -> dict[str, str]:
    """The fact files that Vestry ships, name to text."""
    return shipped_texts()


@lru_cache(maxsize=1)
def load_catalogue() -> Catalogue:
    """The shipped catalogue, read once."""
    return load(packaged_texts())

"""The evidence: how much a touch moves, how much a rub takes away, how often a hand slips; as data, with its sources.

Apart from the facts of the catalogue: it has its own digest, and no verdict depends on it. A record applies when all
its conditions are met by what is asked; of those that apply the one with the most conditions is taken. Two with equally
many that could apply to the same question are refused when the files are loaded, unless a third settles it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from types import MappingProxyType
from typing import Any

import rfc8785

from vestry.trade import reading
from vestry.trade.catalogue import Catalogue, load_catalogue
from vestry.trade.errors import BadFacts, Problem
from vestry.trade.evidence_checks import Parsed, check_file, check_ties, surface_natures
from vestry.trade.evidence_values import (
    Conditions,
    EvidenceFile,
    EvidenceRecord,
    Measurement,
    Nature,
    Quantity,
    Unit,
    When,
    met,
)
from vestry.trade.shipped import shipped_texts
from vestry.trade.values import Source

__all__ = [
    "Evidence",
    "EvidenceRecord",
    "Measurement",
    "Nature",
    "NoEvidence",
    "Quantity",
    "Shadowed",
    "Unit",
    "When",
    "load_evidence",
    "load_evidence_texts",
]

NAMES = frozenset(When.model_fields)
EVIDENCE_TABLES = frozenset({"evidence", "measurement", "surface"})


class NoEvidence(LookupError):
    """No record of this quantity applies."""


@dataclass(frozen=True)
class Shadowed:
    """A hospital's record, and the shipped one over which it lies (None: it is added)."""

    shipped: EvidenceRecord | None
    theirs: EvidenceRecord


@dataclass(frozen=True)
class Evidence:
    """All records in force, by id; what they rest on; the nature of every surface that the catalogue names."""

    records: Mapping[str, EvidenceRecord]
    measurements: Mapping[str, Measurement]
    sources: Mapping[str, Source]
    natures: Mapping[str, Nature]
    shadowed: tuple[Shadowed, ...] = ()
    _by_quantity: dict[str, list[tuple[Conditions, EvidenceRecord]]] = field(
        default_factory=dict, compare=False, repr=False
    )

    def __post_init__(self) -> None:
        for record in self.records.values():
            self._by_quantity.setdefault(record.quantity, []).append((record.when.given_conditions(), record))
        for several in self._by_quantity.values():  # the most specific first
            several.sort(key=lambda one: -len(one[0]))

    def find(self, quantity: Quantity, **conditions: object) -> EvidenceRecord:
        """The record that applies; the most specific one where several do.

        conditions    what is known of the question, by the names of `When` (`from_material="glove"`); None: not known
        Raises NoEvidence when none applies, TypeError for a name that is no condition.
        """
        strange = sorted(set(conditions) - NAMES)
        if strange:
            raise TypeError(f"no condition is called {', '.join(strange)}")
        for wanted, record in self._by_quantity.get(quantity, ()):
            if met(wanted, conditions):
                return record
        asked = ", ".join(f"{name} {value}" for name, value in conditions.items() if value is not None)
        raise NoEvidence(f"no record of {quantity} applies for {asked or 'no condition'}")

    def nature(self, surface: str, clothed: frozenset[str] = frozenset()) -> Nature:
        """Material and size of a surface (`gown-impermeable.front`, `body.torso`); work clothing at `clothed` sites.

        Raises KeyError for a surface that the catalogue does not name.
        """
        nature = self.natures[surface]
        owner, _, site = surface.partition(".")
        return (
            nature.model_copy(update={"material": "work-clothing"}) if owner == "body" and site in clothed else nature
        )

    @cached_property
    def digest(self) -> str:
        """SHA-256 over the canonical JSON of all records, measurements and natures; numbers as Python writes them."""
        document: dict[str, Any] = {
            "records": [_plain(record) for _, record in sorted(self.records.items())],
            "measurements": [_plain(one) for _, one in sorted(self.measurements.items())],
            "natures": {name: _plain(nature) for name, nature in sorted(self.natures.items())},
        }
        return hashlib.sha256(rfc8785.dumps(document)).hexdigest()


def _plain(record: Any) -> Any:
    return record.model_dump(mode="json", by_alias=True)


def load_evidence_texts(
    texts: Mapping[str, str],
    over: Mapping[str, str] | None = None,
    catalogue: Catalogue | None = None,
    below_on: Catalogue | None = None,
) -> Evidence:
    """The evidence in these files (name to text), a hospital's files `over` them, for the facts of a catalogue.

    below_on    the facts that the files below were written for, where a hospital retired some of them; what only those
                hold may be named below
    A hospital's record replaces the shipped one of its id, whole, or is added, and says why (`because`). BadFacts
    with every problem of every file; nothing is half-loaded.
    """
    catalogue = catalogue or load_catalogue()
    problems: list[Problem] = []
    below = [*_parse(texts, problems)]
    above = [*_parse(over or {}, problems)]
    if problems:
        raise BadFacts(problems)
    shipped = _by_id(below, "evidence", problems)
    ours = _by_id(above, "evidence", problems)
    named = below_on or catalogue
    sources = {**named.sources, **catalogue.sources, **_by_id([*below, *above], "source", problems)}
    measurements = _by_id([*below, *above], "measurement", problems)
    for one in (*below, *above):
        mine = one in above
        problems.extend(check_file(one, catalogue if mine else named, sources, measurements, mine))
    natures = surface_natures([*below, *above], catalogue, problems, {id(one): named for one in below})
    merged = {**shipped, **ours}
    problems.extend(check_ties([*above, *below], merged))
    if problems:
        raise BadFacts(problems)
    return Evidence(
        records=MappingProxyType(merged),
        measurements=MappingProxyType(measurements),
        sources=MappingProxyType(sources),
        natures=MappingProxyType(natures),
        shadowed=tuple(Shadowed(shipped.get(key), record) for key, record in ours.items()),
    )


def _parse(texts: Mapping[str, str], problems: list[Problem]) -> Iterator[Parsed]:
    for name, text in sorted(texts.items()):
        try:
            document, lines = reading.parse(text, name)
            yield Parsed(name, reading.validate(EvidenceFile, document, name, lines), lines)
        except BadFacts as bad:
            problems.extend(bad.problems)


def _by_id(files: list[Parsed], table: str, problems: list[Problem]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for one in files:
        for index, record in enumerate(getattr(one.file, table)):
            if record.id in found:
                problems.append(one.problem((table, index, "id"), f"{record.id} stands twice"))
            found[record.id] = record
    return found


@lru_cache(maxsize=1)
def load_evidence() -> Evidence:
    """The shipped evidence, read once."""
    return load_evidence_texts(shipped_texts("evidence"))

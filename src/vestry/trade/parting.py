"""A hospital's own files by what they are of: facts of the catalogue, evidence, operations, standards.

A file is of one sort. What cannot be read, or holds nothing that is known, is left with the facts, where it is refused.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from vestry.trade import operations_values, reading, standards
from vestry.trade.catalogue import KINDS
from vestry.trade.errors import BadFacts, Problem
from vestry.trade.evidence import EVIDENCE_TABLES

SORTS: Mapping[str, frozenset[str]] = {
    "facts": frozenset(KINDS) - {"source"} | {"form"},
    "evidence": frozenset(EVIDENCE_TABLES),
    "operations": frozenset(one.replace("_", "-") for one in operations_values.TABLES),
    "standards": frozenset(one.replace("_", "-") for one in standards.TABLES),
}


@dataclass(frozen=True)
class Parted:
    """Files (name to text) of each sort."""

    facts: dict[str, str] = field(default_factory=dict)
    evidence: dict[str, str] = field(default_factory=dict)
    operations: dict[str, str] = field(default_factory=dict)
    standards: dict[str, str] = field(default_factory=dict)


def part(texts: Mapping[str, str]) -> Parted:
    """The files by their sort. BadFacts where one is of several."""
    parted, problems = Parted(), list[Problem]()
    for name, text in texts.items():
        try:
            document, _ = reading.parse(text, name)
        except BadFacts:
            document = {}
        sorts = [sort for sort, tables in SORTS.items() if _tables(document) & tables]
        if len(sorts) > 1:
            what = f"a file is of one sort; this one is of {' and '.join(sorts)}: make a file of each"
            problems.append(Problem(name, 0, "", what))
        getattr(parted, sorts[0] if sorts else "facts")[name] = text
    if problems:
        raise BadFacts(problems)
    return parted


def _tables(document: Mapping[str, Any]) -> set[str]:
    """The tables that a file speaks of: those it has, and those it retires records of."""
    retire = document.get("retire")
    kinds = [one.get("kind") for one in retire if isinstance(one, dict)] if isinstance(retire, list) else []
    return {*document, *(one for one in kinds if isinstance(one, str))}

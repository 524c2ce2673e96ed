"""The estimates that amounts rest on: each with law, unit, conditions, source, certainty and trust.

With an id: one record with the measurements beneath it. Exit status: 0; 2 wrong use, or files that cannot be laid.
"""

from __future__ import annotations

import argparse
from difflib import get_close_matches
from typing import Any, get_args

from vestry.cli import files, output
from vestry.trade import BadFacts, Catalogue, Evidence, EvidenceRecord, Problem, load_catalogue
from vestry.trade.evidence import load_evidence, load_evidence_texts
from vestry.trade.evidence_values import Quantity, Span
from vestry.trade.shipped import shipped_texts


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("id", nargs="?", metavar="ID", help="one record, with what it rests on")
    parser.add_argument("--quantity", choices=get_args(Quantity), help="only records of this quantity")
    evidence_argument(parser)
    parser.add_argument("--json", action="store_true")


def evidence_argument(parser: argparse.ArgumentParser) -> None:
    """The option that lays a hospital's own estimates over ours."""
    parser.add_argument(
        "--evidence",
        nargs="+",
        action="extend",
        default=[],
        metavar="FILE",
        help="the hospital's own estimates, laid over those shipped (docs/reference/evidence.md)",
    )


def evidence_of(names: list[str], catalogue: Catalogue | None = None) -> Evidence:
    """The evidence that a command runs on, for these facts; BadFacts with every problem of every file."""
    shipped = load_catalogue()
    if not names and (catalogue is None or catalogue.digest == shipped.digest):
        return load_evidence()
    over = {name: files.read_text(name) for name in names}
    return load_evidence_texts(shipped_texts("evidence"), over, catalogue or shipped, shipped)


def run(options: argparse.Namespace) -> int:
    """List, or show one."""
    evidence = evidence_of(options.evidence)
    if options.id is not None:
        one = _one(evidence, options.id)
        if options.json:
            output.print_json(describe(evidence, [one]))
        else:
            print("\n".join(record_lines(evidence, one)))
        return 0
    records = [one for one in evidence.records.values() if options.quantity in (None, one.quantity)]
    if options.json:
        output.print_json(describe(evidence, records))
        return 0
    rows = [
        (one.id, one.quantity, f"{one.law.central:.3g} {one.unit}", said(one), one.source, one.certainty, one.trust)
        for one in records
    ]
    print(output.table(rows, ("record", "quantity", "central value", "when", "source", "certainty", "trust")))
    for shadow in evidence.shadowed:
        change = "added" if shadow.shipped is None else "laid over ours"
        because = shadow.theirs.because
        if because is not None:
            print(f"\n{shadow.theirs.id}: {change}. {because.reason} {because.name}, {because.date.isoformat()}")
    print(f"\nEvidence digest {evidence.digest}")
    return 0


def _one(evidence: Evidence, name: str) -> EvidenceRecord:
    if name not in evidence.records:
        near = get_close_matches(name, list(evidence.records), 1)
        hint = f"; did you mean {near[0]}?" if near else ""
        raise BadFacts([Problem("evidence", 0, "id", f"no record is called {name}{hint}")])
    return evidence.records[name]


def describe(evidence: Evidence, records: list[EvidenceRecord]) -> dict[str, Any]:
    """Records, and the measurements and sources beneath them, as plain JSON; docs/reference/evidence.md."""
    basis = {name for one in records for name in one.basis}
    measured = [one for name, one in evidence.measurements.items() if name in basis]
    named = {one.source for one in (*records, *measured)}
    shown = {"mode": "json", "by_alias": True, "exclude_none": True}
    return {
        "format-version": 1,
        "digest": evidence.digest,
        "records": [{**one.model_dump(**shown), "central": one.law.central} for one in records],  # type: ignore[arg-type]
        "measurements": [one.model_dump(**shown) for one in measured],  # type: ignore[arg-type]
        "sources": [one.model_dump(**shown) for name, one in evidence.sources.items() if name in named],  # type: ignore[arg-type]
        "shadowed": [shadow.theirs.id for shadow in evidence.shadowed],
    }


def record_lines(evidence: Evidence, one: EvidenceRecord) -> list[str]:
    """One record, to be read, with what it rests on."""
    law = ", ".join(f"{name} {number:g}" for name, number in one.law.parameters().items())
    found = [
        f"{one.id}: {one.quantity}, {one.unit}",
        f"  {one.law.kind}: {law}; central value {one.law.central:.3g}; drawn {one.drawn}",
        f"  when: {said(one) or 'always'}",
    ]
    if one.range is not None:
        found.append(f"  range of central values: {one.range[0]:g} to {one.range[1]:g}")
    source = evidence.sources.get(one.source)
    where = f"{source.title} {source.url or ''}".rstrip() if source else one.source
    found.append(f"  source: {where}; certainty {one.certainty}; trust {one.trust}")
    found += [
        output.paragraph(f"{name}: {text}", "  ")
        for name, text in (("derived", one.derived), ("note", one.note))
        if text
    ]
    if one.because is not None:
        found.append(output.paragraph(f"hospital: {one.because.reason} {one.because.name}, {one.because.date}", "  "))
    for name in one.basis:
        measured = evidence.measurements[name]
        values = ", ".join(f"{key} {value}" for key, value in measured.values.items())
        found.append(
            output.paragraph(
                f"rests on {name}: {measured.says}: {values or measured.finding} ({measured.unit}); "
                f"{measured.source}, {measured.certainty}",
                "    ",
            )
        )
    return found


def said(one: EvidenceRecord) -> str:
    """The conditions of a record, in one line."""
    parts = []
    for name, value in one.when.given_conditions().items():
        if isinstance(value, Span):
            end = "" if value.below is None else f" below {value.below:g}"
            parts.append(f"{name} from {value.from_:g}{end}")
        else:
            parts.append(f"{name.replace('_', '-')} {'/'.join(value)}")
    return "; ".join(parts)

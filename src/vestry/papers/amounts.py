"""Amounts on paper, for the lead's desk: the tables of the page, with its caution first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from vestry.papers.labelled import labels_of
from vestry.papers.labels import Labels
from vestry.papers.report import report_content, section, table
from vestry.papers.shipped import report_template
from vestry.papers.typesetting import pdf
from vestry.trade.words import Words

Rows = Iterable[Mapping[str, Any]]


@dataclass(frozen=True)
class AmountsSheet:
    """What stands on it: title and circumstances; then any of the whole answer, a comparison, changes, counts.

    The tables are those of the desk (`hospital.desk.amounts_showing`): rows with their words and numbers.
    """

    title: str
    pairs: tuple[tuple[str, str], ...] = ()
    shown: Mapping[str, Any] | None = None
    beside: Mapping[str, Any] | None = None
    changes: Mapping[str, Any] | None = None
    counts: Mapping[str, Any] | None = None


def amounts_pdf(sheet: AmountsSheet, words: Words, *, unit: str = "", labels: Labels | None = None) -> bytes:
    """The sheet as PDF/UA-1. Same input, same bytes; CannotPrint when the fonts lack a sign."""
    labels = labels or labels_of(words)
    return pdf(amounts_content(sheet, words, labels, unit), report_template())


def amounts_content(sheet: AmountsSheet, words: Words, labels: Labels | None = None, unit: str = "") -> dict[str, Any]:
    """Everything that stands on the sheet."""
    labels = labels or labels_of(words)
    said = sheet.shown or sheet.changes or {}
    parts = [
        *_whole(sheet.shown, words),
        *_beside(sheet.beside),
        *_changes(sheet.changes),
        *_counts(sheet.counts),
    ]
    found = said.get("found")
    digests = [f"{labels.facts} {found.facts[:12]}", f"evidence {found.evidence[:12]}"] if sheet.shown and found else []
    runs = f"{found.draws:,} runs, seed {found.seed}" if found else ""
    return report_content(
        words.term("amounts", "sheet-title"),
        words,
        labels,
        parts,
        standing=words.term("amounts", "caution"),
        lead=[sheet.title, "; ".join(f"{name}: {value}" for name, value in sheet.pairs)],
        names=[*filter(None, [runs]), *digests],
        unit=unit,
    )


def _whole(shown: Mapping[str, Any] | None, words: Words) -> Iterable[dict[str, Any]]:
    if shown is None:
        return
    for limit in shown["limits"]:
        yield section(
            limit["name"].capitalize(),
            paragraphs=[limit["says"], words.term("amounts", "in-thousand")],
            table=_rows(
                ("What is reached", "", "In 1,000 runs"),
                (0, 34, 34),
                limit["table"]["rows"],
                ("what", "when", "number"),
            ),
        )
    yield section(
        "How much, relative to what the room put on the gear",
        table=_rows(
            ("What is reached", "", "Half of runs below", "Mean", "Anything at all, in 1,000"),
            (0, 24, 30, 30, 30),
            shown["loads"]["rows"],
            ("what", "when", "middle", "mean", "something"),
        ),
    )
    for kind, name in (("step", "What goes with each step"), ("event", "What goes with each event")):
        yield section(
            name,
            paragraphs=[shown["said"]["contributions"]],
            table=_rows(
                ("Where", "Happens, in 1,000", "Exposure fewer"),
                (0, 32, 34),
                shown["contributions"][kind]["rows"],
                ("what", "happened", "number"),
            ),
        )
    yield section(
        "Which estimate matters most",
        paragraphs=[shown["said"]["unknowns"]],
        table=_rows(
            ("Estimate", "Share of the spread", "More of it"),
            (0, 36, 30),
            shown["unknowns"]["rows"],
            ("what", "number", "direction"),
        ),
    )
    yield section(
        "What it rests on",
        paragraphs=[f"{shown['weak']} of {len(shown['rests_on'])} {shown['said']['judged']}"],
        table=_rows(
            ("Estimate", "Distribution", "Certainty", "Source"),
            (42, 42, 24, 0),
            shown["rests_on"],
            ("id", "law", "certainty", "source"),
        ),
    )


def _beside(beside: Mapping[str, Any] | None) -> Iterable[dict[str, Any]]:
    if beside is not None:
        a, b = beside["titles"]
        yield section(
            "Beside another, on the same runs",
            paragraphs=[f"A: {a}. B: {b}. {beside['limit'].capitalize()}, in 1,000 runs."],
            table=_rows(
                ("What is reached", "A", "B", "B less A", "95 percent"),
                (0, 26, 26, 26, 30),
                beside["rows"],
                ("what", "a", "b", "number", "interval"),
            ),
        )


def _changes(changes: Mapping[str, Any] | None) -> Iterable[dict[str, Any]]:
    if changes is not None:
        yield section(
            "What a change would buy",
            paragraphs=[changes["said"]["ranked"], changes["steps_alone"]],
            table=_rows(
                ("Change", "Exposure, in 1,000", "95 percent", "Minutes", ""),
                (0, 28, 28, 17, 34),
                changes["rows"],
                ("what", "number", "interval", "minutes", "clear"),
            ),
        )
        yield section("Never offered for removal", paragraphs=[changes["said"]["kept"]], items=changes["kept"])


def _counts(counts: Mapping[str, Any] | None) -> Iterable[dict[str, Any]]:
    if counts and counts["rows"]:
        yield section(
            "The unit's own record",
            paragraphs=[f"{counts['entries']} entries that are over; drills are left out."],
            table=_rows(
                ("Family of steps", "Deviations", "Occasions", "Share", "95 percent"),
                (0, 20, 20, 18, 34),
                counts["rows"],
                ("what", "deviations", "occasions", "number", "interval"),
            ),
        )


def _rows(heads: Sequence[str], widths: Sequence[int], rows: Rows, fields: Sequence[str]) -> dict[str, Any] | None:
    found = [(bool(row.get("is_clear")), [str(row[field]) for field in fields]) for row in rows]
    return table(heads, widths, found) if found else None

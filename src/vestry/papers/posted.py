"""A paper that hangs where it is used: large lines, steps to follow, a table to sign. PDF/UA, black on white."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from vestry.papers.labelled import labels_of
from vestry.papers.record import Part
from vestry.papers.shipped import posted_template
from vestry.papers.typesetting import pdf
from vestry.trade.words import Words


@dataclass(frozen=True)
class Posted:
    """What stands on it, every text as it is printed.

    standing   in the box under the title: invented, past its time; empty without a box
    large      label and value, to be read from where one works
    lists      parts under their own heading; strong ones in large letters
    table      a table, its rows tall enough to write in; None without one
    blanks     lines to sign on
    names      what identifies it in the foot: hashes
    """

    title: str
    standing: str = ""
    lead: Sequence[str] = ()
    large: Sequence[tuple[str, str]] = ()
    pairs: Sequence[tuple[str, str]] = ()
    lists: Sequence[tuple[str, bool, Sequence[str]]] = ()
    table: Part | None = None
    blanks: Sequence[str] = ()
    names: Sequence[str] = ()


def posted_content(paper: Posted, words: Words, *, unit: str = "", printed_on: str | None = None) -> dict[str, Any]:
    """Everything that the template lays out; cautions of the trade words last."""
    labels = labels_of(words)
    draft = labels.draft if words.language.status == "draft" else ""
    return {
        "language": words.language.tag,
        "rtl": words.language.direction == "rtl",
        "title": paper.title,
        "standing": " · ".join(filter(None, (paper.standing, draft))),
        "lead": list(paper.lead),
        "large": [list(one) for one in paper.large],
        "pairs": [list(one) for one in paper.pairs],
        "lists": [{"name": name, "strong": strong, "items": list(items)} for name, strong, items in paper.lists],
        "table": None
        if paper.table is None
        else {
            "name": paper.table.name,
            "head": list(paper.table.head),
            "widths": list(paper.table.widths),
            "rows": [list(row) for row in paper.table.rows],
        },
        "blanks": list(paper.blanks),
        "cautions": {"name": labels.cautions, "items": list(words.cautions)},
        "page": labels.page,
        "foot": [*paper.names, *([unit] if unit else []), words.cautions[0]],
        "keywords": list(paper.names),
        "unit": unit,
        "printed": labels.printed.format(on=printed_on) if printed_on else "",
    }


def posted_pdf(paper: Posted, words: Words, *, unit: str = "", printed_on: str | None = None) -> bytes:
    """The paper as PDF/UA-1. Same input, same bytes. CannotPrint when the fonts lack a sign."""
    return pdf(posted_content(paper, words, unit=unit, printed_on=printed_on), posted_template())

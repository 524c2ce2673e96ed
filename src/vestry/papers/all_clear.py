"""A paper for each of those who were inside, once a hazard is ruled out; valid only once it is signed by hand."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vestry.papers.labelled import labels_of
from vestry.papers.labels import Labels
from vestry.papers.shipped import all_clear_template
from vestry.papers.typesetting import pdf
from vestry.sequence import CaseChange
from vestry.sequence.change_telling import told_all_clear
from vestry.trade.words import Words


def all_clear_pdf(
    found: CaseChange,
    people: Sequence[str],
    words: Words,
    *,
    unit: str = "",
    printed_on: str | None = None,
    labels: Labels | None = None,
) -> bytes:
    """The papers as PDF/UA-1, one page for each name. ValueError when nothing was ruled out, or nobody is named."""
    labels = labels or labels_of(words)
    return pdf(all_clear_content(found, people, words, labels, unit, printed_on), all_clear_template())


def all_clear_content(
    found: CaseChange,
    people: Sequence[str],
    words: Words,
    labels: Labels | None = None,
    unit: str = "",
    printed_on: str | None = None,
) -> dict[str, Any]:
    """Everything that stands on the papers."""
    labels = labels or labels_of(words)
    if found.ruled_out is None or not people:
        raise ValueError("an all-clear needs a hazard that is ruled out, and somebody to give it to")
    title = words.finding("all-clear.title", hazard=words.hazard(found.ruled_out))
    papers = []
    for name in people:
        who, *says = told_all_clear(found, name, words)
        papers.append({"title": title, "who": who, "says": says})
    printed = [labels.printed.format(on=printed_on)] if printed_on else []
    return {
        "language": words.language.tag,
        "rtl": words.language.direction == "rtl",
        "title": title,
        "unit": unit,
        "papers": papers,
        "blank": words.finding("all-clear.blank"),
        "lines": [words.finding("all-clear.result"), words.finding("all-clear.signed")],
        "foot": [*([unit] if unit else []), *printed, words.cautions[0]],
    }

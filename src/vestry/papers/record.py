"""The record of an entry, and the log of entries, on paper: a table for each part, and heads of chains as anchors."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from vestry.papers.labelled import labels_of
from vestry.papers.labels import Labels
from vestry.papers.report import report_content, section, table
from vestry.papers.shipped import report_template
from vestry.papers.typesetting import pdf
from vestry.trade.words import Words


class Part(NamedTuple):
    """A part under its own heading: heads, widths in millimetres (0: what is left), rows. One without rows says so."""

    name: str
    head: Sequence[str]
    widths: Sequence[int]
    rows: Sequence[Sequence[str]]


def record_pdf(title: str, parts: Sequence[Part], words: Words, **around: Any) -> bytes:
    """The pages of `record_content` as PDF/UA-1. Same input, same bytes; CannotPrint when the fonts lack a sign."""
    return pdf(record_content(title, parts, words, **around), report_template())


def record_content(
    title: str,
    parts: Sequence[Part],
    words: Words,
    *,
    lead: Sequence[str] = (),
    standing: str = "",
    heads: Sequence[str] = (),
    heads_title: str = "Heads of the chains, as anchors",
    none: str = "None was recorded.",
    unit: str = "",
    printed_on: str | None = None,
    labels: Labels | None = None,
) -> dict[str, Any]:
    """Everything that stands on the pages.

    heads   what is printed so that a record shown later can be held against it
    labels  the paper's own words; None: those of the language of `words`
    """
    sections = [
        section(one.name, table=table(one.head, one.widths, [(False, row) for row in one.rows]))
        if one.rows
        else section(one.name, paragraphs=[none])
        for one in parts
    ]
    if heads:
        sections.append(section(heads_title, items=heads))
    return report_content(
        title,
        words,
        labels or labels_of(words),
        sections,
        standing=standing,
        lead=lead,
        unit=unit,
        printed_on=printed_on,
    )

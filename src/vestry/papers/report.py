"""A report for the lead's desk on paper: what every such report has around what it says."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vestry.papers.labels import Labels
from vestry.trade.words import Words


def report_content(
    title: str,
    words: Words,
    labels: Labels,
    sections: Sequence[dict[str, Any]],
    *,
    standing: str = "",
    lead: Sequence[str] = (),
    names: Sequence[str] = (),
    unit: str = "",
    printed_on: str | None = None,
) -> dict[str, Any]:
    """Everything that the report's template lays out.

    standing    what stands in a box under the title: that it is unapproved
    names       what identifies it in the foot of every page: hashes of plans and facts
    """
    return {
        "language": words.language.tag,
        "rtl": words.language.direction == "rtl",
        "title": title,
        "standing": " · ".join(filter(None, (standing, labels.draft if words.language.status == "draft" else ""))),
        "lead": list(lead),
        "sections": [*sections, section(labels.cautions, items=words.cautions)],
        "page": labels.page,
        "foot": [*names, *([unit] if unit else []), words.cautions[0]],
        "keywords": list(names),
        "unit": unit,
        "printed": labels.printed.format(on=printed_on) if printed_on else "",
    }


def section(
    name: str,
    *,
    paragraphs: Sequence[str] = (),
    items: Sequence[str] = (),
    table: dict[str, Any] | None = None,
    routes: Sequence[dict[str, Any]] = (),
    charts: Sequence[dict[str, str]] = (),
) -> dict[str, Any]:
    """One part of a report under its own heading. charts: title, svg and what is said in its place, across the page."""
    return {
        "name": name,
        "paragraphs": list(paragraphs),
        "items": list(items),
        "table": table,
        "routes": list(routes),
        "charts": list(charts),
    }


def table(head: Sequence[str], widths: Sequence[int], rows: Sequence[tuple[bool, Sequence[str]]]) -> dict[str, Any]:
    """A table: heads, widths in millimetres (0: what is left), rows with whether they stand out."""
    return {
        "head": list(head),
        "widths": list(widths),
        "rows": [{"strong": strong, "cells": list(cells)} for strong, cells in rows],
    }

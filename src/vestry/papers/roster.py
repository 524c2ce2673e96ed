"""A roster on paper: week by week who covers what, the gaps, what would close them, how it is shared. PDF/UA."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from vestry.papers.labelled import labels_of
from vestry.papers.labels import Labels
from vestry.papers.report import report_content, section, table
from vestry.papers.shipped import report_template
from vestry.papers.typesetting import pdf
from vestry.roster import Roster
from vestry.roster.telling import headlines, told_closing, why_not
from vestry.trade.words import Words


def roster_content(
    found: Roster, words: Words, unit: str = "", printed_on: str | None = None, labels: Labels | None = None
) -> dict[str, Any]:
    """What the report's template lays out."""
    labels = labels or labels_of(words)
    lead = headlines(found, words)
    return report_content(
        found.title or words.term("roster", "title"),
        words,
        labels,
        [*_weeks(found, words), *_gaps(found, words), _loads(found, words)],
        standing=lead[0],
        lead=[*lead[1:], words.term("roster", "caution")],
        unit=unit,
        printed_on=printed_on,
    )


def roster_pdf(found: Roster, words: Words, unit: str = "", printed_on: str | None = None) -> bytes:
    """The roster as PDF/UA-1. Same input, same bytes. CannotPrint when the fonts lack a sign."""
    return pdf(roster_content(found, words, unit, printed_on), report_template())


def _weeks(found: Roster, words: Words) -> list[dict[str, Any]]:
    sections = []
    for first in range(0, found.days, 7):
        days = [found.starts + timedelta(days=day) for day in range(first, min(first + 7, found.days))]
        rows = []
        kinds = dict.fromkeys((row.shift, row.duty) for row in found.grid if row.day in days)
        for shift, duty in kinds:
            cells = [_cell(found, day, shift, duty, words) for day in days]
            rows.append((False, [f"{shift}, {words.term('roster-duty', duty)}", *cells]))
        head = [words.term("roster", "shift"), *(day.strftime("%d.%m.") for day in days)]
        widths = [30, *[0] * len(days)]
        name = words.term("roster", "week").format(name=days[0].isoformat())
        sections.append(section(name, table=table(head, widths, rows)))
    return sections


def _cell(found: Roster, day: date, shift: str, duty: str, words: Words) -> str:
    for row in found.grid:
        if (row.day, row.shift, row.duty) == (day, shift, duty):
            return "\n".join([*row.people, *[words.term("roster", "empty")] * row.empty])
    return "–"


def _gaps(found: Roster, words: Words) -> list[dict[str, Any]]:
    if not found.gaps:
        return []
    head = [words.term("roster", one) for one in ("day", "shift", "duty", "needed", "there", "why")]
    rows = []
    for gap in found.gaps:
        what = [gap.day.isoformat(), gap.shift, words.term("roster-duty", gap.duty), str(gap.needed), str(gap.there)]
        rows.append((False, [*what, why_not(gap, words)]))
    gaps = section(words.term("roster", "gaps"), table=table(head, [24, 20, 22, 16, 14, 0], rows))
    return [gaps, section(words.term("roster", "closing"), items=told_closing(found.closing, words))]


def _loads(found: Roster, words: Words) -> dict[str, Any]:
    head = [words.term("roster", one) for one in ("person", "shifts", "hours", "inside")]
    rows = [(False, [load.person, str(load.shifts), str(load.hours), str(load.inside)]) for load in found.loads]
    return section(words.term("roster", "loads"), table=table(head, [0, 25, 25, 35], rows))

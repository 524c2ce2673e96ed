"""The sheet of differences: what a substitution changes of a plan, step by step, to be read at the desk."""

from __future__ import annotations

from typing import Any

from vestry.papers.labelled import labels_of
from vestry.papers.labels import Labels
from vestry.papers.report import report_content, section, table
from vestry.papers.sheet import short_hash
from vestry.papers.shipped import report_template
from vestry.papers.typesetting import pdf
from vestry.sequence import Substitution
from vestry.sequence.comparison import ComparedStep, Comparison, Row
from vestry.sequence.telling import said_step, told_substitution, told_team
from vestry.trade import Catalogue
from vestry.trade.words import Words


def differences_pdf(
    found: Substitution,
    words: Words,
    catalogue: Catalogue,
    *,
    unit: str = "",
    printed_on: str | None = None,
    labels: Labels | None = None,
) -> bytes:
    """The sheet of differences as PDF/UA-1. Same input, same bytes; CannotPrint when the fonts lack a sign."""
    labels = labels or labels_of(words)
    return pdf(differences_content(found, words, catalogue, labels, unit, printed_on), report_template())


def differences_content(
    found: Substitution,
    words: Words,
    catalogue: Catalogue,
    labels: Labels | None = None,
    unit: str = "",
    printed_on: str | None = None,
) -> dict[str, Any]:
    """Everything that stands on the sheet of differences."""
    labels = labels or labels_of(words)
    both = found.comparison
    standing = words.finding("substitute.unapproved")
    told = [one for one in told_substitution(found, words) if one != standing]
    changed = [row for row in both.steps if row.change != "kept"]
    kept = words.finding("substitute.same", count=len(both.steps) - len(changed))
    verdict = words.verdict(found.assurance.verdict).says
    return report_content(
        words.finding("substitute.title", item=words.item_it(found.without)),
        words,
        labels,
        [
            section(labels.differences, paragraphs=[kept], table=_table(changed, words, catalogue, labels)),
            section(labels.every_step, table=_table(both.steps, words, catalogue, labels)),
            *_team(both, words, catalogue, labels),
            section(labels.ensemble, items=[words.item(item) for item in found.plan.worn]),
        ],
        standing=standing,
        lead=[*told, verdict, words.finding("substitute.not-compared")],
        names=[
            f"{labels.plan} {short_hash(found.plan.hash)}",
            f"{labels.before} {short_hash(found.before)}",
            f"{labels.facts} {short_hash(found.assurance.facts)}",
        ],
        unit=unit,
        printed_on=printed_on,
    )


def _team(both: Comparison, words: Words, catalogue: Catalogue, labels: Labels) -> list[dict[str, Any]]:
    """A part for each of those beside the wearer and for the lane, where something differs; else one sentence."""
    if not both.team and not both.turnaround:
        return []
    told = told_team(both, words, catalogue, {"a": labels.was, "b": labels.now})
    if not told:
        return [section(labels.team, paragraphs=[words.finding("team.same")])]
    return [section(title, items=lines) for title, lines in told]


def _table(
    rows: tuple[Row, ...] | list[Row], words: Words, catalogue: Catalogue, labels: Labels
) -> dict[str, Any] | None:
    if not rows:
        return None
    return table(
        (labels.was, labels.now, labels.change, labels.read_aloud, labels.further_was, labels.further_now),
        (10, 10, 16, 0, 17, 17),
        [(row.change != "kept", _cells(row, words, catalogue)) for row in rows],
    )


def _cells(row: Row, words: Words, catalogue: Catalogue) -> tuple[str, ...]:
    step = row.b or row.a
    assert step is not None
    return (
        str(row.a.number) if row.a else "",
        str(row.b.number) if row.b else "",
        words.term("change", row.change),
        said_step(step, words, catalogue)[0],
        further(row.a, words),
        further(row.b, words),
    )


def further(step: ComparedStep | None, words: Words) -> str:
    """Further errors before exposure at a step, where the model judged it."""
    if step is None or not step.judged:
        return ""
    return words.term("further", "many") if step.further is None else str(step.further)

"""The procedure book: all approved procedures in force, in one document with contents, to lie in the anteroom."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from vestry.papers.answers import Led, answers_rows
from vestry.papers.labelled import labels_of
from vestry.papers.labels import Labels
from vestry.papers.sheet import Approval, ensemble_title, short_hash
from vestry.papers.shipped import book_template
from vestry.papers.typesetting import pdf
from vestry.sequence import Assurance, Plan, say
from vestry.trade import Catalogue
from vestry.trade.words import Words


@dataclass(frozen=True)
class Chapter:
    """One approved procedure as the book prints it, on the facts of its approval."""

    title: str
    plan: Plan
    assurance: Assurance
    approval: Approval
    catalogue: Catalogue
    answers: tuple[Led, ...]


def book_pdf(
    chapters: Sequence[Chapter], words: Words, unit: str, *, printed_on: str | None = None, labels: Labels | None = None
) -> bytes:
    """The book as PDF/UA-1. Same input, same bytes; CannotPrint when the fonts lack a sign."""
    labels = labels or labels_of(words)
    return pdf(book_content(chapters, words, unit, printed_on, labels), book_template())


def book_content(
    chapters: Sequence[Chapter],
    words: Words,
    unit: str,
    printed_on: str | None = None,
    labels: Labels | None = None,
) -> dict[str, Any]:
    """Everything that the book's template lays out."""
    labels = labels or labels_of(words)
    return {
        "language": words.language.tag,
        "rtl": words.language.direction == "rtl",
        "labels": labels.as_json(),
        "unit": unit,
        "draft": labels.draft if words.language.status == "draft" else "",
        "printed": labels.printed.format(on=printed_on) if printed_on else "",
        "cautions": list(words.cautions),
        "chapters": [_chapter(one, words, labels) for one in chapters],
    }


def _chapter(one: Chapter, words: Words, labels: Labels) -> dict[str, Any]:
    plan, approval = one.plan, one.approval
    verdict = words.verdict(one.assurance.verdict)
    by = labels.approved.format(on=approval.approved_on, by=approval.approved_by)
    return {
        "title": one.title,
        "wears": ensemble_title(plan, words, one.catalogue),
        "hazard": words.hazard(plan.case.hazard),
        "presentation": words.term("presentation", plan.case.presentation),
        "tasks": ", ".join(words.term("task", task) for task in plan.case.tasks),
        "approval": f"{labels.version.format(version=approval.version)}, {by}",
        "practised": approval.practised or "",
        "plan": short_hash(plan.hash),
        "facts": short_hash(one.assurance.facts),
        "verdict": verdict.says,
        "ensemble": [words.item(item) for item in plan.worn],
        "phases": _phases(one, words),
        "answers": answers_rows(plan, one.answers, words, one.catalogue, labels),
    }


def _phases(one: Chapter, words: Words) -> list[dict[str, Any]]:
    """The steps under the names of their phases, with the numbers that they have everywhere. No margin is here."""
    phases: list[dict[str, Any]] = []
    for number, step in enumerate(one.plan.steps, 1):
        name = words.term("phase", step.phase)
        if not phases or phases[-1]["name"] != name:
            phases.append({"name": name, "steps": []})
        said = say(step, words, one.catalogue)
        stop = words.stop(step.stop_point) if step.stop_point else None
        phases[-1]["steps"].append(
            {
                "number": number,
                "who": words.term("who", step.who),
                "say": said.say,
                "watch": said.watch,
                "stop": f"{stop.name}: {stop.say}" if stop else "",
                "waste": words.waste(step.waste) if step.waste else "",
            }
        )
    return phases

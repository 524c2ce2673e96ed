"""Two sequences side by side at the desk. Nothing is stored; nobody is told to change anything."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from vestry.hospital.access.door import door
from vestry.hospital.desk.asked import choices, presentation_of, subject_of
from vestry.hospital.language import words_now
from vestry.sequence import Comparison, Subject, compare
from vestry.sequence.comparison import ComparedStep, CountedTable
from vestry.sequence.telling import said_step, summary, told_at_step, told_team
from vestry.trade.words import Words

TABLES = {
    ("all", False): _("From every face that may be contaminated"),
    ("all", True): _("With hidden faults"),
    ("high", False): _("From heavily loaded faces only"),
    ("high", True): _("From heavily loaded faces only, with hidden faults"),
}
SIDES = {"a": "A", "b": "B", "equal": "equal"}


@door(GET="compare-sequences")
def compared(request: HttpRequest) -> HttpResponse:
    names = {side: request.GET.get(side, "") for side in ("a", "b")}
    presentation = presentation_of(request)
    context: dict[str, Any] = {"groups": choices(), "presentation": presentation} | names
    if all(names.values()):
        a, b = (subject_of(name, presentation) for name in names.values())
        context["shown"] = shown(compare(a, b), a, b)
    return render(request, "desk/compared-two.html", context)


def shown(found: Comparison, a: Subject, b: Subject) -> dict[str, Any]:
    """What the page of a comparison shows."""
    words = words_now()
    return {
        "found": found,
        "sides": [_side("A", found.a, words), _side("B", found.b, words)],
        "summary": summary(found, a, b, words),
        "worn": [
            (title, [words.item(item) for item in items])
            for title, items in ((gettext("Worn in A only"), found.dropped), (gettext("Worn in B only"), found.added))
            if items
        ],
        "sizes": [words.term("errors", str(size)) for size in range(found.order + 1)],
        "tables": [_counts(table, words) for table in found.tables],
        "gained": [
            (title, [told_at_step(one, subject, words) for one in routes])
            for title, routes, subject in (
                (gettext("Routes of one error in A only"), found.weak_lost, a),
                (gettext("Routes of one error in B only"), found.weak_gained, b),
            )
            if routes
        ],
        "rows": [_row(row, words, a) for row in found.steps],
        "team": told_team(found, words, a.catalogue),
        "team_same": words.finding("team.same") if found.team or found.turnaround else "",
    }


def _side(name: str, side: Any, words: Words) -> dict[str, Any]:
    return {
        "name": name,
        "title": side.title,
        "verdict": words.verdict(side.verdict).short,
        "steps": side.steps,
        "minutes": round(side.time.seconds / 60),
        "least": round(side.time.least / 60),
        "most": round(side.time.most / 60),
        "fewest": words.term("further", "many") if side.fewest is None else side.fewest,
        "watch": side.watch,
        "sort": gettext("published or written order") if side.sort == "order" else "plan",
        "presentation": words.term("presentation", side.presentation),
    }


def _counts(table: CountedTable, words: Words) -> dict[str, Any]:
    return {
        "title": TABLES[table.loads, table.latent],
        "rows": [
            {
                "endpoint": words.endpoint(one.endpoint),
                "ever": list(zip(one.a_ever, one.b_ever, strict=True)),
                "at_end": list(zip(one.a_at_end, one.b_at_end, strict=True)),
                "fewer": SIDES[one.better],
                "mixed": one.better != "equal" and not one.throughout,
            }
            for one in table.endpoints
        ],
    }


def _row(row: Any, words: Words, subject: Subject) -> dict[str, Any]:
    step: ComparedStep = row.b or row.a
    say, short = said_step(step, words, subject.catalogue)
    return {
        "change": row.change,
        "changed": words.term("change", row.change),
        "say": say,
        "short": short,
        "a": _half(row.a, words),
        "b": _half(row.b, words),
    }


def _half(step: ComparedStep | None, words: Words) -> dict[str, Any] | None:
    if step is None:
        return None
    further = "" if not step.judged else words.term("further", "many") if step.further is None else str(step.further)
    return {"number": step.number, "further": further, "watch": step.watch}

"""The case changes while people are inside: worked out at the desk, unapproved, nothing stored."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import override

from vestry import papers
from vestry.hospital import facts
from vestry.hospital.access.door import door
from vestry.hospital.desk import asked as asking
from vestry.hospital.desk.change_form import Asked, Row, asked, by_hand, choices, rows_asked, rows_of_record
from vestry.hospital.desk.change_shown import show
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import Unit
from vestry.hospital.desk.standing import in_force
from vestry.hospital.language import words_for_real, words_now
from vestry.hospital.record.models import Entry
from vestry.sequence import CaseChange, Plan, Practised, change
from vestry.sequence.checking import check_plan
from vestry.trade import BadFacts, Problem

PAGE = "desk/change.html"
MOST_ROWS = 20


@door(GET="see-case-change", POST="see-case-change")
def changed(request: HttpRequest) -> HttpResponse:
    name = _of(request)
    if not name:
        return _answered(request, _page) if request.method == "POST" else render(request, PAGE, {"groups": _plans()})
    plan = asking.plan_of(name)
    if request.method != "POST":
        rows = rows_of_record(plan, name.removeprefix("procedure:"), facts.catalogue()) or [by_hand([], plan)]
        return render(request, PAGE, _form(request, name, plan, rows))
    if "more" in request.POST:
        rows = rows_asked(request.POST)
        rows = [*rows, by_hand(rows, plan)] if len(rows) < MOST_ROWS else rows
        return render(request, PAGE, _form(request, name, plan, rows))
    return _answered(request, _page)


@door(POST="see-case-change")
def exit_sheet(request: HttpRequest) -> HttpResponse:
    return _answered(request, _exit_on_paper)


@door(POST="see-case-change")
def all_clear(request: HttpRequest) -> HttpResponse:
    return _answered(request, _all_clear_on_paper)


Answer = Callable[[HttpRequest, Asked, CaseChange, dict[str, Any]], HttpResponse]


def _answered(request: HttpRequest, answer: Answer) -> HttpResponse:
    """The finding that was asked for, told in this way; or the page again with everything that is wrong."""
    name = _of(request)
    if not name:
        nothing = [{"field": "dressed by", "what": "choose the procedure or the plan that they were dressed by"}]
        return render(request, PAGE, {"groups": _plans(), "problems": nothing}, status=422)
    plan, rows = asking.plan_of(name), rows_asked(request.POST)
    context = _form(request, name, plan, rows)
    try:
        said, found = _found(request, name, plan, rows)
        return answer(request, said, found, context)
    except BadFacts as bad:
        return render(request, PAGE, context | {"problems": _named(bad, rows)}, status=422)


def _page(request: HttpRequest, said: Asked, found: CaseChange, context: dict[str, Any]) -> HttpResponse:
    shown = show(found, said.names, words_now(), facts.catalogue())
    return render(request, PAGE, context | {"shown": shown})


def _exit_on_paper(request: HttpRequest, said: Asked, found: CaseChange, context: dict[str, Any]) -> HttpResponse:
    code = request.POST.get("person", "")
    way = next((found.exit_of(one) for one in found.people if one.code == code), None)
    if way is None:
        raise BadFacts([Problem("change", 0, "person", f"no way out was found for {code or 'nobody'}")])
    unit = Unit.current().on_paper
    words, catalogue = words_now(), facts.catalogue()
    pdf = papers.sheet_pdf(way.plan, way.assurance, words, catalogue, None, kinds=("doffing",), unit=unit)
    return _paper(pdf, f"exit-{code}.pdf")


def _all_clear_on_paper(request: HttpRequest, said: Asked, found: CaseChange, context: dict[str, Any]) -> HttpResponse:
    people = [said.names[one.code] for one in found.people]
    if found.ruled_out is None or not people:
        raise BadFacts([Problem("change", 0, "ruled out", "nothing is ruled out, or nobody is counted in")])
    words = words_for_real()
    with override(words.language.tag):
        unit = Unit.current().on_paper
    return _paper(papers.all_clear_pdf(found, people, words, unit=unit), "ruled-out.pdf")


def _paper(pdf: bytes, name: str) -> HttpResponse:
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response


# ---- the question ----


def _of(request: HttpRequest) -> str:
    """The procedure or plan that is asked about; of those inside by the record, else none."""
    said = request.POST if request.method == "POST" else request.GET
    name = str(said.get("of", ""))
    if name or request.method == "POST":
        return name
    newest = Entry.objects.exclude(stage__in=["not-opened", "closed", "abandoned"]).filter(drill=False).first()
    return f"procedure:{newest.version_id}" if newest else ""


def _found(request: HttpRequest, name: str, plan: Plan, rows: list[Row]) -> tuple[Asked, CaseChange]:
    catalogue = facts.catalogue()
    check_plan(plan, catalogue)
    said = asked(request, plan, rows, catalogue)
    own = Practised(name, asking.subject_of(name).title, plan, name.startswith("procedure:"))
    found = change(own, said.after, catalogue, said.inside, said.ruled_out, _others(name))
    return said, found


def _others(name: str) -> list[Practised]:
    """The unit's other approved procedures that are in force."""
    found = []
    for version in in_force():
        other = f"procedure:{version.pk}"
        if other != name:
            found.append(Practised(other, str(version), approved_of(version.pk).plan, True))
    return found


def _named(bad: BadFacts, rows: list[Row]) -> list[Any]:
    """What is wrong, with the person's name in the place of their number."""
    counted = [row for row in rows if row.counts]
    told = []
    for problem in bad.problems:
        sort, _, rest = problem.field.partition(".")
        number, _, what = rest.partition(".")
        field = problem.field.replace("-", " ")
        if sort == "inside" and number.isdecimal() and int(number) < len(counted):
            field = f"{counted[int(number)].name or counted[int(number)].code}, {what.partition('.')[0]}"
        told.append({"field": field, "what": problem.what})
    return told


# ---- the form ----


def _plans() -> list[tuple[str, list[tuple[str, str]]]]:
    return [(title, rows) for title, rows in asking.choices() if not rows or not rows[0][0].startswith("order:")]


def _form(request: HttpRequest, name: str, plan: Plan, rows: list[Row]) -> dict[str, Any]:
    words, catalogue, said = words_now(), facts.catalogue(), request.POST
    sent = request.method == "POST"
    return {
        "groups": _plans(),
        "of": name,
        "plan_title": asking.subject_of(name).title,
        "rows": rows,
        "ruled_out": "ruled-out" in said,
        "hazard": said.get("hazard", "") if sent else plan.case.hazard,
        "presentation": said.get("presentation", "") if sent else plan.case.presentation,
        "tasks": said.getlist("tasks") if sent else list(plan.case.tasks),
        "full": len(rows) >= MOST_ROWS,
        **choices(plan, catalogue, words),
    }

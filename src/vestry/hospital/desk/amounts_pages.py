"""Amounts at the desk: how much reaches where, what each step contributes, what matters, and what a change would buy.

For the programme lead and the auditor; on no screen of the anteroom. Nothing is stored, and nothing here is a
probability of infection.
"""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import render
from django.utils.http import url_has_allowed_host_and_scheme

from vestry import papers
from vestry.hospital import facts
from vestry.hospital.access.door import door
from vestry.hospital.desk.amounts_asked import AskingForm, Question, form_of, question_of
from vestry.hospital.desk.amounts_showing import changed, compared, counts_told, pairs, shown
from vestry.hospital.desk.asked import presentation_of, subject_of
from vestry.hospital.desk.models import Unit
from vestry.hospital.jobs.amounts import State, amounts_of, answered, changes_of, stop
from vestry.hospital.language import words_now
from vestry.hospital.numbers import written
from vestry.hospital.record.counting import counts
from vestry.sequence import Subject


@door(GET="see-amounts")
def amounts(request: HttpRequest) -> HttpResponse:
    """The panel of one sequence."""
    return _page(request, "desk/amounts.html", "whole")


@door(GET="see-amounts")
def changes(request: HttpRequest) -> HttpResponse:
    """What a change would buy, ranked."""
    return _page(request, "desk/amounts-changes.html", "changes")


def _page(request: HttpRequest, template: str, part: str) -> HttpResponse:
    name = request.GET.get("of", "")
    if not name:
        return render(request, "desk/amounts-none.html")
    subject = subject_of(name, presentation_of(request))
    form = form_of(request, subject)
    context: dict[str, Any] = {
        "of": name,
        "title": subject.title,
        "form": form,
        "query": _query(request),
        "problems": facts.estimates().problems,
        "counts": _counts(subject),
    }
    if not form.is_valid():
        return render(request, template, context, status=422)
    question = question_of(name, subject, form.cleaned_data)
    state = _state(question, form, part, again="again" in request.GET)
    context |= {"state": state, "here_query": _query(request), "path": request.path}
    if state.found is not None:
        context |= _shown(state, subject, question)
    return render(request, template, context)


def _query(request: HttpRequest) -> str:
    """The question without whether it is asked again."""
    asked = request.GET.copy()
    asked.pop("again", None)
    return asked.urlencode()


def _state(question: Question, form: AskingForm, part: str, *, again: bool = False) -> State:
    key = f"{part}|{question.key}|{form.cleaned_data['with']}|{question.asked.subject.order.case.presentation}"
    ask = changes_of(question.asked) if part == "changes" else amounts_of(question.asked, question.other)
    return answered(key, ask, again=again)


def _shown(state: State, subject: Subject, question: Question) -> dict[str, Any]:
    words, found = words_now(), state.found
    assert found is not None
    context: dict[str, Any] = {"seconds": written(found.seconds, ".1f"), "own_counts": question.own_counts}
    if found.amounts is not None:
        context["shown"] = shown(found.amounts, subject, question.asked.evidence, words)
        context["pairs"] = list(pairs(found.amounts))
    if found.differ is not None and found.beside is not None:
        context["beside"] = compared(found.differ, (subject.title, found.beside.subject.title), words)
    if found.changes is not None:
        context["changes"] = changed(found.changes, subject, words)
    return context


def _counts(subject: Subject) -> dict[str, Any]:
    words = words_now()
    told = counts_told(counts(), subject.catalogue, words)
    return told | {"drills": counts_told(counts(drills=True), subject.catalogue, words)}


@door(POST="see-amounts")
def stopped(request: HttpRequest) -> HttpResponse:
    """Give up what is under way, and go back to its page, which then says so."""
    stop(request.POST.get("name", ""))
    back = request.POST.get("back", "")
    safe = url_has_allowed_host_and_scheme(back, allowed_hosts=None) and back.startswith("/amounts/")
    return HttpResponseRedirect(back if safe else "/amounts/")


@door(GET="see-amounts")
def as_json(request: HttpRequest) -> HttpResponse:
    """The same as JSON: docs/reference/amounts.md. 202 while it is under way."""
    state, _, _ = _answer(request)
    if state is None:
        return JsonResponse({"problems": ["what is asked cannot be asked"]}, status=422)
    if state.found is None:
        return JsonResponse({"under-way": state.words, "why": state.why}, status=202 if state.words else 409)
    found = state.found
    if found.changes is not None:
        return JsonResponse(found.changes.as_json())
    assert found.amounts is not None
    body = {"format-version": 1, "amounts": found.amounts.as_json()}
    if found.differ is not None:
        body["beside"] = found.differ.as_json()
    return JsonResponse(body)


@door(GET="see-amounts")
def on_paper(request: HttpRequest) -> HttpResponse:
    """The same on paper. While it is under way, the page that says how far it is."""
    state, subject, question = _answer(request)
    if state is None or state.found is None or subject is None or question is None:
        return HttpResponseRedirect(f"/amounts/?{_query(request)}")
    context = _shown(state, subject, question)
    pdf = papers.amounts_pdf(
        papers.AmountsSheet(
            title=subject.title,
            pairs=tuple(context.get("pairs", ())),
            shown=context.get("shown"),
            beside=context.get("beside"),
            changes=context.get("changes"),
            counts=_counts(subject),
        ),
        words_now(),
        unit=Unit.current().on_paper,
    )
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="amounts.pdf"'
    return response


def _answer(request: HttpRequest) -> tuple[State | None, Subject | None, Question | None]:
    name = request.GET.get("of", "")
    subject = subject_of(name, presentation_of(request))
    form = form_of(request, subject)
    if not form.is_valid():
        return None, None, None
    question = question_of(name, subject, form.cleaned_data)
    part = "changes" if request.GET.get("part") == "changes" else "whole"
    return _state(question, form, part), subject, question

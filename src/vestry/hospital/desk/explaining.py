"""Why: a verdict, an endpoint or a step explained at the desk, in sentences, in figures, and with sources."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import mark_safe

from vestry import papers
from vestry.figure import strip
from vestry.hospital.access.door import door
from vestry.hospital.desk.asked import choices, presentation_of, subject_of
from vestry.hospital.desk.models import Unit
from vestry.hospital.language import words_now
from vestry.sequence import Explanation, Subject, explain
from vestry.sequence.explanation import ExplainedRoute
from vestry.sequence.telling import (
    place_of,
    told_end,
    told_explained,
    told_source,
    told_step,
    told_surface,
    told_touch,
    told_would_take,
)
from vestry.trade import BadFacts
from vestry.trade.words import Words


@door(GET="explain-verdict")
def explained(request: HttpRequest) -> HttpResponse:
    name = request.GET.get("of", "")
    if not name:
        return render(request, "desk/explained.html", {"groups": choices()})
    subject = subject_of(name, presentation_of(request))
    context: dict[str, Any] = {"groups": choices(), "of": name, "title": subject.title} | _offered(subject)
    try:
        found = explain(subject, request.GET.get("surface") or None, request.GET.get("step") or None)
    except BadFacts as bad:
        return render(request, "desk/explained.html", context | {"problems": bad.problems}, status=422)
    context |= {"shown": shown(found, subject), "surface": found.surface, "step": found.step}
    context |= {"query": request.GET.urlencode(), "presentation": presentation_of(request)}
    return render(request, "desk/explained.html", context)


@door(GET="explain-verdict")
def sheet(request: HttpRequest) -> HttpResponse:
    subject = subject_of(request.GET.get("of", ""), presentation_of(request))
    try:
        found = explain(subject, request.GET.get("surface") or None, request.GET.get("step") or None)
    except BadFacts as bad:
        return render(request, "desk/explained.html", {"groups": choices(), "problems": bad.problems}, status=422)
    pdf = papers.explanation_pdf(found, subject, words_now(), unit=Unit.current().on_paper)
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="why.pdf"'
    return response


def _offered(subject: Subject) -> dict[str, Any]:
    """The endpoints and the steps that can be asked about."""
    words = words_now()
    by_id = {step.id: step for step in subject.steps}
    endpoints = [subject.program.surfaces[n] for n, kind in subject.program.endpoints if kind != "place"]
    return {
        "surfaces": [(one, told_surface(one, words)) for one in endpoints],
        "steps": [
            (one, f"{subject.numbers[one]}. {told_step(by_id[one], words, subject.catalogue)}")
            for one in subject.program.steps
        ],
    }


def shown(found: Explanation, subject: Subject) -> dict[str, Any]:
    """What the page of an explanation shows."""
    words = words_now()
    shower = _Shower(subject, words)
    if found.step is not None:
        key = "why.step" if found.routes else "why.step-none"
        lead = words.finding(key, step=place_of(found.step, subject.numbers, words), count=found.order)
    else:
        lead = words.finding("why.clean" if not found.routes else "why.not-deciding" if found.clean else "why.reached")
    drawn = found.surface is not None
    return {
        "verdict": words.verdict(found.verdict).says,
        "clean": found.clean,
        "lead": lead,
        "routes": [shower.route(one) for one in found.routes],
        "takes": [
            {
                "surface": one.surface,
                "says": told_would_take(one, found.order, words),
                "routes": [shower.route(route, drawn) for route in one.routes],
                "drawn": drawn,
            }
            for one in found.would_take
        ],
    }


class _Shower:
    def __init__(self, subject: Subject, words: Words) -> None:
        self.subject, self.words, self.count = subject, words, 0

    def route(self, one: ExplainedRoute, drawn: bool = True) -> dict[str, Any]:
        self.count += 1
        pictures = strip(papers.touchings(one, self.words), f"r{self.count}-") if drawn else [""] * len(one.touches)
        return {
            "end": told_end(one, self.words),
            "surface": one.surface,
            "says": told_explained(one, self.subject, self.words),
            "touches": [
                {
                    "place": place_of(touch.step, self.subject.numbers, self.words),
                    "says": told_touch(touch, self.words),
                    "error": touch.event is not None,
                    "source": told_source(touch, self.words),
                    "url": touch.source.url,
                    "svg": mark_safe(svg),  # our own drawing; what is said in it is escaped where it is made
                }
                for touch, svg in zip(one.touches, pictures, strict=True)
            ],
        }

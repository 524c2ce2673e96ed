"""A plan or a procedure without one of its items: worked out at the desk, unapproved, nothing stored."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _

from vestry import papers
from vestry.hospital import facts
from vestry.hospital.access.door import door
from vestry.hospital.desk.asked import plan_of, subject_of
from vestry.hospital.desk.comparing import shown
from vestry.hospital.desk.models import Unit
from vestry.hospital.language import words_now
from vestry.sequence import NoPlan, Plan, Substitution, subject_of_plan, substitute
from vestry.sequence.telling import told_change, told_substitution
from vestry.trade import BadFacts

BECAUSE = {"shelf": _("The shelf lacks it"), "fit-test": _("The wearer has no fit test for it")}


@door(GET="substitute-item")
def substituted(request: HttpRequest) -> HttpResponse:
    context = _asked(request)
    if not request.GET.get("without"):
        return render(request, "desk/substituted.html", context)
    plan = plan_of(context["of"])
    try:
        found = _found(request, plan)
    except BadFacts as bad:
        return render(request, "desk/substituted.html", context | {"problems": bad.problems}, status=422)
    except NoPlan as none:
        return render(request, "desk/substituted.html", context | {"none": _no_plan(none)})
    return render(request, "desk/substituted.html", context | _shown(found, plan) | {"query": request.GET.urlencode()})


@door(GET="substitute-item")
def differences(request: HttpRequest) -> HttpResponse:
    context = _asked(request)
    try:
        found = _found(request, plan_of(context["of"]))
    except BadFacts as bad:
        return render(request, "desk/substituted.html", context | {"problems": bad.problems}, status=422)
    except NoPlan as none:
        return render(request, "desk/substituted.html", context | {"none": _no_plan(none)}, status=422)
    pdf = papers.differences_pdf(found, words_now(), facts.catalogue(), unit=Unit.current().on_paper)
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="without-{found.without}.pdf"'
    return response


def _asked(request: HttpRequest) -> dict[str, Any]:
    """What was asked, and what may be."""
    words, catalogue = words_now(), facts.catalogue()
    name = request.GET.get("of", "")
    plan = plan_of(name)
    return {
        "of": name,
        "title": subject_of(name).title,
        "worn": [(item, words.item(item)) for item in plan.worn],
        "able": [(item, words.item(item)) for item in catalogue.items if item not in plan.worn],
        "reasons": list(BECAUSE.items()),
        "without": request.GET.get("without", ""),
        "instead": request.GET.getlist("with"),
        "because": request.GET.get("because", "shelf"),
    }


def _found(request: HttpRequest, plan: Plan) -> Substitution:
    instead = tuple(filter(None, request.GET.getlist("with")))
    because = "fit-test" if request.GET.get("because") == "fit-test" else "shelf"
    return substitute(plan, request.GET.get("without", ""), facts.catalogue(), instead, because)  # type: ignore[arg-type]


def _shown(found: Substitution, before: Plan) -> dict[str, Any]:
    words, catalogue = words_now(), facts.catalogue()
    subjects = [subject_of_plan(plan, plan.hash, "", catalogue) for plan in (before, found.plan)]
    changed = [row for row in found.comparison.steps if row.change != "kept"]
    standing = words.finding("substitute.unapproved")
    return {
        "found": found,
        "told": [one for one in told_substitution(found, words) if one != standing],
        "standing": standing,
        "verdict": words.verdict(found.assurance.verdict).says,
        "not_compared": words.finding("substitute.not-compared"),
        "changes": [(row.change, told_change(row, words, catalogue)) for row in changed],
        "same": words.finding("substitute.same", count=len(found.comparison.steps) - len(changed)),
        "shown": shown(found.comparison, *subjects),
    }


def _no_plan(none: NoPlan) -> dict[str, Any]:
    words = words_now()
    return {
        "why": none.why if not none.reasons else "",
        "reasons": [
            {
                "site": words.surface(f"body.{one.site}"),
                "route": words.term("route", one.route),
                "why": words.why(one.requirement),
                "would": [words.item(item) for item in one.would],
            }
            for one in none.reasons
        ],
        "what_now": [words.term("what-now", way) for way in none.what_now],
    }

"""What each published rule costs or buys, with the rules switched on and off. Nothing is stored."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from vestry import papers
from vestry.hospital import facts
from vestry.hospital.access.door import door
from vestry.hospital.desk.asked import plan_of, subject_of
from vestry.hospital.desk.models import Unit
from vestry.hospital.jobs.weighing import weighed
from vestry.hospital.language import words_now
from vestry.sequence import Policy, Weighing
from vestry.sequence.telling import told_weighed
from vestry.sequence.weighed import Outcome
from vestry.sequence.weighing import chosen, switchable
from vestry.trade import Catalogue
from vestry.trade.words import Words


@door(GET="weigh-rules")
def rules(request: HttpRequest) -> HttpResponse:
    name, catalogue = request.GET.get("of", ""), facts.catalogue()
    plan = plan_of(name)
    policy = _policy(request, plan.policy, switchable(plan.case, plan.policy, plan.worn, catalogue), catalogue)
    state = weighed(plan.case, policy)
    context: dict[str, Any] = {"of": name, "title": subject_of(name).title, "state": state}
    if state.found is not None:
        context["shown"] = _shown(state.found, words_now(), catalogue)
        context["changed"] = policy != plan.policy
        context["query"] = request.GET.urlencode()
    return render(request, "desk/weighed.html", context)


@door(GET="weigh-rules")
def printed(request: HttpRequest) -> HttpResponse:
    """The same on paper; while it is being worked out, the page that waits for it."""
    name, catalogue = request.GET.get("of", ""), facts.catalogue()
    plan = plan_of(name)
    policy = _policy(request, plan.policy, switchable(plan.case, plan.policy, plan.worn, catalogue), catalogue)
    state = weighed(plan.case, policy)
    if state.found is None:
        return render(request, "desk/weighed.html", {"of": name, "title": subject_of(name).title, "state": state})
    pdf = papers.rules_pdf(state.found, words_now(), catalogue, unit=Unit.current().on_paper)
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="rules.pdf"'
    return response


def _policy(request: HttpRequest, policy: Policy, able: tuple[str, ...], catalogue: Catalogue) -> Policy:
    """The plan's policy, with the rules that the address ticks; what it does not know is let be."""
    if "chosen" not in request.GET:
        return policy
    return chosen(policy, able, frozenset(request.GET.getlist("on")) & set(able), catalogue)


def _shown(found: Weighing, words: Words, catalogue: Catalogue) -> dict[str, Any]:
    return {
        "base": _outcome(found.base, words),
        "rules": [
            {
                "id": one.rule,
                "name": words.rule(one.rule).name,
                "says": words.rule(one.rule).says,
                "source": _source(one.source, catalogue),
                "url": catalogue.sources[one.source].url if one.source in catalogue.sources else None,
                "certainty": words.term("certainty", one.certainty),
                "in_force": one.in_force,
                "same": one.same,
                "told": told_weighed(one, words),
            }
            for one in found.rules
        ],
        "not_weighed": [
            {"name": words.rule(one.rule).name, "why": words.finding(f"rule.unweighed.{one.why}")}
            for one in found.not_weighed
        ],
    }


def _outcome(one: Outcome | None, words: Words) -> dict[str, Any] | None:
    if one is None:
        return None
    return {
        "removals": [words.item_short(item) for item in one.removals],
        "steps": one.steps,
        "minutes": round(one.time.seconds / 60),
        "clean": one.clean,
        "optimal": one.optimal,
    }


def _source(source: str, catalogue: Catalogue) -> str:
    known = catalogue.sources.get(source)
    return f"{known.publisher}, {known.year}" if known else source

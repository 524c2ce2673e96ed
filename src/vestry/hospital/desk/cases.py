"""A case is taken, planned beside the page, and shown: as a plan, or as why there is none."""

from __future__ import annotations

import uuid
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from vestry.hospital import facts
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor, with_role
from vestry.hospital.desk.approvals import approval_form
from vestry.hospital.desk.casetable import for_case
from vestry.hospital.desk.forms import CaseForm, OverrideForm
from vestry.hospital.desk.mapper import case_of
from vestry.hospital.desk.models import NamedOverride, PlannedCase
from vestry.hospital.desk.practice import GO_IN
from vestry.hospital.desk.showing import show
from vestry.hospital.jobs.planning import WorkedOut, plan_later, report
from vestry.hospital.language import words_now
from vestry.hospital.writing import writing
from vestry.sequence.checking import check_case_and_policy
from vestry.trade import BadFacts


@door(GET="plan-case", POST="plan-case")
def new_case(request: HttpRequest) -> HttpResponse:
    form = CaseForm(request.POST or None)
    if request.method != "POST":
        return render(request, "desk/new-case.html", {"form": CaseForm()})
    form = CaseForm(request.POST)
    if form.is_valid() and _holds(form):
        case, policy = form.case_and_policy()
        fitted = for_case(case).to_take
        with writing():
            planned = PlannedCase.objects.create(
                case=case.model_dump(mode="json", by_alias=True),
                policy=policy.model_dump(mode="json", by_alias=True),
                asked_by=visitor(request),
                asked_at=timezone.now(),
                state=PlannedCase.FITTED if fitted else PlannedCase.WAITING,
            )
        if not fitted:
            plan_later(planned)
        return HttpResponseRedirect(f"/cases/{planned.pk}/")
    return render(request, "desk/new-case.html", {"form": form}, status=422)


def _holds(form: CaseForm) -> bool:
    """Whether the facts know all that the form says; what they do not know is said at its field."""
    try:
        check_case_and_policy(*form.case_and_policy(), facts.catalogue())
    except BadFacts as bad:
        for problem in bad.problems:
            name = problem.field.rpartition(".")[2].replace("-", "_")
            form.add_error(name if name in form.fields else None, problem.what)
        return False
    return True


@door(GET="see-plans")
def case(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    planned = get_object_or_404(PlannedCase.objects.select_related("asked_by"), pk=key)
    context: dict[str, Any] = {"planned": planned}
    if planned.state == PlannedCase.WAITING:
        return render(request, "desk/waiting.html", context | {"report": report(planned)})
    night = for_case(case_of(planned.case))
    if planned.state == PlannedCase.FITTED and night.to_take:
        return render(request, "desk/fitted.html", context | {"night": night, **_case_in_words(planned)})
    if planned.state == PlannedCase.FITTED:
        # Between the call and now the table or a version changed: nothing is to be taken as it stands.
        return render(request, "desk/waiting.html", context | {"report": report(planned)})
    if planned.state == PlannedCase.PLANNED:
        context |= {"night": night, "may_go_in": with_role(*GO_IN).count()}
        done = WorkedOut.model_validate(planned.worked_out)
        context["shown"] = show(done.plan, done.assurance, done.scenes, len(done.answers))
        context["form"] = approval_form(done)
        context["approved"] = planned_versions(done.plan.hash)
        return render(request, "desk/plan.html", context)
    context |= no_plan(planned) | {"form": OverrideForm(), "overrides": planned.overrides.select_related("by")}
    return render(request, "desk/no-plan.html", context)


def _case_in_words(planned: PlannedCase) -> dict[str, Any]:
    words, case = words_now(), case_of(planned.case)
    return {
        "hazard": words.hazard(case.hazard),
        "presentation": words.term("presentation", case.presentation),
        "tasks": [words.term("task", task) for task in case.tasks],
    }


def planned_versions(plan_hash: str) -> Any:
    from vestry.hospital.desk.models import ProcedureVersion

    return ProcedureVersion.objects.filter(plan_hash=plan_hash).select_related("procedure").defer("approved")


@door(POST="plan-case")
def plan_again(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    planned = get_object_or_404(PlannedCase, pk=key)
    with writing():
        PlannedCase.objects.filter(pk=key).update(
            state=PlannedCase.WAITING, refusal=None, worked_out=None, plan_hash=""
        )
    plan_later(planned)
    return HttpResponseRedirect(f"/cases/{key}/")


@door(POST="override-refusal")
def override(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    planned = get_object_or_404(PlannedCase, pk=key, state=PlannedCase.REFUSED)
    form = OverrideForm(request.POST)
    if not form.is_valid():
        context = {"planned": planned, "form": form, "overrides": planned.overrides.select_related("by")}
        return render(request, "desk/no-plan.html", context | no_plan(planned), status=422)
    with writing():
        NamedOverride.objects.create(
            planned=planned,
            by=visitor(request),
            at=timezone.now(),
            reason=form.cleaned_data["reason"],
            alternative=form.cleaned_data["alternative"],
        )
    return HttpResponseRedirect(f"/cases/{key}/")


def no_plan(planned: PlannedCase) -> dict[str, Any]:
    """Why there is no plan, in words: which site, by which route, what would protect."""
    words = words_now()
    refusal = planned.refusal or {}
    case = planned.case
    return {
        "why": "" if refusal.get("why") == "gear" else refusal.get("why", ""),
        "problems": refusal.get("problems", []),
        "hazard": words.hazard(case["hazard"]),
        "reasons": [
            {
                "site": words.surface(f"body.{one['site']}"),
                "route": words.term("route", one["route"]),
                "why": words.why(one["requirement"]),
                "would": [words.item(item) for item in one["would"]],
            }
            for one in refusal.get("reasons", [])
        ],
    }

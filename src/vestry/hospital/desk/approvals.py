"""Approving a plan, and what becomes of procedures: versions, later assurance, retirement, the sheet."""

from __future__ import annotations

import datetime
import uuid
from typing import Any

from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.text import slugify

from vestry import papers
from vestry.hospital.access.door import door
from vestry.hospital.access.models import User
from vestry.hospital.access.people import visitor
from vestry.hospital.desk.forms import ApprovalForm, ReasonForm
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import LaterAssurance, PlannedCase, Procedure, ProcedureVersion, Retirement, Unit
from vestry.hospital.desk.showing import show, title_of
from vestry.hospital.jobs.planning import WorkedOut
from vestry.hospital.writing import writing
from vestry.procedure import Approval, Approved, differences, standing
from vestry.sequence import assure
from vestry.sequence.assurance import MODEL_VERSION
from vestry.trade import load_catalogue
from vestry.trade.words import load_words


def approval_form(done: WorkedOut) -> ApprovalForm:
    """The form under a plan, naming what would be approved."""
    return ApprovalForm(
        initial={
            "title": title_of(done.plan),
            "review_on": timezone.localdate() + datetime.timedelta(days=365),
            "plan": done.plan.hash,
            "facts": done.assurance.facts,
            "model": done.assurance.model_version,
        }
    )


@door(POST="approve-plan")
def approve(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    planned = get_object_or_404(PlannedCase, pk=key, state=PlannedCase.PLANNED)
    done = WorkedOut.model_validate(planned.worked_out)
    form = ApprovalForm(request.POST)
    if form.is_valid():
        _check_names(form, done)
    if form.is_valid():
        version = store(done, form.cleaned_data, visitor(request))
        return HttpResponseRedirect(f"/procedures/{version.pk}/")
    shown = show(done.plan, done.assurance, done.scenes, len(done.answers))
    return render(request, "desk/plan.html", {"planned": planned, "shown": shown, "form": form}, status=422)


def _check_names(form: ApprovalForm, done: WorkedOut) -> None:
    """The approval must name the plan that was shown, on the facts and the model of now."""
    said = form.cleaned_data
    shown = (done.plan.hash, done.assurance.facts, done.assurance.model_version)
    if (said["plan"], said["facts"], said["model"]) != shown:
        form.add_error(None, "What you approve is not what this page shows. Load the page anew and read it again.")
    elif (done.assurance.facts, done.assurance.model_version) != (load_catalogue().digest, MODEL_VERSION):
        form.add_error(None, "Facts or model have changed since this was planned. Plan it again, then approve.")


def store(done: WorkedOut, said: dict[str, Any], lead: User) -> ProcedureVersion:
    """A new version of a procedure, written once."""
    now = timezone.now()
    with writing():
        procedure: Procedure = said.get("procedure") or _new_procedure(str(said["title"]).strip())
        newest = procedure.versions.order_by("-number").first()
        number = newest.number + 1 if newest else 1
        approved = Approved(
            approval=Approval(
                procedure=procedure.slug,
                version=number,
                reason=said["reason"],
                approved_by=lead.name,
                at=now.isoformat(),
                review_on=said["review_on"].isoformat(),
                plan=done.plan.hash,
                facts=done.assurance.facts,
                model=done.assurance.model_version,
            ),
            plan=done.plan,
            assurance=done.assurance,
            answers=done.answers,
            scenes=done.scenes,
        )
        return ProcedureVersion.objects.create(
            procedure=procedure,
            number=number,
            approved=approved.as_json(),
            plan_hash=done.plan.hash,
            facts=done.assurance.facts,
            model=done.assurance.model_version,
            reason=said["reason"],
            approved_by=lead,
            at=now,
            review_on=said["review_on"],
        )


def _new_procedure(title: str) -> Procedure:
    base = slugify(title)[:60].strip("-") or "procedure"
    for number in range(1, 1000):
        slug = base if number == 1 else f"{base}-{number}"
        if not Procedure.objects.filter(slug=slug).exists():
            return Procedure.objects.create(slug=slug, title=title)
    raise IntegrityError(f"too many procedures called {base}")


@door(GET="see-procedures")
def procedures(request: HttpRequest) -> HttpResponse:
    versions = ProcedureVersion.objects.select_related("procedure", "approved_by", "retirement").defer("approved")
    rows = [{"version": one, "standing": _standing(one)} for one in versions]
    return render(request, "desk/procedures.html", {"rows": rows})


def _standing(version: ProcedureVersion) -> Any:
    approval = Approval(
        procedure=version.procedure.slug,
        version=version.number,
        reason=version.reason or "-",
        approved_by=version.approved_by.name,
        at=version.at.isoformat(),
        review_on=version.review_on.isoformat(),
        plan=version.plan_hash,
        facts=version.facts,
        model=version.model,
    )
    return standing(
        approval,
        facts=load_catalogue().digest,
        model=MODEL_VERSION,
        today=timezone.localdate().isoformat(),
        retired=version.retired,
    )


@door(GET="see-plans")
def procedure(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    return _procedure_page(request, _version(key), ReasonForm())


def _version(key: uuid.UUID) -> ProcedureVersion:
    return get_object_or_404(
        ProcedureVersion.objects.select_related("procedure", "approved_by", "retirement").defer("approved"), pk=key
    )


def _procedure_page(
    request: HttpRequest, version: ProcedureVersion, form: ReasonForm, status: int = 200
) -> HttpResponse:
    approved = approved_of(version.pk)
    before = version.procedure.versions.filter(number__lt=version.number).order_by("-number").only("pk").first()
    return render(
        request,
        "desk/procedure.html",
        {
            "version": version,
            "standing": _standing(version),
            "shown": show(approved.plan, approved.assurance, approved.scenes, len(approved.answers)),
            "changes": _changes(approved_of(before.pk), approved) if before else None,
            "later": version.later.first(),
            "form": form,
        },
        status=status,
    )


def _changes(old: Approved, new: Approved) -> dict[str, int]:
    found = differences(old.plan, new.plan)
    return {
        "gone": len(found.gone),
        "new": len(found.new),
        "moved": len(found.moved),
        "items": len(found.items_added) + len(found.items_dropped),
    }


@door(POST="retire-procedure")
def retire(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    version = _version(key)
    form = ReasonForm(request.POST)
    if form.is_valid() and version.retired:
        form.add_error(None, "It was retired already.")
    if not form.is_valid():
        return _procedure_page(request, version, form, 422)
    with writing():
        Retirement.objects.create(
            version=version, by=visitor(request), at=timezone.now(), reason=form.cleaned_data["reason"]
        )
    return HttpResponseRedirect(f"/procedures/{key}/")


@door(POST="assure-again")
def assure_again(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    version, catalogue = _version(key), load_catalogue()
    assurance = assure(approved_of(key).plan, catalogue)
    with writing():
        LaterAssurance.objects.create(
            version=version,
            facts=assurance.facts,
            model=assurance.model_version,
            assurance=assurance.as_json(),
            by=visitor(request),
            at=timezone.now(),
        )
    messages.info(request, load_words("en").verdict(assurance.verdict).says)
    return HttpResponseRedirect(f"/procedures/{key}/")


@door(GET="print-sheet")
def sheet(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    version, approved = _version(key), approved_of(key)
    said = papers.Approval(
        version=version.number,
        approved_by=version.approved_by.name,
        approved_on=version.at.date().isoformat(),
        practised=None,
        unit=Unit.current().name,
    )
    pdf = papers.sheet_pdf(approved.plan, approved.assurance, load_words("en"), load_catalogue(), said)
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{version.procedure.slug}-version-{version.number}.pdf"'
    return response

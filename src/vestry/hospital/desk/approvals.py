"""Approving a plan, and what the lead does with an approved version: retire it, assure it again, print it."""

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
from django.utils.translation import gettext

from vestry import papers
from vestry.hospital import facts
from vestry.hospital.access.door import door
from vestry.hospital.access.models import User
from vestry.hospital.access.people import visitor
from vestry.hospital.anteroom.own_texts import on_paper
from vestry.hospital.desk.forms import ApprovalForm, ReasonForm
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import (
    ApprovalBasis,
    PlannedCase,
    Procedure,
    ProcedureVersion,
    Retirement,
    Unit,
)
from vestry.hospital.desk.practice import practised_by
from vestry.hospital.desk.procedures import procedure_page, version_of
from vestry.hospital.desk.showing import show, title_of
from vestry.hospital.desk.standing import basis_of
from vestry.hospital.jobs.assuring import assure_now
from vestry.hospital.jobs.planning import WorkedOut
from vestry.hospital.language import words_now
from vestry.hospital.writing import writing
from vestry.procedure import Approval, Approved
from vestry.sequence.assurance import MODEL_VERSION


def approval_form(done: WorkedOut) -> ApprovalForm:
    """The form under a plan, naming what would be approved."""
    return ApprovalForm(
        initial={
            "title": title_of(done.plan, facts.catalogue_of(done.assurance.facts)),
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
        form.add_error(
            None, gettext("What you approve is not what this page shows. Load the page anew and read it again.")
        )
    elif (done.assurance.facts, done.assurance.model_version) != (facts.catalogue().digest, MODEL_VERSION):
        form.add_error(
            None, gettext("Facts or model have changed since this was planned. Plan it again, then approve.")
        )


def store(done: WorkedOut, said: dict[str, Any], lead: User) -> ProcedureVersion:
    """A new version of a procedure, written once."""
    now, known = timezone.now(), facts.catalogue_of(done.assurance.facts)
    basis, program = basis_of(done.plan, known)
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
        version = ProcedureVersion.objects.create(
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
        ApprovalBasis.objects.create(version=version, used=basis, program=program)
        facts.keep(done.assurance.facts, now)
        return version


def _new_procedure(title: str) -> Procedure:
    base = slugify(title)[:60].strip("-") or "procedure"
    for number in range(1, 1000):
        slug = base if number == 1 else f"{base}-{number}"
        if not Procedure.objects.filter(slug=slug).exists():
            return Procedure.objects.create(slug=slug, title=title)
    raise IntegrityError(f"too many procedures called {base}")


@door(POST="retire-procedure")
def retire(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    version = version_of(key)
    form = ReasonForm(request.POST)
    if form.is_valid() and version.retired:
        form.add_error(None, gettext("It was retired already."))
    if not form.is_valid():
        return procedure_page(request, version, retire_form=form, status=422)
    with writing():
        Retirement.objects.create(
            version=version, by=visitor(request), at=timezone.now(), reason=form.cleaned_data["reason"]
        )
    return HttpResponseRedirect(f"/procedures/{key}/")


@door(POST="assure-again")
def assure_again(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    found = assure_now(version_of(key), visitor(request), MODEL_VERSION)
    if found.assurance is None:
        messages.error(request, gettext("It can no longer be assured: ") + "; ".join(found.problems))
    else:
        messages.info(request, words_now().verdict(found.assurance.verdict).says)
    return HttpResponseRedirect(f"/procedures/{key}/")


@door(GET="print-sheet")
def sheet(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    version, approved = version_of(key), approved_of(key)
    said = papers.Approval(
        version=version.number,
        approved_by=version.approved_by.name,
        approved_on=version.at.date().isoformat(),
        practised=practised_by(version).says,
        unit=Unit.current().on_paper,
    )
    pdf = papers.sheet_pdf(
        approved.plan,
        approved.assurance,
        words_now(),
        facts.catalogue_of(version.facts),
        said,
        answers=[(one.recovery, one.steps) for one in approved.answers],
        beside=on_paper(),
    )
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{version.procedure.slug}-version-{version.number}.pdf"'
    return response

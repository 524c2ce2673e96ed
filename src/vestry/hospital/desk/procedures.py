"""The procedures: the list, one version with all that stands beside it, two compared, the answers, the book."""

from __future__ import annotations

import uuid
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from vestry import papers
from vestry.hospital import facts
from vestry.hospital.access.door import door
from vestry.hospital.desk.forms import ReasonForm
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import CaseRow, ProcedureVersion, Unit
from vestry.hospital.desk.practice import PracticeForm, practised_by
from vestry.hospital.desk.showing import show
from vestry.hospital.desk.standing import in_force, standing_of
from vestry.hospital.desk.telling import answers_told, differences_told, finding_told, touched_told
from vestry.hospital.language import words_now
from vestry.sequence.assurance import MODEL_VERSION


@door(GET="see-procedures")
def procedures(request: HttpRequest) -> HttpResponse:
    versions = ProcedureVersion.objects.select_related("procedure", "approved_by", "retirement").defer("approved")
    rows = [
        {"version": one, "standing": standing_of(one, MODEL_VERSION), "practised": practised_by(one)}
        for one in versions
    ]
    return render(request, "desk/procedures.html", {"rows": rows, "book": any(not one.retired for one in versions)})


def version_of(key: uuid.UUID) -> ProcedureVersion:
    """A version by its id, with what its page needs and without its whole text."""
    return get_object_or_404(
        ProcedureVersion.objects.select_related("procedure", "approved_by", "retirement").defer("approved"), pk=key
    )


@door(GET="see-plans")
def procedure(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    return procedure_page(request, version_of(key))


def procedure_page(
    request: HttpRequest,
    version: ProcedureVersion,
    retire_form: ReasonForm | None = None,
    practice_form: PracticeForm | None = None,
    status: int = 200,
) -> HttpResponse:
    approved = approved_of(version.pk)
    stands = standing_of(version, MODEL_VERSION)
    later = version.later.select_related("by").first()
    return render(
        request,
        "desk/procedure.html",
        {
            "version": version,
            "standing": stands,
            "touched": touched_told(stands.touched),
            "shown": show(approved.plan, approved.assurance, approved.scenes, len(approved.answers)),
            "others": list(_others(version)),
            "later": later,
            "finding": finding_told(later, approved) if later else None,
            "stale": later is not None and later.facts != facts.catalogue().digest,
            "practised": practised_by(version),
            "cells": list(_cells(version)),
            "form": retire_form or ReasonForm(),
            "practice_form": practice_form or PracticeForm(prefix=None),
        },
        status=status,
    )


def _others(version: ProcedureVersion) -> Any:
    """Versions to compare with: the others of this procedure, then the newest of each other procedure."""
    own = version.procedure.versions.exclude(pk=version.pk).only("pk", "number", "procedure")
    yield from own.select_related("procedure")
    yield from (one for one in in_force() if one.procedure_id != version.procedure_id)


def _cells(version: ProcedureVersion) -> Any:
    """The cases for which the lead's table takes this version now."""
    words, seen = words_now(), set()
    for row in CaseRow.objects.order_by("-at", "-id"):
        cell = (row.hazard, row.presentation, row.task)
        if cell in seen:
            continue
        seen.add(cell)
        if row.version_id == version.pk:
            yield words.hazard(row.hazard), words.term("presentation", row.presentation), words.term("task", row.task)


@door(GET="see-plans")
def compared(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """This version against another one: from the older to the newer, step by step."""
    one = version_of(key)
    try:
        with_ = uuid.UUID(request.GET.get("with", ""))
    except ValueError:
        before = one.procedure.versions.filter(number__lt=one.number).order_by("-number").only("pk").first()
        with_ = before.pk if before else one.pk
    other = version_of(with_)
    old, new = sorted((one, other), key=lambda version: (version.at, version.number))
    return render(
        request,
        "desk/compared.html",
        {
            "version": one,
            "old": old,
            "new": new,
            "others": list(_others(one)),
            "told": differences_told(approved_of(old.pk), approved_of(new.pk)),
        },
    )


@door(GET="see-plans")
def answers(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    version = version_of(key)
    return render(request, "desk/answers.html", {"version": version, "steps": answers_told(approved_of(key))})


@door(GET="print-sheet")
def book(request: HttpRequest) -> HttpResponse:
    """All procedures in force, in one document."""
    unit = Unit.current().on_paper
    chapters = []
    for version in in_force():
        approved = approved_of(version.pk)
        said = papers.Approval(
            version=version.number,
            approved_by=version.approved_by.name,
            approved_on=version.at.date().isoformat(),
            practised=practised_by(version).says,
            unit=unit,
        )
        chapters.append(
            papers.Chapter(
                version.procedure.title,
                approved.plan,
                approved.assurance,
                said,
                facts.catalogue_of(version.facts),
                tuple((one.recovery, one.steps) for one in approved.answers),
            )
        )
    if not chapters:
        raise Http404
    pdf = papers.book_pdf(chapters, words_now(), unit, printed_on=timezone.localdate().isoformat())
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="procedure-book.pdf"'
    return response

"""The first page: what the visitor can do now."""

from __future__ import annotations

from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.desk.models import PlannedCase, ProcedureVersion
from vestry.hospital.record.models import Entry


@door(GET="see-home")
def home(request: HttpRequest) -> HttpResponse:
    person = visitor(request)
    mine = Q(observer=person) | Q(wearer=person) | Q(assistant=person)
    open_entries = Entry.objects.exclude(stage__in=["closed", "abandoned"]).select_related(
        "version__procedure", "wearer", "observer"
    )
    if not person.may("lead-entry") or "shift-lead" not in person.roles:
        open_entries = open_entries.filter(mine)
    return render(
        request,
        "desk/home.html",
        {
            "open_entries": open_entries if person.may("see-wearer-screen") else [],
            "cases": PlannedCase.objects.select_related("asked_by")[:8] if person.may("see-plans") else [],
            "versions": _in_force() if person.may("see-procedures") else [],
        },
    )


def _in_force() -> list[ProcedureVersion]:
    """The newest version of each procedure that is not retired."""
    newest: dict[int, ProcedureVersion] = {}
    for version in (
        ProcedureVersion.objects.filter(retirement=None).select_related("procedure", "approved_by").defer("approved")
    ):
        newest.setdefault(version.procedure_id, version)
    return sorted(newest.values(), key=lambda one: one.procedure.title)

"""The first page: what the visitor can do now."""

from __future__ import annotations

from typing import Any

from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.desk.models import PlannedCase
from vestry.hospital.desk.standing import in_force, standing_of
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
            "versions": _startable() if person.may("see-procedures") else [],
        },
    )


def _startable() -> list[dict[str, Any]]:
    """The newest version of each procedure that is not retired, with where it stands."""
    return [{"version": one, "standing": standing_of(one)} for one in in_force()]

"""Exposures, as the events opened them: for occupational health with site and sort, for those who lead the status only.

Detail lives in occupational health's follow-up, never in an event. Every look of theirs is written down.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.cache import never_cache

from vestry.hospital.access.door import door
from vestry.hospital.access.models import User
from vestry.hospital.access.people import visitor
from vestry.hospital.record.first_aid import KINDS, SITE_WORDS, WHO
from vestry.hospital.record.models import Event, ExposureTaken
from vestry.hospital.record.reading import SEES_ALL, note_read
from vestry.hospital.writing import writing

ON_A_PAGE = 50


@dataclass(frozen=True)
class Shown:
    """One exposure as a page shows it; `who`, `site` and `sort` are empty for those who see the status only."""

    row: Event
    taken: ExposureTaken | None
    who: str = ""
    person: str = ""
    site: str = ""
    sort: str = ""


def _rows(person: User) -> QuerySet[Event]:
    rows = (
        Event.objects.filter(kind="exposure")
        .select_related("entry__wearer", "entry__observer", "entry__assistant", "taken__by")
        .order_by("-sequence")
    )
    if person.roles & SEES_ALL:
        return rows
    return rows.filter(Q(entry__observer=person) | Q(entry__wearer=person) | Q(entry__assistant=person))


def shown(row: Event, health: bool) -> Shown:
    taken = row.taken if hasattr(row, "taken") else None
    if not health:
        return Shown(row, taken)
    who = row.payload.get("who") if isinstance(row.payload.get("who"), str) else "wearer"
    person: Any = getattr(row.entry, str(who), None) if who in WHO else None
    return Shown(
        row,
        taken,
        str(WHO.get(str(who), who)),
        person.name if person else "",
        _word(SITE_WORDS, row.payload.get("site")),
        _word(KINDS, row.payload.get("sort")),
    )


def _word(words: Any, said: Any) -> str:
    return str(words.get(said, said)) if isinstance(said, str) else ""


@never_cache
@door(GET="see-exposures")
def exposures(request: HttpRequest) -> HttpResponse:
    person = visitor(request)
    health = "occupational-health" in person.roles
    page = Paginator(_rows(person), ON_A_PAGE).get_page(request.GET.get("page"))
    if health:
        note_read(person, "exposures")
    listed = [shown(row, health) for row in page]
    return render(request, "record/exposures.html", {"listed": listed, "page": page, "health": health})


@door(POST="take-exposure")
def take(request: HttpRequest, sequence: int) -> HttpResponse:
    """Occupational health has it now. Twice does no harm: the first stays."""
    row = get_object_or_404(Event, pk=sequence, kind="exposure")
    with writing():
        if not ExposureTaken.objects.filter(event=row).exists():
            ExposureTaken.objects.create(event=row, by=visitor(request), at=timezone.now())
    return HttpResponseRedirect("/exposures/")

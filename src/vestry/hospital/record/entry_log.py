"""The log of entries by room and day that an authority asks for: who went in and out when, in what, who watched."""

from __future__ import annotations

import datetime
from typing import Any

from django import forms
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache

from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import Unit
from vestry.hospital.language import words_now
from vestry.hospital.record.exporting import as_csv
from vestry.hospital.record.models import Entry
from vestry.hospital.record.reading import note_read
from vestry.hospital.rooms.mapper import rooms
from vestry.papers.record import Part, record_pdf
from vestry.trade.words import UnknownWord

ON_A_PAGE = 100
MOST_PRINTED = 2_000
HEAD = ("room", "day", "wearer", "in", "out", "worn", "observer", "deviations", "exposures", "drill", "late", "record")


class LogForm(forms.Form):
    room = forms.ChoiceField(label=gettext_lazy("Room"), required=False)
    since = forms.DateField(
        label=gettext_lazy("From"), required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    until = forms.DateField(
        label=gettext_lazy("To"), required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    drills = forms.BooleanField(label=gettext_lazy("Drills too"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known = [(one.code, one.name) for one in rooms()]
        field: Any = self.fields["room"]
        field.choices = [("", gettext_lazy("every room")), *known, ("-", gettext_lazy("not said"))]

    def found(self) -> QuerySet[Entry]:
        """Entries as asked, by room and then by when they went in."""
        said = self.cleaned_data
        rows = (
            Entry.objects.select_related("version__procedure", "wearer", "observer")
            .defer("version__approved")
            .annotate(went_in=Coalesce("entered_at", "created_at"))
            .order_by("room", "went_in")
        )
        if said.get("room"):
            rows = rows.filter(room="" if said["room"] == "-" else said["room"])
        if said.get("since"):
            rows = rows.filter(went_in__gte=_start(said["since"]))
        if said.get("until"):
            rows = rows.filter(went_in__lt=_start(said["until"] + datetime.timedelta(days=1)))
        return rows if said.get("drills") else rows.filter(drill=False)


def _start(day: datetime.date) -> datetime.datetime:
    return datetime.datetime.combine(day, datetime.time(), datetime.UTC)


def _asked(request: HttpRequest) -> LogForm:
    today = timezone.localdate()
    usual = {"since": (today - datetime.timedelta(days=30)).isoformat(), "until": today.isoformat()}
    form = LogForm({**usual, **request.GET.dict()})
    if not form.is_valid():
        form = LogForm(usual)
        form.is_valid()
        form.add_error(None, _("A day is written as 2027-03-01, and the room is one of the list."))
    return form


def lines(entries: Any) -> list[tuple[str, ...]]:
    """One line for each entry, under HEAD."""
    names, words = {one.code: one.name for one in rooms()}, words_now()
    worn: dict[Any, str] = {}
    found: list[tuple[str, ...]] = []
    for one in entries:
        if one.version_id not in worn:
            worn[one.version_id] = _worn(one.version_id, words)
        found.append(
            (
                names.get(one.room, one.room),
                one.went_in.strftime("%Y-%m-%d"),
                one.wearer.name,
                one.entered_at.strftime("%H:%M") if one.entered_at else "",
                _out(one),
                worn[one.version_id],
                one.observer.name,
                str(one.deviations),
                str(one.exposures),
                _("drill") if one.drill else "",
                _("late") if one.late else "",
                str(one.pk),
            )
        )
    return found


def _out(one: Entry) -> str:
    if one.left_at is None:
        return ""
    same = one.entered_at is not None and one.entered_at.date() == one.left_at.date()
    return one.left_at.strftime("%H:%M" if same else "%Y-%m-%d %H:%M")


def _worn(version: Any, words: Any) -> str:
    """What the procedure has on at the door."""
    approved = approved_of(version)
    inside = next(
        (one.worn for one, step in zip(approved.scenes, approved.plan.steps, strict=False) if step.phase == "doffing"),
        (),
    )
    named = []
    for item in inside:
        try:
            named.append(words.item(item))
        except UnknownWord:
            named.append(item)
    return "; ".join(named)


@never_cache
@door(GET="see-entry-log")
def log(request: HttpRequest) -> HttpResponse:
    form = _asked(request)
    page = Paginator(form.found(), ON_A_PAGE).get_page(request.GET.get("page"))
    note_read(visitor(request), "log")
    asked = request.GET.copy()
    asked.pop("page", None)
    shown = {"form": form, "rows": lines(page), "page": page, "asked": f"{asked.urlencode()}&" if asked else ""}
    return render(request, "record/log.html", shown, status=422 if form.errors else 200)


@never_cache
@door(GET="see-entry-log")
def log_csv(request: HttpRequest) -> HttpResponse:
    note_read(visitor(request), "log")
    response = HttpResponse(as_csv(HEAD, lines(_asked(request).found())), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="entry-log.csv"'
    return response


@never_cache
@door(GET="see-entry-log")
def log_pdf(request: HttpRequest) -> HttpResponse:
    note_read(visitor(request), "log")
    form, unit = _asked(request), Unit.current()
    listed = form.found()
    count = listed.count()
    rows = lines(listed[:MOST_PRINTED])
    head = (_("Day"), _("Who, in what"), _("In"), _("Out"), _("Observer"), _("Dev."), _("Exp."))
    by_room: dict[str, list[tuple[str, ...]]] = {}
    for room, day, wearer, in_, out, worn, observer, deviations, exposures, drill, late, _key in rows:
        marks = " ".join(f"[{one}]" for one in (drill, late) if one)
        who = f"{wearer} {marks}: {worn}".replace(" :", ":")
        by_room.setdefault(room, []).append((day, who, in_, out, observer, deviations, exposures))
    said = form.cleaned_data
    lead = [_("From %(since)s to %(until)s, times in UTC. %(count)s entries.") % {
        "since": said.get("since") or _("the first"), "until": said.get("until") or _("the last"), "count": count,
    }]  # fmt: skip
    if count > MOST_PRINTED:
        lead.append(_("Printed are the first %(most)s; choose fewer days for the rest.") % {"most": MOST_PRINTED})
    parts = [
        Part(name or _("Room not said"), head, (21, 0, 12, 12, 30, 10, 10), some) for name, some in by_room.items()
    ]
    pdf = record_pdf(
        _("Entry log by room and day"),
        parts or [Part(_("Entries"), head, (), [])],
        words_now(),
        lead=lead,
        none=_("None was recorded."),
        standing=_("Invented for demonstration") if unit.invented else "",
        unit=unit.name,
        printed_on=timezone.now().strftime("%Y-%m-%d %H:%M UTC"),
    )
    return HttpResponse(pdf, content_type="application/pdf")

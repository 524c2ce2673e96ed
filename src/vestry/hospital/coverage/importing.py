"""A rota handed in as a file: looked at first, taken whole or not at all; and the roster in force as such a file."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterator
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.coverage.asking_pages import store
from vestry.hospital.coverage.models import RosterAct, RotaVersion
from vestry.hospital.coverage.naming import names_for
from vestry.hospital.coverage.rota_file import RotaRead, in_force_on, read_rota_file
from vestry.hospital.language import words_now
from vestry.hospital.registers.exporting import CSV, XLSX, as_csv, as_xlsx, file_answer, heads_of
from vestry.hospital.registers.files import BadFile, Row
from vestry.hospital.registers.importing import MANY, take_file, takes_a_file
from vestry.hospital.registers.models import ImportDraft
from vestry.hospital.writing import writing
from vestry.roster import Act
from vestry.roster.rota import MOST_DAYS, Assigned

ROTA = "rota"


@door(GET="take-roster", POST="take-roster")
@takes_a_file
def hand_in(request: HttpRequest) -> HttpResponse:
    known = [(ROTA, _("Rota"))]
    return take_file(request, known, lambda sort, rows, order: read_rota_file(rows, order), "/coverage/import/")


@door(GET="take-roster", POST="take-roster")
def draft(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """What the list would change, on register and rosters as they are now; taking it."""
    kept = ImportDraft.objects.filter(pk=key, by=visitor(request), sort=ROTA).first()
    if kept is None:
        raise Http404
    try:
        if request.method == "POST":
            version = _take(kept, request)
            return HttpResponseRedirect(f"/coverage/{version.pk}/" if version else "/coverage/")
        read = _read(kept)
    except BadFile as bad:
        context: dict[str, Any] = {"draft": kept, "problems": bad.problems}
        return render(request, "coverage/import-preview.html", context, status=422)
    return render(request, "coverage/import-preview.html", {"draft": kept, **_preview(read, request)})


def _read(kept: ImportDraft) -> RotaRead:
    order: Any = kept.date_order
    return read_rota_file([Row(line, cells) for line, cells in kept.rows], order)


def _take(kept: ImportDraft, request: HttpRequest) -> RotaVersion | None:
    """All of it in one transaction, read anew. A list that says what holds already writes nothing."""
    with writing():
        read = _read(kept)
        version = None
        if read.new or read.gone:
            reason = _("From the file %(name)s") % {"name": kept.file_name}
            version = store(read.rota, read.procedure, reason, visitor(request))
            act = Act(kind="taken", assigned=read.assigned).model_dump(mode="json", by_alias=True)
            RosterAct.objects.create(rota=version, act=act, reason=reason, by=visitor(request), at=timezone.now())
        kept.delete()
    told = _("Taken: %(new)s new, %(gone)s no longer, %(known)s as known.")
    messages.info(request, told % {"new": len(read.new), "gone": len(read.gone), "known": read.known})
    return version


def _preview(read: RotaRead, request: HttpRequest) -> dict[str, Any]:
    words, names = words_now(), names_for(request)
    shifts = {one.id: one for one in read.rota.shifts}

    def line(one: Assigned) -> dict[str, Any]:
        return {
            "name": names.of(one.person),
            "day": one.day,
            "shift": one.shift,
            "hours": _hours(shifts[one.shift].from_hour, shifts[one.shift].hours) if one.shift in shifts else ("", ""),
            "duty": words.term("roster-duty", one.duty),
            "given": one in read.given,
        }

    broken = [
        (
            names.of(one.person),
            read.rota.starts + datetime.timedelta(days=one.day),
            words.term("roster-broken", one.rule),
        )
        for one in read.broken
    ]
    return {
        "read": read,
        "last": read.rota.starts + datetime.timedelta(days=read.rota.days - 1),
        "new": [line(one) for one in read.new[:MANY]],
        "new_count": len(read.new),
        "gone": [line(one) for one in read.gone[:MANY]],
        "gone_count": len(read.gone),
        "broken": broken[:MANY],
        "broken_count": len(broken),
        "nothing": not (read.new or read.gone),
    }


def _hours(start: int, hours: int) -> tuple[str, str]:
    return f"{start:02}:00", f"{(start + hours) % 24:02}:00"


# ---- out again ----


def _rows() -> Iterator[list[str]]:
    """The roster in force from a week back, in the columns of the file; people by code."""
    first = timezone.localdate() - datetime.timedelta(days=7)
    found = in_force_on(first, first + datetime.timedelta(days=MOST_DAYS - 1))
    for stands, one in sorted(found, key=lambda pair: (pair[1].day, pair[1].shift, pair[1].duty, pair[1].person)):
        shift = next(each for each in stands.rota.shifts if each.id == one.shift)
        yield [one.person, one.day.isoformat(), one.shift, *_hours(shift.from_hour, shift.hours), one.duty]


@door(GET="see-coverage")
def as_csv_file(request: HttpRequest) -> HttpResponse:
    return file_answer(as_csv(heads_of(ROTA), _rows()), "rota.csv", CSV)


@door(GET="see-coverage")
def as_xlsx_file(request: HttpRequest) -> HttpResponse:
    return file_answer(as_xlsx([("Rota", heads_of(ROTA), _rows())]), "rota.xlsx", XLSX)

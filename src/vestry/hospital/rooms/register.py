"""The register of rooms, and the log of what was read in them."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone

from vestry.hospital import running_facts
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.language import words_now
from vestry.hospital.rooms.forms import CheckForm, RoomForm
from vestry.hospital.rooms.mapper import operations, rooms
from vestry.hospital.rooms.models import RoomCheck, RoomVersion
from vestry.hospital.writing import writing
from vestry.room.checks import due
from vestry.trade.operations import Operations
from vestry.trade.operations_values import AirLimit

SHOWN = 200


@door(GET="see-rooms", POST="edit-rooms")
def register(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return _register_page(request, RoomForm())
    form = RoomForm(request.POST)
    if not form.is_valid():
        return _register_page(request, form, 422)
    said = form.cleaned_data
    with writing():
        RoomVersion.objects.create(
            **{name: said[name] for name in ("code", "name", "kind", "out_of_use", "reason")},
            ach=None if said["ach"] is None else decimal(said["ach"]),
            volume=None if said["volume"] is None else decimal(said["volume"]),
            mixing=decimal(said["mixing"]),
            by=visitor(request),
            at=timezone.now(),
        )
    return HttpResponseRedirect("/rooms/")


def _register_page(request: HttpRequest, form: RoomForm, status: int = 200) -> HttpResponse:
    words, now = words_now(), timezone.now()
    last = last_readings()
    lines = [
        {
            "room": one,
            "kind": words.term("room-kind", one.kind),
            "pressure": last.get((one.code, "pressure")),
            "ach_low": ach_low(one),
            "due": _due(one, last.get((one.code, "pressure")), now),
        }
        for one in rooms()
    ]
    limits = [
        {
            "measure": words.term("room-measure", one.measure),
            "kinds": ", ".join(words.term("room-kind", kind) for kind in one.rooms),
            "limit": one,
            "source": operations().sources[one.source],
            "certainty": words.term("certainty", one.certainty),
        }
        for one in operations().all(AirLimit)
    ]
    return render(
        request,
        "rooms/register.html",
        {
            "form": form,
            "lines": lines,
            "limits": limits,
            "history": RoomVersion.objects.select_related("by")[:30],
        },
        status=status,
    )


def _due(room: RoomVersion, last: RoomCheck | None, now: datetime) -> bool:
    """Whether a room that has a limit of pressure has to be looked at again."""
    limited = any(one.measure == "pressure" and room.kind in one.rooms for one in operations().all(AirLimit))
    return limited and not room.out_of_use and due(last.at if last else None, now, operations())


def ach_low(room: RoomVersion, records: Operations | None = None) -> AirLimit | None:
    """The limit of air changes that a room does not keep; None where it does, or nothing is written.

    records    those in force, where they were read already
    """
    if room.ach is None:
        return None
    for one in (records or operations()).all(AirLimit):
        if one.measure == "air-changes" and room.kind in one.rooms and Fraction(room.ach) < Fraction(str(one.at_least)):
            return one
    return None


def last_readings() -> dict[tuple[str, str], RoomCheck]:
    """The newest reading of every room and measure."""
    found: dict[tuple[str, str], RoomCheck] = {}
    newest = RoomCheck.objects.raw(
        "SELECT * FROM rooms_roomcheck AS one WHERE NOT EXISTS (SELECT 1 FROM rooms_roomcheck AS later WHERE "
        "later.code = one.code AND later.measure = one.measure AND "
        "(later.at > one.at OR (later.at = one.at AND later.id > one.id)))"
    )
    for row in newest:
        found[row.code, row.measure] = row
    return found


@door(GET="see-rooms", POST="write-room-check")
def checks(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return _checks_page(request, CheckForm())
    form = CheckForm(request.POST)
    if not form.is_valid():
        return _checks_page(request, form, 422)
    said, found = form.cleaned_data, form.cleaned_data["checked"]
    with writing():
        running_facts.keep(timezone.now())
        RoomCheck.objects.create(
            code=said["room"],
            measure=found.measure,
            value=decimal(found.value),
            written=said["reading"],
            within=found.within,
            limit=found.limit.id if found.limit else "",
            operations=operations().digest,
            seen=said["seen"],
            note=said["note"],
            by=visitor(request),
            at=timezone.now(),
        )
    return HttpResponseRedirect("/rooms/checks/")


def _checks_page(request: HttpRequest, form: CheckForm, status: int = 200) -> HttpResponse:
    words, names = words_now(), {one.code: one.name for one in rooms()}
    rows = RoomCheck.objects.select_related("by")[: SHOWN + 1]
    lines: list[dict[str, Any]] = [
        {
            "check": one,
            "room": names.get(one.code, one.code),
            "measure": words.term("room-measure", one.measure),
            "value": f"{one.value.normalize():f}",
        }
        for one in rows[:SHOWN]
    ]
    return render(
        request,
        "rooms/checks.html",
        {
            "form": form,
            "lines": lines,
            "more": len(rows) > SHOWN,
            "out": sum(one["check"].within is False for one in lines),
            "rooms": names,
        },
        status=status,
    )


def decimal(value: Fraction) -> Decimal:
    """An exact number as a column holds it: three decimals."""
    return (Decimal(value.numerator) / Decimal(value.denominator)).quantize(Decimal("0.001"))

"""How long until the air is clear, and when a room is ready again; worked out, not stored, and locking nothing."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext

from vestry.hospital import facts
from vestry.hospital.access.door import door
from vestry.hospital.language import words_now
from vestry.hospital.rooms.forms import AirForm, TurningForm
from vestry.hospital.rooms.mapper import operations
from vestry.hospital.rooms.models import RoomVersion
from vestry.room.air import AirRefused, air_changes, clearance, relevance
from vestry.room.dilution import contact_time
from vestry.room.turning import Pace, Timeline, turned_around

REMOVALS = (Fraction(90), Fraction(99), Fraction("99.9"))
PACES: tuple[Pace, ...] = ("brisk", "usual", "slow")


@door(GET="see-rooms")
def air(request: HttpRequest) -> HttpResponse:
    if not request.GET:
        return render(request, "rooms/air.html", {"form": AirForm()})
    form, found, status = AirForm(request.GET), None, 200
    if form.is_valid():
        try:
            found = _cleared(form)
        except AirRefused as bad:
            form.add_error(bad.field if bad.field in form.fields else None, bad.what)
    if found is None:
        status = 422
    return render(request, "rooms/air.html", {"form": form, "found": found}, status=status)


def _cleared(form: AirForm) -> Mapping[str, Any]:
    said, words = form.cleaned_data, words_now()
    room = form.rooms.get(said["room"])
    ach, mixing = _ventilation(said, room)
    says = [] if not said["source"] else ["source-present"]
    matters = None
    if said["hazard"]:
        matters = relevance(facts.catalogue().hazards[said["hazard"]], said["aerosol"])
        says.append(matters.answer)
    return {
        "room": room,
        "ach": float(ach),
        "mixing": float(mixing),
        "lines": () if said["source"] else [clearance(ach, removal, mixing) for removal in REMOVALS],
        "says": [words.term("air", one) for one in says],
        "beside": matters is not None and matters.answer == "not-by-air",
        "notes": [words.term("air", one) for one in ("formula", "rounding", "informs")],
    }


def _ventilation(said: Mapping[str, Any], room: RoomVersion | None) -> tuple[Fraction, Fraction]:
    if room is not None and any(said[name] is not None for name in ("ach", "flow", "volume")):
        raise AirRefused("room", gettext("take a room, or say its air"))
    if room is not None and room.ach is None:
        raise AirRefused("room", gettext("no air changes are written for it"))
    given = Fraction(room.ach) if room is not None and room.ach is not None else said["ach"]
    ach, _ = air_changes(ach=given, flow=said["flow"], volume=said["volume"])
    mixing = said["mixing"] if said["mixing"] is not None else Fraction(room.mixing) if room else Fraction(1)
    clearance(ach, REMOVALS[0], mixing)
    return ach, mixing


@door(GET="see-rooms")
def turning(request: HttpRequest) -> HttpResponse:
    if not request.GET:
        now = timezone.now().replace(second=0, microsecond=0)
        return render(request, "rooms/turning.html", {"form": TurningForm(initial={"left": now}), "lane": _lane()})
    form = TurningForm(request.GET)
    if not form.is_valid():
        return render(request, "rooms/turning.html", {"form": form, "lane": _lane()}, status=422)
    return render(request, "rooms/turning.html", {"form": form, "lane": _lane(), "found": _turned(form)})


def _lane() -> list[str]:
    """What is done between two exits through one lane, as plans have it."""
    words = words_now()
    return [words.turnaround(one).short for one in facts.catalogue().turnarounds]


def _turned(form: TurningForm) -> Mapping[str, Any]:
    said, words = form.cleaned_data, words_now()
    room = form.rooms[said["room"]]
    matters = relevance(facts.catalogue().hazards[said["hazard"]], said["aerosol"])
    wait = None
    if matters.answer != "not-by-air" and room.ach is not None:
        wait = clearance(Fraction(room.ach), REMOVALS[-1], Fraction(room.mixing)).wait
    contact = contact_time("surfaces", operations())
    lines = [
        turned_around(
            said["left"], operations(), contact=contact, air_minutes=wait, cleaning_waits=not said["at_once"], pace=pace
        )
        for pace in PACES
    ]
    return {
        "room": room,
        "says": words.term("air", matters.answer),
        "no_air": matters.answer != "not-by-air" and room.ach is None,
        "contact": contact,
        "contact_source": operations().sources.get(contact.source),
        "timelines": [_timeline(one, words) for one in lines],
    }


def _timeline(one: Timeline, words: Any) -> Mapping[str, Any]:
    return {
        "pace": words.term("pace", one.pace),
        "usual": one.pace == "usual",
        "ready": one.ready,
        "last": words.term("turning", one.last),
        "parts": [
            {"name": words.term("turning", part.name), "start": part.start, "end": part.end} for part in one.parts
        ],
    }

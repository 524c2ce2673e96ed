"""The anteroom's pages: start an entry, lead it, and the wearer's screen."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache

from vestry.entry import BadEvent, EntryState, Event, fold
from vestry.entry.beside import HOLD_CARD
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.anteroom.checking import PlainCheck, plain_check, said_of
from vestry.hospital.anteroom.clock import clocks_of
from vestry.hospital.anteroom.forms import PressForm
from vestry.hospital.anteroom.own_texts import texts_at
from vestry.hospital.anteroom.presses import events_of as said_by
from vestry.hospital.anteroom.screen import Screen, screen
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.device import device_of
from vestry.hospital.ids import uuid7
from vestry.hospital.record.mapper import led_of
from vestry.hospital.record.models import Entry
from vestry.hospital.record.reading import entry_led_by, entry_seen_by
from vestry.hospital.record.store import append, events_of, state_of


@never_cache
@door(GET="lead-entry")
def lead(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    return _screen_page(request, entry_led_by(visitor(request), key))


def _screen_page(
    request: HttpRequest, entry: Entry, problems: Any = None, status: int = 200, holds: str = ""
) -> HttpResponse:
    state, shown = _look(entry)
    template = "anteroom/over.html" if shown.kind == "over" else f"anteroom/{shown.kind}.html"
    return render(
        request,
        template,
        {
            "entry": entry,
            "state": state,
            "shown": shown,
            "problems": problems,
            "holds": holds,
            "before": _check_shown(entry, shown),
            "own_card": texts_at(entry.created_at).get(HOLD_CARD) if shown.kind == "hold-card" else None,
            "fresh": fresh_ids(shown),
        },
        status=status,
    )


def _check_shown(entry: Entry, shown: Screen) -> PlainCheck | None:
    """The unit's list, once the step that asks for it was read."""
    if shown.kind != "step" or not shown.read or shown.line is None:
        return None
    return plain_check(entry, led_of(entry.version), shown.line.id)


def fresh_ids(shown: Screen) -> str:
    """Ids for whatever the next press says: a press that arrives twice is then one press."""
    return ",".join(str(uuid7()) for _ in range(3 * max(len(shown.lines), 1) + 3))


def _look(entry: Entry) -> tuple[EntryState, Screen]:
    approved, led = approved_of(entry.version.pk), led_of(entry.version)
    state = state_of(entry)
    return state, screen(entry, approved, led, state)


@door(POST="lead-entry")
def press(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """One press. It is recorded, whatever it says; only what cannot be read is refused."""
    entry = entry_led_by(visitor(request), key)
    form = PressForm(request.POST)
    if not form.is_valid():
        return _screen_page(request, entry, form.errors, 422)
    said, led, now = form.cleaned_data, led_of(entry.version), timezone.now()
    known = events_of(entry)
    if any(one.id == said["ids"][0] for one in known):
        return HttpResponseRedirect(f"/entries/{key}/")
    kinds = said_by(said["press"], said, led, fold(led, known))
    check = plain_check(entry, led, said["step"]) if said["press"] == "done-seen" else None
    if check is not None:
        ticked, may = request.POST.getlist("not-in-order")[:40], "may-not" not in request.POST
        try:
            kinds = said_of(check, said["step"], ticked, may, said, visitor(request))
        except ValueError as holds:
            return _screen_page(request, entry, status=422, holds=str(holds))
    if len(kinds) > len(said["ids"]):
        return _screen_page(
            request, entry, {"ids": [gettext("Too few for what this press says. Load the page anew.")]}, 422
        )
    clock = _moment(said["clock"] or now)
    events = [
        Event(
            id=one,
            entry=str(entry.pk),
            kind=kind,
            payload=payload,
            actor=visitor(request).sign_in,
            device=device_of(request),
            clock=clock,
            counter=number,  # counted when it is stored
            plan=entry.version.plan_hash,
        )
        for number, (one, (kind, payload)) in enumerate(zip(said["ids"], kinds, strict=False))
    ]
    try:
        append(entry, events, now, from_a_page=True)
    except BadEvent as bad:
        return _screen_page(request, entry, {field: [what] for field, what in bad.problems}, 422)
    return HttpResponseRedirect(f"/entries/{key}/")


def _moment(when: datetime) -> str:
    return when.astimezone(UTC).isoformat(timespec="milliseconds")


@never_cache
@door(GET="see-wearer-screen")
def wearer(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    entry = entry_seen_by(visitor(request), key)
    state, shown = _look(entry)
    return render(
        request,
        "anteroom/wearer.html",
        {
            "entry": entry,
            "shown": shown,
            "token": token_of(state),
            "read": shown.kind == "step" and shown.read,
            "minutes_left": minutes_left(state, clocks_of(entry).limit_minutes, timezone.now()),
        },
    )


def minutes_left(state: EntryState, limit: int, now: datetime) -> int | None:
    """Minutes until the unit's limit; None before going in and after coming out."""
    if state.entered_at is None or state.left_at is not None:
        return None
    return max(0, limit - int((now - datetime.fromisoformat(state.entered_at)).total_seconds() // 60))


@never_cache
@door(GET="see-wearer-screen")
def wearer_now(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """Whether the wearer's screen must be drawn anew. Small, since it is asked often."""
    entry = entry_seen_by(visitor(request), key)
    return JsonResponse({"token": token_of(state_of(entry))})


def token_of(state: EntryState) -> str:
    """Another text whenever the wearer's screen shows something else."""
    here = [one for one in state.steps if one.course == state.course and not one.done]
    return "-".join([state.stage, state.course, str(state.position), str(sum(one.read_at is not None for one in here))])

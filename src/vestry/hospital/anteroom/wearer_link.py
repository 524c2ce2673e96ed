"""The wearer's screen by a secret address, without signing in: the step that was read, and nothing else.

It is asked several times a second, so the usual answer is one query and no body. The step is sent only once it was
read; never the next one. Where the tablet that leads is not heard, what the server knows may be old, and is not shown.
"""

from __future__ import annotations

import secrets
import uuid
from collections import OrderedDict
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import Lock
from typing import Any

import segno
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils import timezone, translation
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt

from vestry.entry import EntryState, Led
from vestry.entry.actual import actual, still_here
from vestry.entry.courses import PLAN
from vestry.hospital import facts, language
from vestry.hospital.access import codes
from vestry.hospital.access.door import door
from vestry.hospital.anteroom import heard, tablets
from vestry.hospital.anteroom.clock import clocks_of
from vestry.hospital.anteroom.device_views import carried_entry, told_as_json
from vestry.hospital.anteroom.models import Tablet, WearerLink
from vestry.hospital.anteroom.picture import Picture, picture
from vestry.hospital.anteroom.screen import Screen, screen
from vestry.hospital.board.of_version import of_version
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.language import SOURCE, for_entry, words_now
from vestry.hospital.record.mapper import led_of
from vestry.hospital.record.models import Entry
from vestry.hospital.record.store import state_of
from vestry.hospital.writing import writing
from vestry.procedure import Approved

HOLDS_FOR = timedelta(hours=8)
_MOST_KEPT = 200


@dataclass(frozen=True)
class _Content:
    """What the screen shows for so many events. `tablet`: the device that leads, where that is a tablet."""

    says: dict[str, Any]
    tablet: str | None


_KEPT: OrderedDict[tuple[uuid.UUID, int, str], _Content] = OrderedDict()  # by entry, events, language
_LOCK = Lock()


# ---- on the tablet ----


def make(entry: Entry, tablet: Tablet, now: datetime) -> tuple[str, datetime]:
    """A new secret for this entry, and until when it holds."""
    secret, until = secrets.token_urlsafe(24), now + HOLDS_FOR
    with writing():
        WearerLink.objects.create(secret_hash=codes.proof_of(secret), entry=entry, tablet=tablet, at=now, until=until)
    return secret, until


@csrf_exempt
@never_cache
@door(GET="send-events", POST="send-events")
@told_as_json
def link(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """POST: a new address and its code to scan. GET: the tablet is there, and the screen may trust what it sent."""
    entry, tablet = carried_entry(request, key), tablets.tablet_of(request)
    heard.beat(entry.pk, str(tablet.pk))
    if request.method == "GET":
        return HttpResponse(status=204)
    secret, until = make(entry, tablet, timezone.now())
    spoken = for_entry(language.now(), entry.drill)
    address = request.build_absolute_uri(f"/wearer/{secret}/" + (f"?in={spoken}" if spoken != SOURCE else ""))
    return JsonResponse({"address": address, "until": until.isoformat(timespec="seconds"), "code": code_of(address)})


def code_of(address: str) -> dict[str, Any]:
    """The address as a code to scan: its width in modules with the quiet zone, and one SVG path."""
    rows = list(segno.make(address, error="m", micro=False).matrix_iter(border=4))
    parts = []
    for y, row in enumerate(rows):
        for x, dark in enumerate(row):
            if dark:
                parts.append(f"M{x} {y}h1v1h-1z")
    return {"size": len(rows), "path": "".join(parts)}


# ---- the screen ----


@never_cache
@door(GET="open-wearer-link")
def page(request: HttpRequest, secret: str) -> HttpResponse:
    found = _found(secret)
    _speak(request, found.entry)
    response = render(request, "anteroom/wearer-link.html")
    response["X-Robots-Tag"] = "noindex"
    return response


@never_cache
@door(GET="open-wearer-link")
def now(request: HttpRequest, secret: str) -> HttpResponse:
    """What it shows; without a body where that is what the screen has (`have`)."""
    found = _found(secret)
    _speak(request, found.entry)
    content = _content(found.entry_id, found.entry.events_folded)
    lost = content.tablet is not None and heard.silent(found.entry_id, content.tablet)
    token = f"{found.entry.events_folded}{'-' if lost else '+'}"
    if request.GET.get("have") == token:
        return HttpResponse(status=204)
    return JsonResponse({"token": token} | ({"kind": "tablet-lost"} if lost else content.says))


def _speak(request: HttpRequest, entry: Entry) -> None:
    """As the tablet spoke that made the address, whoever's telephone it is; a real entry in no unreviewed language."""
    translation.activate(for_entry(request.GET.get("in", SOURCE), entry.drill))


def _found(secret: str) -> WearerLink:
    found = (
        WearerLink.objects.select_related("entry")
        .only("entry__events_folded", "entry__drill")
        .filter(secret_hash=codes.proof_of(secret), until__gt=timezone.now())
        .first()
    )
    if found is None:
        raise Http404("no such screen, or not any more")
    return found


def _content(key: uuid.UUID, folded: int) -> _Content:
    name = key, folded, language.now()
    with _LOCK:
        if name in _KEPT:
            return _KEPT[name]
    made = _made(key)
    with _LOCK:
        _KEPT[name] = made
        while len(_KEPT) > _MOST_KEPT:
            _KEPT.popitem(last=False)
    return made


def _made(key: uuid.UUID) -> _Content:
    entry = (
        Entry.objects.select_related("version", "wearer", "observer", "assistant")
        .defer("version__approved")
        .get(pk=key)
    )
    approved, led = approved_of(entry.version_id), led_of(entry.version)
    state = state_of(entry)
    tablet = state.leads if state.leads and Tablet.objects.filter(pk=state.leads).exists() else None
    return _Content(_says(entry, approved, led, state), tablet)


def _says(entry: Entry, approved: Approved, led: Led, state: EntryState) -> dict[str, Any]:
    shown = screen(entry, approved, led, state)
    said: dict[str, Any] = {"drill": entry.drill} | _time(state, clocks_of(entry).limit_minutes)
    if shown.dark:
        return said | {"kind": "held"}
    if shown.kind in ("over", "walked"):
        return said | {"kind": "over"}
    if shown.kind != "step" or not shown.read or shown.line is None:
        return said | {"kind": "wait"}
    drawn = _picture(entry, approved, led, state, shown)
    return said | {
        "kind": "step",
        "lines": [part for one in shown.lines for part in one.sentences],
        "size": shown.line.size if len(shown.lines) == 1 else "longer",
        "grasp": drawn.grasp if drawn else "",
        "avoid": drawn.avoid if drawn else "",
        "contaminated": bool(drawn and drawn.contaminated),
        "figure": str(drawn.whole) if drawn else "",
    }


def _time(state: EntryState, limit: int) -> dict[str, Any]:
    """When the unit's limit is reached, and the limit in minutes; nothing before going in and after coming out."""
    if state.entered_at is None or state.left_at is not None:
        return {}
    until = datetime.fromisoformat(state.entered_at) + timedelta(minutes=limit)
    return {"until": until.isoformat(timespec="seconds"), "limit": limit}


def _picture(entry: Entry, approved: Approved, led: Led, state: EntryState, shown: Screen) -> Picture | None:
    """The figure as it is now: what was said to have happened is in it."""
    if state.course != PLAN or state.position >= len(approved.scenes):
        return shown.picture
    before = actual(of_version(entry.version_id).program, state).before.get(led.plan.steps[state.position].id)
    if before is None:
        return shown.picture
    items = facts.catalogue_of(approved.approval.facts).items
    contaminated = tuple(sorted(still_here(before, state.worn, items)))
    return picture(approved.scenes[state.position].model_copy(update={"contaminated": contaminated}), words_now())

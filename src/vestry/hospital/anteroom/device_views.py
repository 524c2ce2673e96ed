"""What an enrolled tablet asks of the server, and its page. All but the page is JSON, by the tablet's token.

An upload of a tablet is never refused whole for one bad event: what cannot be stored is named, so that it is set aside
and told, and all the rest is taken. Nothing is refused for breaking a rule of the entry.
"""

from __future__ import annotations

import json
import logging
import uuid
from collections.abc import Callable
from datetime import timedelta
from functools import wraps
from typing import Any

from django.db.models import Max
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.gzip import gzip_page

from vestry.entry import BadEvent, Event, read_event
from vestry.entry.bundle import BundleTooLarge
from vestry.hospital.access import slowing
from vestry.hospital.access.door import door
from vestry.hospital.access.models import User
from vestry.hospital.access.refusals import note
from vestry.hospital.anteroom import tablets
from vestry.hospital.anteroom.bundling import bundle_of, may_sign, may_speak
from vestry.hospital.anteroom.models import Carrying
from vestry.hospital.anteroom.overrides import check_signature
from vestry.hospital.anteroom.shell import shell_files, shell_version
from vestry.hospital.anteroom.upload import Unreadable, events_in, json_body
from vestry.hospital.language import SOURCE, for_entry, for_tablets
from vestry.hospital.record.models import Entry
from vestry.hospital.record.models import Event as Row
from vestry.hospital.record.store import append, state_of
from vestry.hospital.writing import writing

log = logging.getLogger("vestry.access")
MOST_AT_ONCE = 500
SAID = {"id", "entry", "kind", "payload", "actor", "device", "clock", "counter", "plan", "salt", "previous"}
SHOWN_FOR = timedelta(days=2)


def _problem(status: int, field: str, what: str) -> JsonResponse:
    return JsonResponse({"problems": [{"field": field, "what": what}]}, status=status)


def told_as_json(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """A body that cannot be read, or an entry that is not this tablet's, is told as JSON."""

    @wraps(view)
    def inner(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            return view(request, *args, **kwargs)
        except Unreadable as bad:
            return JsonResponse({"problems": [bad.problem]}, status=422)
        except Http404:
            return _problem(404, "entry", gettext("no entry that this tablet carries"))

    return inner


# ---- the page ----


@door(GET="open-tablet")
def page(request: HttpRequest) -> HttpResponse:
    """The tablet's page: the same for everyone, without anything of the hospital's in it."""
    return render(request, "anteroom/tablet.html", {"shell": shell_version()})


@door(GET="open-tablet")
def service_worker(request: HttpRequest) -> HttpResponse:
    """From the root, so that it may serve the tablet's page; asked anew each time, so that a new one is found."""
    text = render(request, "anteroom/sw.js", {"version": shell_version(), "files": json.dumps(shell_files())})
    response = HttpResponse(text.content, content_type="text/javascript; charset=utf-8")
    response["Cache-Control"] = "no-cache"
    return response


@door(GET="open-tablet")
def texts(request: HttpRequest) -> HttpResponse:
    """The texts of the tablet's page in every language: kept by the service worker like its other files."""
    response = HttpResponse(for_tablets(), content_type="application/json")
    response["Cache-Control"] = "no-cache"
    return response


# ---- enrolment, badge and PIN ----


@csrf_exempt
@never_cache
@door(POST="enrol-tablet")
@told_as_json
def enrol(request: HttpRequest) -> HttpResponse:
    code = _text(json_body(request), "code", 40)
    address, now = slowing.address_of(request), timezone.now()
    who = f"enrol {address}"[:60]
    if slowing.too_many(who, address, now):
        return _problem(429, "code", gettext("too many wrong codes; wait a quarter of an hour"))
    found = tablets.enrol(code, now)
    if found is None:
        slowing.failed(who, address, now)
        note(request, "a code that enrols no tablet")
        return _problem(422, "code", gettext("a code that a lead gave in the last quarter of an hour, not used yet"))
    tablet, token = found
    return JsonResponse({"tablet": str(tablet.pk), "name": tablet.name, "token": token})


@csrf_exempt
@never_cache
@door(POST="identify-on-tablet")
@told_as_json
def identify(request: HttpRequest) -> HttpResponse:
    document, now = json_body(request), timezone.now()
    badge, pin = _text(document, "badge", 40), _text(document, "pin", 40)
    tablet = tablets.tablet_of(request)
    who, where = f"badge {badge}"[:60], f"tablet {tablet.pk}"[:45]
    if slowing.too_many(who, where, now):
        return _problem(429, "pin", gettext("too many tries; wait a quarter of an hour, or use the plain pages"))
    found = tablets.identify(tablet, badge, pin, now)
    if found is None:
        slowing.failed(who, where, now)
        note(request, "badge and PIN that do not fit")
        return _problem(422, "pin", gettext("a badge and its PIN, of someone who may lead an entry"))
    slowing.succeeded(who)
    person, token = found
    return JsonResponse({"person": person.sign_in, "name": person.name, "identified": token})


def _text(document: Any, name: str, longest: int) -> str:
    value = document.get(name) if isinstance(document, dict) else None
    if not isinstance(value, str) or not 1 <= len(value.strip()) <= longest or not value.isprintable():
        raise Unreadable(name, f"a text of 1 to {longest} letters")
    return value.strip()


# ---- entries ----


def _may_lead(entry: Entry, person: User) -> bool:
    """Its observer, whoever it was handed over to, or a shift lead."""
    if "shift-lead" in person.roles or entry.observer_id == person.pk:
        return True
    return state_of(entry).observer == person.sign_in


def _open_entries(person: User) -> list[Entry]:
    recent = (
        Entry.objects.select_related("version__procedure", "wearer", "observer", "assistant")
        .defer("version__approved")
        .filter(created_at__gt=timezone.now() - SHOWN_FOR)
        .exclude(stage__in=("closed", "abandoned"))
    )
    return [one for one in recent[:100] if _may_lead(one, person)]


@never_cache
@door(GET="carry-entry")
def entries(request: HttpRequest) -> HttpResponse:
    """Entries under way that whoever is at the tablet may lead."""
    person = tablets.identified(request)
    if person is None:
        return _problem(401, "identified", gettext("badge and PIN again: nobody is identified on this tablet"))
    listed = [
        {
            "entry": str(one.pk),
            "wearer": one.wearer.name,
            "observer": one.observer.name,
            "procedure": one.version.procedure.title,
            "drill": one.drill,
            "opened": one.created_at.isoformat(timespec="seconds"),
        }
        for one in _open_entries(person)
    ]
    return JsonResponse({"entries": listed, "counter": _counter(request)})


def _counter(request: HttpRequest) -> int:
    """The highest number that the record has of this tablet: its own counting goes on from there at least."""
    return int(Row.objects.filter(device=tablets.tablet_of(request).pk).aggregate(m=Max("device_counter"))["m"] or 0)


@gzip_page
@never_cache
@door(GET="carry-entry")
@told_as_json
def bundle(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    person = tablets.identified(request)
    if person is None:
        return _problem(401, "identified", gettext("badge and PIN again: nobody is identified on this tablet"))
    entry = get_object_or_404(Entry.objects.select_related("wearer", "observer", "assistant", "version"), pk=key)
    if not _may_lead(entry, person):
        raise Http404
    language = request.GET.get("language", SOURCE)
    if for_entry(language, entry.drill) != language:
        log.warning("refused: entry %s in language %.20r, which is not for a real entry", key, language)
        return _problem(
            422, "language", gettext("a language that a speaker of the trade has reviewed: this entry is no drill")
        )
    try:
        text = bundle_of(entry, language)
    except BundleTooLarge as large:
        log.error("bundle of entry %s: %s", key, large)
        return _problem(422, "bundle", gettext("%(large)s. Lead this entry on the plain pages") % {"large": large})
    with writing():
        Carrying.objects.create(tablet=tablets.tablet_of(request), entry=entry, person=person, at=timezone.now())
    return HttpResponse(text, content_type="application/json")


def carried_entry(request: HttpRequest, key: uuid.UUID) -> Entry:
    """An entry that this tablet carries; for all others it does not exist."""
    carries = Carrying.objects.filter(tablet=tablets.tablet_of(request), entry_id=key)
    if not carries.exists():
        note(request, f"entry {key} is not carried by this tablet")
        raise Http404
    return get_object_or_404(Entry.objects.select_related("version", "observer").defer("version__approved"), pk=key)


# ---- events ----


@csrf_exempt
@never_cache
@door(GET="send-events", POST="send-events")
@told_as_json
def events(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """Send: which were taken, which the record had, which cannot be stored and why. Fetch: what came after `after`."""
    entry = carried_entry(request, key)
    if request.method == "POST":
        return JsonResponse(_take(request, entry, events_in(request)))
    after = request.GET.get("after", "0")
    if not after.isascii() or not after.isdigit() or len(after) > 15:
        raise Unreadable("after", "a whole number from 0")
    told = Row.objects.filter(entry=entry, sequence__gt=int(after), salt__isnull=False)  # what was removed is not sent
    rows = list(told.order_by("sequence")[:MOST_AT_ONCE])
    return JsonResponse({"events": [_document(row) for row in rows], "last": rows[-1].sequence if rows else int(after)})


def _document(row: Row) -> dict[str, Any]:
    return {
        "id": str(row.client_id),
        "entry": str(row.entry_id),
        "kind": row.kind,
        "payload": row.payload,
        "actor": row.actor,
        "device": str(row.device),
        "clock": row.device_clock,
        "counter": row.device_counter,
        "plan": row.plan_hash,
    }


def _take(request: HttpRequest, entry: Entry, documents: list[Any]) -> dict[str, Any]:
    """Read and store what can be, event by event where they cannot be stored together."""
    good: dict[str, Event] = {}
    refused: list[dict[str, Any]] = []
    actors, device = may_speak(entry), str(tablets.tablet_of(request).pk)
    signed = any(isinstance(one, dict) and one.get("kind") == "overridden" for one in documents)
    signers = may_sign() if signed else frozenset()  # seldom asked: an upload comes with every press
    for document in documents:
        try:
            event = read_event(
                document, entry=str(entry.pk), actor=entry.observer.sign_in, plan=entry.version.plan_hash, actors=actors
            )
            if event.device != device:
                raise BadEvent([("device", "the tablet that sends it")])
            check_signature(event, {"badge-pin": signers})
            if event != good.setdefault(event.id, event):
                raise BadEvent([("id", "said twice with another content")])
        except BadEvent as bad:
            refused.append(_refusal(document, bad))
    new, known = _store(entry, list(good.values()), refused)
    if refused:
        fields = {one["field"].split(".")[0] for each in refused for one in each["problems"]}
        note(request, f"{len(refused)} events of entry {entry.pk} not stored: {', '.join(sorted(fields & SAID))}")
    return {"taken": new, "known": known, "refused": refused}


def _store(entry: Entry, good: list[Event], refused: list[dict[str, Any]]) -> tuple[list[str], list[str]]:
    try:
        stored = append(entry, good, timezone.now()) if good else None
        return (list(stored.new), list(stored.known)) if stored else ([], [])
    except BadEvent as bad:
        if len(good) == 1:
            refused.append(_refusal({"id": good[0].id}, bad))
            return [], []
    parts = [_store(entry, [one], refused) for one in good]
    return [one for new, _ in parts for one in new], [one for _, known in parts for one in known]


def _refusal(document: Any, bad: BadEvent) -> dict[str, Any]:
    said = document.get("id") if isinstance(document, dict) else None
    return {
        "id": said[:80] if isinstance(said, str) else None,
        "problems": [{"field": field, "what": what} for field, what in bad.problems[:20]],
    }

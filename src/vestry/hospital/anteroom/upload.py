"""Events sent by a tablet as JSON: any order, any number of times. Taken whole or not at all."""

from __future__ import annotations

import json
import uuid
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone

from vestry.entry import BadEvent, Event, read_event
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.anteroom.overrides import check_signature
from vestry.hospital.record.models import Entry
from vestry.hospital.record.reading import entry_led_by
from vestry.hospital.record.store import append

MOST = 500


class Unreadable(ValueError):
    """A body that is not what was asked for: (field, what would be right)."""

    def __init__(self, field: str, what: str) -> None:
        self.problem = {"field": field, "what": what}
        super().__init__(f"{field}: {what}")


@door(POST="lead-entry")
def upload(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    entry = entry_led_by(visitor(request), key)
    try:
        events = _events(request, entry, visitor(request).sign_in, visitor(request).may("override-entry"))
        stored = append(entry, events, timezone.now())
    except Unreadable as bad:
        return JsonResponse({"problems": [bad.problem]}, status=422)
    except BadEvent as bad:
        return JsonResponse({"problems": [{"field": field, "what": what} for field, what in bad.problems]}, status=422)
    return JsonResponse({"taken": list(stored.new), "known": list(stored.known)})


def _events(request: HttpRequest, entry: Entry, actor: str, may_sign: bool) -> list[Event]:
    """The events in the body. Every problem of every event, named by its place."""
    listed = events_in(request)
    found: list[Event] = []
    problems: list[tuple[str, str]] = []
    for number, one in enumerate(listed):
        try:
            event = read_event(one, entry=str(entry.pk), actor=actor, plan=entry.version.plan_hash)
            check_signature(event, {"sign-in": (actor,)} if may_sign else {})
            found.append(event)
        except BadEvent as bad:
            problems += [(f"events.{number}.{field}".rstrip("."), what) for field, what in bad.problems]
    if len({one.id for one in found}) < len(found) and len(set(found_contents(found))) > len({one.id for one in found}):
        problems.append(("events", "two events under one id"))
    if problems:
        raise BadEvent(problems[:50])
    return list({one.id: one for one in found}.values())


def found_contents(events: list[Event]) -> list[str]:
    return [f"{one.id} {one.kind} {json.dumps(dict(one.payload), sort_keys=True)} {one.counter}" for one in events]


def json_body(request: HttpRequest) -> Any:
    """The JSON in the body. Unreadable."""
    if request.content_type != "application/json":
        raise Unreadable("", "JSON, with content type application/json")
    try:
        return json.loads(request.body.decode("utf-8"), parse_constant=_no_such_number)
    except UnicodeDecodeError:
        raise Unreadable("", "text in UTF-8") from None
    except RecursionError:
        raise Unreadable("", "JSON of modest depth") from None
    except ValueError as bad:
        raise Unreadable("", f"JSON: {bad}") from None


def events_in(request: HttpRequest) -> list[Any]:
    """The documents of an upload, unread. Unreadable."""
    document = json_body(request)
    if not isinstance(document, dict) or set(document) != {"events"}:
        raise Unreadable("events", "an object with events and nothing else")
    events = document["events"]
    if not isinstance(events, list) or not 1 <= len(events) <= MOST:
        raise Unreadable("events", f"a list of 1 to {MOST} events")
    return events


def _no_such_number(name: str) -> float:
    raise ValueError(f"{name} is no number in JSON")

"""A record as it is taken away: whole, so that its chains can be verified elsewhere, and as a plain table."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from vestry.entry import in_order
from vestry.entry.chains import said_of
from vestry.entry.removing import REMOVED, removal_of
from vestry.entry.verifying import heads_of, verify
from vestry.hospital.access.models import User
from vestry.hospital.anteroom.models import Tablet
from vestry.hospital.desk.models import Unit
from vestry.hospital.record import chain
from vestry.hospital.record.mapper import to_value
from vestry.hospital.record.models import Entry, Event
from vestry.trade.tables import guarded

MOST_BETWEEN = 5_000
"""Places of other entries between two events of this one that are exported; over more, another part begins."""


def rows_of(entry: Entry) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """The rows of an entry with the bare places between them, and where its parts begin."""
    own = list(Event.objects.filter(entry=entry).order_by("sequence"))
    parts: list[list[Event]] = []
    for row in own:
        if not parts or row.sequence - parts[-1][-1].sequence - 1 > MOST_BETWEEN:
            parts.append([])
        parts[-1].append(row)
    rows: list[dict[str, Any]] = []
    for part in parts:
        first, last = part[0].sequence, part[-1].sequence
        others = Event.objects.none()
        if last - first + 1 > len(part):
            others = Event.objects.filter(sequence__gt=first, sequence__lt=last).exclude(entry=entry)
        found = [chain.row_of(one) for one in part] + [chain.withheld(one) for one in others]
        rows += sorted(found, key=lambda one: int(one["sequence"]))
    begins = [{"before": {"sequence": part[0].sequence - 1, "hash": part[0].previous}} for part in parts]
    return rows, begins


def heads(entry: Entry) -> list[tuple[str, str]]:
    """The anchors of an entry by name: where the server's chain stands after its last event, and each device's link."""
    rows = Event.objects.filter(entry=entry).order_by("sequence")
    ends = [row for row in (rows.first(), rows.last()) if row is not None]
    if not ends:
        return []
    found = [
        (_("Server, before number %(n)s") % {"n": ends[0].sequence}, ends[0].previous),
        (_("Server, number %(n)s") % {"n": ends[-1].sequence}, ends[-1].hash),
    ]
    newest: dict[str, Event] = {}
    for row in rows.exclude(link=None).order_by("device_counter"):
        newest[str(row.device)] = row
    names = {str(one.pk): one.name for one in Tablet.objects.filter(pk__in=list(newest))}
    return found + [
        (
            _("%(device)s, its number %(n)s") % {"device": names.get(key, key[:8]), "n": row.device_counter},
            row.link or "",
        )
        for key, row in sorted(newest.items())
    ]


def as_json(entry: Entry, by: User) -> bytes:
    """The export (docs/reference/record-export.md)."""
    rows, begins = rows_of(entry)
    walked = verify(rows, {"parts": begins})
    unit = Unit.current()
    document = {
        "format-version": 1,
        "title": "Record of an entry",
        "unit": unit.name,
        "invented": unit.invented,
        "entry": {
            "id": str(entry.pk),
            "procedure": entry.version.procedure.title,
            "version": entry.version.number,
            "plan": entry.version.plan_hash,
            "wearer": _person(entry.wearer),
            "observer": _person(entry.observer),
            "assistant": _person(entry.assistant) if entry.assistant else None,
            "room": entry.room or None,
            "drill": entry.drill,
            "created": entry.created_at.isoformat(timespec="seconds"),
        },
        "exported": {"at": timezone.now().isoformat(timespec="seconds"), "by": by.name},
        "heads": heads_of(walked),
        "events": rows,
    }
    return json.dumps(document, indent=1, ensure_ascii=False).encode()


def _person(person: User) -> dict[str, str]:
    return {"sign-in": person.sign_in, "name": person.name}


EVENTS_HEAD = (
    "number", "clock", "server time", "server number", "kind", "step", "says", "actor", "device", "device number", "id",
)  # fmt: skip


def events_csv(entry: Entry) -> str:
    """The events in the order in which they count, one line each; the payload but its step as JSON."""
    rows = {str(row.client_id): row for row in Event.objects.filter(entry=entry)}
    under, lines = _removed_under(rows.values()), []
    for number, event in enumerate(in_order(map(to_value, rows.values())), 1):
        row = rows[event.id]
        says = {name: one for name, one in event.payload.items() if name != "step"}
        if row.salt is None:
            says = {"content-removed": under.get(row.sequence, "")}
        lines.append(
            (
                number,
                event.clock,
                row.server_time,
                row.sequence,
                event.kind,
                event.step or "",
                json.dumps(says, ensure_ascii=False) if says else "",
                event.actor,
                event.device,
                event.counter,
                event.id,
            )
        )
    return as_csv(EVENTS_HEAD, lines)


def _removed_under(rows: Iterable[Event]) -> dict[int, str]:
    """Of places whose content was removed, the day and policy that a removal of this entry names."""
    found: dict[int, str] = {}
    for row in rows:
        removal = removal_of(row.sequence, said_of(to_value(row))) if row.kind == REMOVED else None
        if removal is not None:
            found |= dict.fromkeys(removal.numbers(), f"on {removal.on} under {removal.policy}")
    return found


def as_csv(head: Iterable[str], lines: Iterable[Iterable[Any]]) -> str:
    """CSV as RFC 4180 has it. A cell that a spreadsheet would take for a formula begins with an apostrophe."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([guarded("" if one is None else str(one)) for one in line] for line in lines)
    return out.getvalue()

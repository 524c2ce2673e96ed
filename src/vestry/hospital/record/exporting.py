"""A record as it is taken away: whole, so that its chains can be verified elsewhere, and as a plain table."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable
from typing import Any

from django.utils import timezone

from vestry.entry import in_order
from vestry.entry.verifying import Verified, heads_of, verify
from vestry.hospital.access.models import User
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
    rows: list[dict[str, Any]] = []
    begins: list[dict[str, Any]] = []
    last = None
    for row in own:
        if last is None or row.sequence - last - 1 > MOST_BETWEEN:
            begins.append({"before": {"sequence": row.sequence - 1, "hash": row.previous}})
        elif row.sequence - last > 1:
            between = Event.objects.filter(sequence__gt=last, sequence__lt=row.sequence).order_by("sequence")
            rows += [chain.withheld(one) for one in between]
        rows.append(chain.row_of(row))
        last = row.sequence
    return rows, begins


def verified(entry: Entry) -> tuple[list[dict[str, Any]], Verified]:
    """The rows of an entry, and what walking them finds."""
    rows, begins = rows_of(entry)
    return rows, verify(rows, {"parts": begins})


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
    lines = []
    for number, event in enumerate(in_order(map(to_value, rows.values())), 1):
        row = rows[event.id]
        says = {name: one for name, one in event.payload.items() if name != "step"}
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


def as_csv(head: Iterable[str], lines: Iterable[Iterable[Any]]) -> str:
    """CSV as RFC 4180 has it. A cell that a spreadsheet would take for a formula begins with an apostrophe."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([guarded("" if one is None else str(one)) for one in line] for line in lines)
    return out.getvalue()

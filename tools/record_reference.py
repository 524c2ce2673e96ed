"""Schemas and examples of an exported record, and of what the commands that keep records print."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from tools.entry_reference import document, event_of

from vestry.cli.commands.verify_record import as_json
from vestry.entry.chains import FIRST, commitment_of, hash_of, link_of, said_of
from vestry.entry.verifying import heads_of, verify
from vestry.sequence import Case, Policy, plan_case
from vestry.trade import load_catalogue

ENTRY = "01936f2e-7c1a-7b52-9d0e-0000000000ff"
STRING = {"type": "string"}
HASH = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
HASH_OR_NONE = {"type": ["string", "null"], "pattern": "^[0-9a-f]{64}$"}
COUNT = {"type": "integer", "minimum": 0}
NUMBER = {"type": "integer", "minimum": 1}


def _object(may: tuple[str, ...] = (), **properties: Any) -> dict[str, Any]:
    named = {key.replace("_", "-"): value for key, value in properties.items()}
    needed = [name for name in named if name not in may]
    return {"type": "object", "required": needed, "properties": named, "additionalProperties": False}


PERSON = _object(sign_in=STRING, name=STRING)
SAID = _object(
    id=STRING, entry=STRING, kind=STRING, payload={"type": "object"}, actor=STRING, device=STRING, clock=STRING,
    counter=COUNT, plan=STRING,
)  # fmt: skip
LEFT = _object(id=STRING, entry=STRING, kind=STRING, device=STRING, clock=STRING, counter=COUNT, plan=STRING)
ROW = _object(
    may=("salt", "said", "left"), sequence=NUMBER, previous=HASH, server_time=STRING, commitment=HASH,
    device_previous=HASH_OR_NONE, link=HASH_OR_NONE, hash=HASH,
    salt={"type": "string", "pattern": "^[0-9a-f]{32}$"}, said=SAID, left=LEFT,
) | {"dependentRequired": {"salt": ["said"], "said": ["salt"]}, "not": {"required": ["said", "left"]}}  # fmt: skip
DEVICE_HEAD = _object(entry=STRING, device=STRING, counter=COUNT, events=NUMBER, link=HASH)
PLACE = _object(sequence=COUNT, hash=HASH)
HEADS = _object(
    parts={"type": "array", "items": _object(before=PLACE, last=PLACE)}, devices={"type": "array", "items": DEVICE_HEAD}
)
EXPORT = _object(
    format_version={"const": 1},
    title=STRING,
    unit=STRING,
    invented={"type": "boolean"},
    entry=_object(
        id=STRING, procedure=STRING, version=NUMBER, plan=HASH, wearer=PERSON, observer=PERSON,
        assistant={"anyOf": [PERSON, {"type": "null"}]}, room={"type": ["string", "null"]},
        drill={"type": "boolean"}, created=STRING,
    ),
    exported=_object(at=STRING, by=STRING),
    heads=HEADS,
    events={"type": "array", "items": ROW},
)  # fmt: skip
FINDING = _object(
    what={"enum": ["unreadable", "missing", "order", "twice", "changed", "device", "heads", "anchor"]},
    sequence={"type": ["integer", "null"]},
    says=STRING,
)
VERIFIED = _object(
    holds={"type": "boolean"},
    findings={"type": "array", "items": FINDING},
    events=COUNT,
    withheld=COUNT,
    unchained=COUNT,
    emptied=COUNT,
    removals={
        "type": "array",
        "items": _object(sequence=NUMBER, entry=STRING, on=STRING, policy=STRING, act=STRING, places=NUMBER),
    },
    parts={"type": "array", "items": _object(before=HASH, first=NUMBER, last=NUMBER, head=HASH)},
    devices={"type": "array", "items": DEVICE_HEAD},
    anchored={"type": ["integer", "null"]},
    cannot={"type": "array", "items": STRING},
)
SCHEMAS = {
    "record-export": EXPORT,
    "verified": VERIFIED,
    "backed-up": _object(file=STRING, at=STRING, bytes=COUNT, events=COUNT, head=HASH),
    "restored": _object(data=STRING, at=STRING, events=COUNT, head=HASH, holds={"type": "boolean"}),
}


def schemas() -> Iterator[tuple[str, str]]:
    """Path below docs/reference to the text of a schema."""
    for name, schema in SCHEMAS.items():
        yield f"schemas/{name}.json", _json({"title": name, **schema})


def examples() -> Iterator[tuple[str, str]]:
    """An invented record of five events, one of a browser and one withheld, and what verifying it finds."""
    made = record()
    yield "examples/record-export.json", _json(made)
    yield "examples/verified.json", _json(as_json(verify(made["events"], made["heads"], [made["events"][1]["hash"]])))


def record() -> dict[str, Any]:
    """The example."""
    plan = plan_case(
        Case(code="harrow-point-demo", hazard="suspected-hcid", presentation="wet"), Policy(), load_catalogue()
    )
    rows: list[dict[str, Any]] = []
    previous, link = FIRST, FIRST
    for number, kind in enumerate(("opened", "read", "done-seen", "read", "closed"), 1):
        said = said_of(event_of(document(number, kind, plan), plan)) | {"entry": ENTRY}
        salt, browser = f"{number:032x}", number == 1
        commitment = commitment_of(salt, said)
        before = None if browser else link
        after = None if before is None else link_of(before, commitment)
        time = f"2026-11-25T02:{number:02d}:00.400+00:00"
        row: dict[str, Any] = {"sequence": number, "previous": previous, "server-time": time, "commitment": commitment}
        previous = hash_of(number, previous, time, commitment, after)
        row |= {"device-previous": before, "link": after, "hash": previous}
        if number != 4:
            row |= {"salt": salt, "said": said}
        rows.append(row)
        link = after or link
    return {
        "format-version": 1,
        "title": "Record of an entry",
        "unit": "Harrow Point General",
        "invented": True,
        "entry": {
            "id": ENTRY,
            "procedure": "Suspected case, wet patient",
            "version": 1,
            "plan": plan.hash,
            "wearer": {"sign-in": "noor", "name": "Noor Hadley"},
            "observer": {"sign-in": "tomas", "name": "Tomas Arden"},
            "assistant": None,
            "room": "room-1",
            "drill": True,
            "created": "2026-11-25T02:01:00+00:00",
        },
        "exported": {"at": "2026-11-26T09:00:00+00:00", "by": "Anselm Reed"},
        "heads": heads_of(verify(rows)),
        "events": rows,
    }


def _json(value: Any) -> str:
    return json.dumps(value, indent=1, ensure_ascii=False) + "\n"

"""Schemas and examples of what a tablet sends and holds: events, and the state that they fold into."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from pydantic import TypeAdapter

from vestry.entry import KINDS, Course, EntryState, Event, Led, fold
from vestry.entry.bundle import Bundle
from vestry.entry.events import BY_THE_SERVER, LARGEST_COUNTER, LONGEST_TEXT
from vestry.sequence import Case, Plan, Policy, plan_case
from vestry.trade import load_catalogue

DEVICE = "0d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d90"
TEXT = {"type": "string", "minLength": 1, "maxLength": LONGEST_TEXT}
SORTS: dict[str, Any] = {
    "text": TEXT,
    "texts": {"type": "array", "items": TEXT, "minItems": 1, "maxItems": 20},
    "flag": {"type": "boolean"},
}
SAID: dict[str, Any] = {
    "wearer": "noor", "observer": "tomas", "assistant": "petra", "drill": True, "pace": "one-press", "room": "room-1",
    "limit-minutes": "43", "limit-by": "core", "limit-why": "shortened", "may": True,
    "events": ["not-sure"], "item": "outer-gloves-long", "surface": "gown-impermeable.front", "seconds": "22",
    "short": True, "site": "wrist", "sort": "skin", "to": "ilse", "by": "tomas", "what": "torn outer glove",
    "decided-by": "Sander Brook", "signed": "badge-pin", "who": "assistant", "untimed": True,
    "recovery": "answer-0123456789abcdef", "reason": "put right", "text": "boot torn",
    "note": "as seen", "direction": "out", "wiped": True, "label": "17", "receiver": "laboratory", "identified": True,
    "worn": ["gown-impermeable", "inner-gloves-long"], "role": "assistant", "how": "observed",
    "done": ["floor", "seat"],
    "check": "area", "says": "in-order", "list": "area-2", "items": ["seat", "bins"], "not-in-order": ["mirror"],
    "rules": ["no-fit-test"], "alternative": "wait for Ilse Marrow, fitted",
}  # fmt: skip
"""What the example says in each field; invented."""


SENT = {kind: fields for kind, fields in KINDS.items() if kind not in BY_THE_SERVER}
"""What a device says; the rest is the server's own."""


def schemas() -> Iterator[tuple[str, str]]:
    """Path below docs/reference to the text of a schema."""
    yield "schemas/event.json", _json(event_schema())
    yield "schemas/bundle.json", _json(bundle_schema())
    state = TypeAdapter(EntryState).json_schema()
    yield "schemas/entry-state.json", _json(_kebab({"title": "State of an entry", **_whole(state)}))


def bundle_schema() -> dict[str, Any]:
    """What a tablet carries, with the digest that `as_json` adds."""
    schema = Bundle.model_json_schema(by_alias=True)
    schema["properties"]["digest"] = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
    schema["required"] = [*schema["required"], "digest"]
    return schema


def event_schema() -> dict[str, Any]:
    """One event as it is sent. Payloads of kinds that are known are held to their fields."""
    names = {
        "format-version": {"const": 1},
        "id": {"type": "string", "pattern": "^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$"},
        "entry": {"type": "string"},
        "kind": {"type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$", "not": {"enum": sorted(BY_THE_SERVER)}},
        "payload": {"type": "object"},
        "actor": {"type": "string"},
        "device": {"type": "string", "pattern": "^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$"},
        "clock": {"type": "string", "maxLength": 40},
        "counter": {"type": "integer", "minimum": 0, "maximum": LARGEST_COUNTER},
        "plan": {"type": "string", "pattern": "^[0-9a-f]{64}$"},
        "salt": {"type": "string", "pattern": "^[0-9a-f]{32}$"},
        "previous": {"type": "string", "pattern": "^[0-9a-f]{64}$"},
    }
    return {
        "title": "Event",
        "type": "object",
        "required": ["id", "kind", "device", "clock", "counter"],
        "additionalProperties": False,
        "dependentRequired": {"salt": ["previous"], "previous": ["salt"]},
        "properties": names,
        "allOf": [
            {
                "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
                "then": {"properties": {"payload": _payload(kind)}}
                | ({"required": ["payload"]} if any(field.needed for field in fields) else {}),
            }
            for kind, fields in SENT.items()
        ],
    }


def _payload(kind: str) -> dict[str, Any]:
    fields = KINDS[kind]
    return {
        "type": "object",
        "additionalProperties": False,
        "required": [field.name for field in fields if field.needed],
        "properties": {field.name: SORTS[field.sort] for field in fields},
    }


def examples() -> Iterator[tuple[str, str]]:
    """One event of each kind, and the state that these make of an entry."""
    plan = plan_case(Case(code="harrow-point-demo", hazard="suspected-hcid", presentation="wet"), Policy(), _facts())
    documents = [document(number, kind, plan) for number, kind in enumerate(SENT, 1)]
    yield "examples/events.json", _json({"events": documents})
    led = Led(Course("plan", plan.steps))
    state = fold(led, [event_of(one, plan) for one in documents])
    yield "examples/entry-state.json", _json(state.as_json())


def document(number: int, kind: str, plan: Plan) -> dict[str, Any]:
    """An invented event of this kind, as a device sends it."""
    said = SAID | {"step": plan.steps[0].id, "event": _id(6)}
    return {
        "format-version": 1,
        "id": _id(number),
        "kind": kind,
        "payload": {field.name: said[field.name] for field in KINDS[kind]},
        "actor": "tomas",
        "device": DEVICE,
        "clock": f"2026-11-25T02:{number:02d}:00.000Z",
        "counter": number,
        "plan": plan.hash,
    }


def event_of(said: dict[str, Any], plan: Plan) -> Event:
    """The event of an example."""
    clock = said["clock"].replace("Z", "+00:00")
    return Event(
        said["id"], "e", said["kind"], said["payload"], said["actor"], DEVICE, clock, said["counter"], plan.hash
    )


def _id(number: int) -> str:
    return f"01936f2e-7c1a-7b52-9d0e-{number:012x}"


def _facts() -> Any:
    return load_catalogue()


def _whole(schema: dict[str, Any]) -> dict[str, Any]:
    """Every field of a state is always there, and there are no others."""
    for part in (schema, *schema.get("$defs", {}).values()):
        if part.get("type") == "object":
            part["required"], part["additionalProperties"] = list(part["properties"]), False
            for field in part["properties"].values():
                field.pop("default", None)
    return schema


def _kebab(value: Any, names: bool = False) -> Any:
    """The schema with the names of fields as they are written."""
    if isinstance(value, dict):
        return {
            (key.replace("_", "-") if names else key): _kebab(one, key == "properties") for key, one in value.items()
        } | ({"required": [one.replace("_", "-") for one in value["required"]]} if "required" in value else {})
    return [_kebab(one) for one in value] if isinstance(value, list) else value


def _json(value: Any) -> str:
    return json.dumps(value, indent=1, ensure_ascii=False) + "\n"

"""The events of an entry: their kinds, what each carries, and reading one from JSON.

An unknown kind is kept as it came: a newer tablet may say what this server does not know yet. A known kind must carry
what it needs, or nothing of the upload is taken.
"""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

_UUID7 = re.compile(r"^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$")
_UUID = re.compile(r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$")
_NAME = re.compile(r"^[a-z0-9]+(-[a-z0-9]+)*$")
_HASH = re.compile(r"^[0-9a-f]{64}$")
_SALT = re.compile(r"^[0-9a-f]{32}$")
NOT_SURE = "not-sure"
SOMETHING_ELSE = "something-else"
"""What a deviation may say in place of events of the contact model."""
LONGEST_TEXT = 2000
LARGEST_COUNTER = 2**53 - 1


@dataclass(frozen=True)
class Field:
    """One field of a payload: `text`, `texts` (a list of them) or `flag`; needed or not."""

    name: str
    sort: str = "text"
    needed: bool = True


_STEP = (Field("step"),)
_NOTE = (Field("note", needed=False),)
_UNTIMED = Field("untimed", "flag", False)
_LISTED = (Field("list", needed=False), Field("items", "texts", False), Field("not-in-order", "texts", False))

KINDS: Mapping[str, tuple[Field, ...]] = {
    "opened": (
        Field("wearer"),
        Field("observer"),
        Field("assistant", needed=False),
        Field("drill", "flag", False),
        Field("pace", needed=False),
        Field("room", needed=False),
        Field("limit-minutes", needed=False),
        Field("limit-by", needed=False),
        Field("limit-why", needed=False),
    ),
    "item-checked": (Field("check"), Field("item"), Field("says"), *_NOTE),
    "area-confirmed": (*_NOTE, *_LISTED),
    "person-checked": (Field("may", "flag"), *_LISTED),
    "signal-checked": (*_NOTE, *_LISTED),
    "overridden": (
        Field("rules", "texts"),
        Field("decided-by"),
        Field("reason"),
        Field("alternative"),
        Field("signed", needed=False),
    ),
    "stop-said": _STEP,
    "read": _STEP,
    "acknowledged": _STEP,
    "done-seen": (*_STEP, _UNTIMED),
    "done-not-seen": (*_STEP, _UNTIMED),
    "prompted": (*_STEP, *_NOTE),
    "stopped": _STEP,
    "resumed": (*_STEP, Field("decided-by", needed=False), Field("reason", needed=False)),
    "deviation": (*_STEP, Field("events", "texts"), *_NOTE, _UNTIMED),
    "tear": (*_STEP, Field("item", needed=False), Field("surface", needed=False), *_NOTE),
    "soiling": (*_STEP, Field("surface", needed=False), *_NOTE),
    "zone-crossed": (*_STEP, *_NOTE),
    "unwell": (Field("step", needed=False), Field("what", needed=False), *_NOTE),
    "recovery-taken": (*_STEP, Field("recovery")),
    "glove-changed": (*_STEP, *_NOTE),
    "hygiene-timed": (*_STEP, Field("seconds", needed=False), Field("short", "flag", False)),
    "entered": (_UNTIMED,),
    "item-crossed": (
        Field("item"),
        Field("direction", needed=False),
        Field("wiped", "flag", False),
        Field("label", needed=False),
        Field("receiver", needed=False),
        *_NOTE,
    ),
    "relief-called": _NOTE,
    "coming-out": _NOTE,
    "left": (_UNTIMED,),
    "lane-cleared": (Field("done", "texts", False), *_NOTE),
    "undressing-begun": (Field("role"), Field("how", needed=False)),
    "undressing-left-out": (Field("role"), Field("reason")),
    "breach": (Field("site"), Field("sort", needed=False), Field("who", needed=False)),
    "exposure": (Field("site"), Field("sort", needed=False), Field("who", needed=False)),
    "inspected": _NOTE,
    "observer-handed-over": (
        Field("to"),
        Field("step", needed=False),
        Field("worn", "texts", False),
        Field("identified", "flag", False),
        *_NOTE,
    ),
    "device-taken-over": _NOTE,
    "pressed-wrongly": (Field("event", needed=False), *_NOTE),
    "correction": (Field("event", needed=False), Field("reason"), Field("text")),
    "signed": (),
    "abandoned": (Field("reason"),),
    "closed": (_UNTIMED,),
    "late-transcribed": (Field("by", needed=False), *_NOTE),
    "drill-injected": (Field("what"), Field("step", needed=False), Field("surface", needed=False)),
    "content-removed": (Field("on"), Field("policy"), Field("act"), Field("places", "texts"), Field("left")),
}
"""Every kind that is known, and what it carries. docs/reference/events.md says what each means."""
BY_THE_SERVER = frozenset({"content-removed"})
"""Kinds that the server alone says: from a device they are not taken."""


@dataclass(frozen=True)
class Event:
    """Something that happened, as the device told it.

    id        chosen by the device (UUIDv7): the same event sent twice is one event
    clock     what the device's clock said, ISO 8601 in UTC
    counter   counts up on the device; it orders the device's own events, whatever its clock does
    salt, previous   of a device that keeps a chain of its own (chains.py): by chance, and its link before in this entry
    """

    id: str
    entry: str
    kind: str
    payload: Mapping[str, Any]
    actor: str
    device: str
    clock: str
    counter: int
    plan: str
    salt: str = ""
    previous: str = ""

    @property
    def step(self) -> str | None:
        """The step that it speaks of."""
        return self.text("step") or None

    def text(self, name: str) -> str:
        """What a field of the payload says; empty where it says nothing, or says it in another way than in words."""
        value = self.payload.get(name)
        return value if isinstance(value, str) else ""

    def texts(self, name: str) -> tuple[str, ...]:
        """The texts that a field lists, once each, in order of their letters."""
        value = self.payload.get(name)
        return tuple(sorted({one for one in value if isinstance(one, str)})) if isinstance(value, list | tuple) else ()

    def flag(self, name: str) -> bool:
        """Whether a field says true."""
        return self.payload.get(name) is True


class BadEvent(ValueError):
    """An event that cannot be taken: every problem, as (field, what would be right)."""

    def __init__(self, problems: list[tuple[str, str]]) -> None:
        self.problems = tuple(problems)
        super().__init__("; ".join(f"{field}: {what}" for field, what in problems))


def read_event(document: Any, *, entry: str, actor: str, plan: str, actors: Collection[str] = ()) -> Event:
    """The event in a JSON document, for this entry. BadEvent with every problem.

    actor    who acts where the document does not say
    actors   who else the document may name: those whom an enrolled tablet may have identified; nobody by default
    """
    if not isinstance(document, Mapping):
        raise BadEvent([("", "an event is an object")])
    problems: list[tuple[str, str]] = []

    def text(name: str, shape: re.Pattern[str], right: str) -> str:
        value = document.get(name)
        if isinstance(value, str) and shape.match(value):
            return value
        problems.append((name, right))
        return ""

    known = {"format-version", "id", "entry", "kind", "payload", "actor", "device", "clock", "counter", "plan"}
    known |= {"salt", "previous"}
    problems += [(str(key)[:80], "no such field") for key in document if key not in known]
    if document.get("format-version", 1) != 1:
        problems.append(("format-version", "1"))
    identity = text("id", _UUID7, "a UUID of version 7, in lower case")
    if document.get("entry", entry) != entry:
        problems.append(("entry", "the entry that it is sent to"))
    if document.get("plan", plan) != plan:
        problems.append(("plan", "the hash of the plan that this entry follows"))
    who = document.get("actor", actor)
    if not isinstance(who, str) or who not in {actor, *actors}:
        problems.append(("actor", "someone who may speak for this entry on this device"))
        who = actor
    kind = text("kind", _NAME, "a kind, in lower case with hyphens")
    if kind in BY_THE_SERVER:
        problems.append(("kind", "a kind that a device says: this one is the server's own"))
    device = text("device", _UUID, "the device's own id, a UUID in lower case")
    clock = _clock(document.get("clock"))
    if not clock:
        problems.append(("clock", "the device's clock, ISO 8601 with a time zone"))
    counter = document.get("counter")
    if isinstance(counter, bool) or not isinstance(counter, int) or not 0 <= counter <= LARGEST_COUNTER:
        problems.append(("counter", "a whole number from 0"))
        counter = 0
    salt = previous = ""
    if "salt" in document or "previous" in document:
        salt = text("salt", _SALT, "32 hexadecimal digits, with the link before it in previous")
        previous = text("previous", _HASH, "the device's link before in this entry, with a salt")
    payload = document.get("payload", {})
    problems += check_payload(kind, payload)
    if problems:
        raise BadEvent(problems)
    return Event(identity, entry, kind, payload, who, device, clock, counter, plan, salt, previous)


def check_payload(kind: str, payload: Any) -> list[tuple[str, str]]:
    """What is wrong with a payload. One of an unknown kind need only be an object of modest depth."""
    if not isinstance(payload, Mapping):
        return [("payload", "an object")]
    if kind not in KINDS:
        return (
            []
            if _shallow(payload)
            else [("payload", "at most six levels deep, with numbers and texts that canonical JSON can say")]
        )
    fields = {field.name: field for field in KINDS[kind]}
    problems = [
        (f"payload.{str(name)[:80]}", f"{kind} carries {', '.join(fields) or 'nothing'}")
        for name in payload
        if name not in fields
    ]
    for field in fields.values():
        if field.name not in payload:
            if field.needed:
                problems.append((f"payload.{field.name}", f"needed for {kind}"))
        elif not _fits(field.sort, payload[field.name]):
            problems.append((f"payload.{field.name}", _RIGHT[field.sort]))
    return problems


_RIGHT = {
    "text": f"a text of 1 to {LONGEST_TEXT} characters",
    "texts": "a list of texts, at least one",
    "flag": "true or false",
}


def _fits(sort: str, value: Any) -> bool:
    if sort == "flag":
        return isinstance(value, bool)
    if sort == "texts":
        return isinstance(value, list) and 0 < len(value) <= 20 and all(_fits("text", one) for one in value)
    return isinstance(value, str) and len(value.strip()) > 0 and len(value) <= LONGEST_TEXT and _printable(value)


def _printable(value: str) -> bool:
    try:
        value.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return "\x00" not in value


def _shallow(value: Any, depth: int = 6) -> bool:
    """Whether a payload that is only kept can be kept: not deep, and nothing in it that canonical JSON cannot say."""
    if isinstance(value, Mapping):
        return depth > 0 and all(_printable(str(key)) and _shallow(one, depth - 1) for key, one in value.items())
    if isinstance(value, list):
        return depth > 0 and all(_shallow(one, depth - 1) for one in value)
    if isinstance(value, str):
        return _printable(value)
    if isinstance(value, float):
        return math.isfinite(value)
    return not isinstance(value, int) or abs(value) <= LARGEST_COUNTER


def _clock(value: Any) -> str:
    if not isinstance(value, str) or len(value) > 40:
        return ""
    try:
        moment = datetime.fromisoformat(value)
        if moment.tzinfo is None:
            return ""
        return moment.astimezone(UTC).isoformat(timespec="milliseconds")
    except (ValueError, OverflowError):
        return ""

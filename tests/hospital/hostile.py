"""What nobody in good faith sends: values, bodies and events, from what a page's form and the events' schema name."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote_from_bytes

from vestry.entry.events import KINDS

SCHEMA = json.loads((Path(__file__).parents[2] / "docs/reference/schemas/event.json").read_text("utf-8"))
MARK = "zq7hostile"
"""Stands in many values, so that it can be looked for where it must not be: in the log."""

VALUES: tuple[bytes, ...] = (
    b"", b" ", b"\x00", b"a\x00b", b"\xff\xfe", b"\xed\xa0\x80", b"%ED%A0%80", b"-1", b"0", b"1e999", b"NaN", b"-0",
    b"9" * 400, b"99999999999999999999", b"9223372036854775808", "²".encode(), "١٢".encode(), b"0001-01-01",
    b"9999-12-31", b"2026-02-30", b"2026-13-01T25:61", b"0000-00-00", b"24:00", b"true", b"null", b"[]", b"{}", b"{",
    b'"',
    f"<script>{MARK}</script>".encode(), f"'; DROP TABLE record_event; -- {MARK}".encode(),
    f"{{{{ {MARK} }}}}".encode(), b"%s%n%x{0}{a.b}", b"../../../../etc/passwd", b"..\\..\\x", "\u202egnirts".encode(),
    "e\u0301\u0301\u0301".encode(),
    "\U0001f9a0".encode() * 200, b"a" * 5000, (MARK + "\r\nSet-Cookie: x=1").encode(), b"a,b;c\td\n", b"http://x.invalid/",
    b"00000000-0000-0000-0000-000000000000", b"0d5c1a52-5d43-7f0a-9b1a-2f6e5b7c8d90", b"ebola", b"gown", b"noor", b"on",
)  # fmt: skip

ANY: tuple[Any, ...] = (
    None, True, False, 0, -1, 1.5, -0.0, 1e308, 10**30, "", " ", "\x00", "a\x00b", "\ud800", "x\udfff", "𝕏" * 3000,
    "a" * 70_000, MARK, [], [[]], {}, {"": ""}, {"\x00": 1}, {"a": {"b": {"c": {"d": {"e": {"f": {"g": 1}}}}}}},
    ["a"] * 1000, "2026-02-30T00:00:00+00:00", "0d5c1a52-5d43-7f0a-9b1a-2f6e5b7c8d90",
)  # fmt: skip

_NAMED = re.compile(rb'<(?:input|select|textarea|button)\b[^>]*?\bname="([^"]+)"')
_GIVEN = re.compile(rb'<input\b[^>]*?\bname="([^"]+)"[^>]*?\bvalue="([^"]*)"')


def fields_of(page: bytes) -> dict[bytes, bytes]:
    """The fields that a page's forms name, with what they hold as the page comes."""
    return dict.fromkeys(_NAMED.findall(page), b"") | dict(_GIVEN.findall(page))


def forms(fields: dict[bytes, bytes], chance: random.Random, count: int) -> Iterator[bytes]:
    """So many bodies of a form: one to all of its fields hold what they should not; some missing, twice, or unknown."""
    names = sorted(fields) or [b"name", b"key"]
    for _ in range(count):
        sent = [(name, fields.get(name, b"")) for name in names]
        for _ in range(chance.choice((1, 1, 2, len(names)))):
            sent[chance.randrange(len(sent))] = (chance.choice(names), chance.choice(VALUES))
        if chance.random() < 0.2:
            sent.append((chance.choice((b"__proto__", b"a[]", b"\x00", MARK.encode())), chance.choice(VALUES)))
        if chance.random() < 0.2:
            sent.pop(chance.randrange(len(sent)))
        yield b"&".join(
            quote_from_bytes(name).encode() + b"=" + quote_from_bytes(value).encode() for name, value in sent
        )


def bodies() -> Iterator[tuple[str, bytes]]:
    """Content types and bodies that are no form and no document of ours."""
    yield "application/json", b'{"events": ' + b"[" * 50_000
    yield "application/json", b'{"a": ' + b'{"a": ' * 20_000
    yield "application/json", json.dumps([MARK] * 3).encode()
    yield "application/json", b'{"events": [1e999, NaN, Infinity]}'
    yield "application/json", b'{"events": "\\ud800"}'
    yield "application/json", b"\xff\xfe\x00"
    yield "application/x-www-form-urlencoded", b"&".join(b"f%d=1" % n for n in range(600))
    yield "application/x-www-form-urlencoded", b"a=" + b"x" * 600_000
    yield "application/x-www-form-urlencoded; charset=utf-16", b"a=b"
    yield "application/x-www-form-urlencoded; charset=nonsense", b"a=b"
    yield "multipart/form-data", b"no boundary"
    yield "multipart/form-data; boundary=x", b'--x\r\nContent-Disposition: form-data; name="a"\r\n\r\ncut'
    yield (
        "multipart/form-data; boundary=x",
        (b'--x\r\nContent-Disposition: form-data; name="file"; filename="../../a\x00.csv"\r\n\r\nx\r\n--x--\r\n'),
    )
    yield "text/xml", b"<?xml version='1.0'?><!DOCTYPE a [<!ENTITY b SYSTEM 'file:///etc/passwd'>]><a>&b;</a>"
    yield MARK, b"\x00" * 100


def events(good: dict[str, Any], chance: random.Random, count: int) -> Iterator[Any]:
    """So many documents near a good event: a property of the schema, or a field of its payload, is not what it says."""
    properties = sorted(SCHEMA["properties"])
    for _ in range(count):
        kind = chance.choice(sorted(KINDS))
        payload = {field.name: chance.choice((MARK, *ANY)) for field in KINDS[kind] if chance.random() < 0.8}
        event: Any = good | {"kind": kind, "payload": payload}
        for _ in range(chance.choice((0, 1, 1, 2))):
            name = chance.choice((*properties, "payload", MARK))
            if chance.random() < 0.2:
                event.pop(name, None)
            else:
                event[name] = chance.choice(ANY)
        yield chance.choice(ANY) if chance.random() < 0.05 else event

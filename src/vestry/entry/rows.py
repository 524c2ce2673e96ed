"""The shape of a row of a record, as it is exported and verified."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from vestry.entry.removing import LEFT

_HASH = re.compile(r"[0-9a-f]{64}")
_SALT = re.compile(r"[0-9a-f]{32}")
_KEPT = frozenset({"sequence", "previous", "server-time", "commitment", "device-previous", "link", "hash"})
_SAID = frozenset({"salt", "said"})
_LEFT = frozenset({"left"})
_FIELDS = frozenset({"id", "entry", "kind", "payload", "actor", "device", "clock", "counter", "plan"})


def shape(row: Any) -> str:
    """What is wrong with the shape of a row; empty where nothing is."""
    if not isinstance(row, Mapping):
        return "a row is an object"
    names = frozenset(row)
    if names not in (_KEPT, _KEPT | _SAID, _KEPT | _LEFT):
        return f"a row has {', '.join(sorted(_KEPT))}, and {', '.join(sorted(_SAID))}, or left, or none of these"
    if not _whole(row["sequence"]) or row["sequence"] < 1:
        return "sequence is a whole number from 1"
    if not isinstance(row["server-time"], str):
        return "server-time is a text"
    may_lack = [row[name] for name in ("link", "device-previous") if row[name] is not None]
    hashes = [row["previous"], row["commitment"], row["hash"], *may_lack]
    if not all(isinstance(one, str) and _HASH.fullmatch(one) for one in hashes):
        return "hashes are 64 hexadecimal digits"
    if "left" in row:
        return _shape_of_left(row["left"])
    if "said" not in row:
        return ""
    said = row["said"]
    if not isinstance(row["salt"], str) or not _SALT.fullmatch(row["salt"]):
        return "a salt is 32 hexadecimal digits"
    if not isinstance(said, Mapping) or frozenset(said) != _FIELDS:
        return f"what was said has {', '.join(sorted(_FIELDS))}"
    texts = [said[name] for name in _FIELDS - {"payload", "counter"}]
    if not all(isinstance(one, str) for one in texts) or not isinstance(said["payload"], Mapping):
        return "what was said is in texts, with an object as payload"
    return "" if _whole(said["counter"]) else "counter is a whole number"


def _shape_of_left(left: Any) -> str:
    if not isinstance(left, Mapping) or frozenset(left) != frozenset(LEFT):
        return f"what is left has {', '.join(LEFT)}"
    if not all(isinstance(left[name], str) for name in LEFT if name != "counter"):
        return "what is left is in texts"
    return "" if _whole(left["counter"]) else "counter is a whole number"


def _whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)

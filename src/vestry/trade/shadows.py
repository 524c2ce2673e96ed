"""What an overlay does to the facts that Vestry ships: records laid over, added or retired; what differs and why."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import Field

from vestry.trade.values import Fact, Sourced, Value

OWN = ("hospital", "invented")
"""What a hospital's own record says of how sure it is, wherever it differs from ours."""
Change = Literal["laid-over", "added", "retired"]


class Because(Value):
    """Why a hospital holds another fact than ours: the reason, who answers for it, and since when."""

    reason: str = Field(min_length=1, max_length=2000)
    name: str = Field(min_length=1, max_length=120)
    date: datetime.date


class Retire(Value):
    """A record of ours that is out of force here. `id`: what it is called, for a technique ACT:KINDS:ID."""

    kind: str
    id: str
    because: Because


@dataclass(frozen=True)
class Differing:
    """One field that differs: its path in the record, what we ship, what the hospital says. None: not there."""

    field: str
    ours: Any
    theirs: Any


@dataclass(frozen=True)
class Shadow:
    """One record of ours that is not in force as shipped, or one that is there besides ours.

    kind, id     the table and what the record is called in it
    change       laid-over: theirs stands in place of ours; added: we ship none; retired: ours is out of force
    differs      what differs, field by field; empty where both say the same, or nothing stands in place of ours
    file, line   where the overlay says so
    """

    kind: str
    id: str
    change: Change
    differs: tuple[Differing, ...]
    because: Because
    file: str
    line: int

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return {
            "kind": self.kind,
            "id": self.id,
            "change": self.change,
            "differs": [{"field": one.field, "ours": one.ours, "theirs": one.theirs} for one in self.differs],
            "reason": self.because.reason,
            "name": self.because.name,
            "date": self.because.date.isoformat(),
            "file": self.file,
            "line": self.line,
        }


def differing(ours: Value, theirs: Value) -> tuple[Differing, ...]:
    """The fields in which two records of one kind differ, in the order of the record's fields."""
    return tuple(_differing("", _plain(ours), _plain(theirs)))


def claimed(record: Value, ours: Value | None) -> Iterator[tuple[tuple[str, ...], str]]:
    """The certainties of a record under which something differs from ours, each with its path."""
    if isinstance(record, Sourced) and record != ours:
        yield ("certainty",), record.certainty
    for field in type(record).model_fields:
        fact = getattr(record, field)
        if isinstance(fact, Fact) and not _as_ours(fact, getattr(ours, field) if ours is not None else None):
            yield (field.replace("_", "-"), "certainty"), fact.certainty


def _as_ours(fact: Fact[Any], ours: Fact[Any] | None) -> bool:
    """Whether a fact says what ours says, on the same authority. A year or a note may be left out."""
    said = ("value", "default", "range", "source", "certainty")
    return ours is not None and all(getattr(fact, name) == getattr(ours, name) for name in said)


def shown(value: Any) -> str:
    """A value as it is shown beside another: short, and `not given` for nothing."""
    if value is None or value == [] or value == {}:
        return "not given"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list) and all(isinstance(one, str) for one in value):
        return ", ".join(value)
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 300 else f"{text[:297]}..."


def _plain(record: Value) -> dict[str, Any]:
    return dict(record.model_dump(mode="json", by_alias=True))


def _differing(path: str, ours: Any, theirs: Any) -> Iterator[Differing]:
    if ours == theirs:
        return
    named = _by_id(ours), _by_id(theirs)
    if isinstance(ours, dict) and isinstance(theirs, dict):
        for key in [*ours, *(key for key in theirs if key not in ours)]:
            yield from _differing(f"{path}.{key}".lstrip("."), ours.get(key), theirs.get(key))
    elif (
        named[0] is not None
        and named[1] is not None
        and list(named[0]) != list(named[1])
        and set(named[0]) == set(named[1])
    ):
        yield Differing(f"{path} (order)", list(named[0]), list(named[1]))
        yield from _differing(path, dict(sorted(named[0].items())), dict(sorted(named[1].items())))
    elif named[0] is not None and named[1] is not None:
        yield from _differing(path, named[0], named[1])
    else:
        yield Differing(path, ours, theirs)


def _by_id(value: Any) -> dict[str, Any] | None:
    """A list of things with ids, by id; None for anything else."""
    if not isinstance(value, list) or not value or not all(isinstance(one, dict) and "id" in one for one in value):
        return None
    found = {str(one["id"]): one for one in value}
    return found if len(found) == len(value) else None

"""The plan: instructions for a case and nothing else. No words, no conditions; its name is its hash.

The name is the SHA-256 of the canonical JSON (RFC 8785), so the same plan has the same name on every machine and in
every
language.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Any, Literal

import rfc8785

from vestry.sequence.case import Case
from vestry.sequence.policy import Policy
from vestry.trade.values import Act, Id, Role, Value, Who, Zone

Phase = Literal["before", "donning", "entry", "doffing", "after"]
StopPoint = Literal["before-the-door", "before-first-removal", "before-face-protection", "before-leaving"]


class Reason(Value):
    """Why an item is worn: a requirement (site and route), a policy choice, or a rule; with its source."""

    why: Id
    source: Id


class EnsembleItem(Value):
    """An item of the ensemble with the reasons for it."""

    item: Id
    reasons: tuple[Reason, ...]


class PlanStep(Value):
    """One step as it is read aloud.

    id          its content, not its place; unique in the plan
    topic       for `confirm` and `inspect`: what is confirmed or looked at
    group       steps with the same group are unbroken: no press between
    stop_point  a spoken stop before this step
    waste       the stream into which what comes off goes
    """

    id: str
    phase: Phase
    act: Act
    items: tuple[Id, ...] = ()
    technique: Id | None = None
    who: Who = "wearer"
    agent: Id | None = None
    to: Zone | None = None
    topic: Id | None = None
    group: Id | None = None
    stop_point: StopPoint | None = None
    waste: Id | None = None


def numbered(steps: Iterable[PlanStep]) -> tuple[PlanStep, ...]:
    """Steps with unique ids: equal contents get ~2, ~3 behind their id, in order."""
    seen: Counter[str] = Counter()
    found = []
    for step in steps:
        seen[step.id] += 1
        found.append(step if seen[step.id] == 1 else step.model_copy(update={"id": f"{step.id}~{seen[step.id]}"}))
    return tuple(found)


class Member(Value):
    """Observer or assistant: what they wear themselves, and their own dressing and undressing.

    record    the trade record that says what they wear (Catalogue.colleagues)
    missing   places of the record for which nothing is at hand, as the items that would fill them
    steps     phases donning and doffing; ids start with the role
    """

    role: Role
    record: Id
    ensemble: tuple[EnsembleItem, ...]
    missing: tuple[tuple[Id, ...], ...] = ()
    steps: tuple[PlanStep, ...]

    @property
    def worn(self) -> tuple[str, ...]:
        """The ensemble in donning order."""
        return tuple(one.item for one in self.ensemble)


class WayStart(Value):
    """Where a way out starts that does not start fully dressed and fresh from the room.

    contaminated   surfaces that may be contaminated then
    alone          nothing else is: who is half undressed. Else they come on top of what the room puts on what is worn
    """

    zone: Zone
    contaminated: tuple[str, ...] = ()
    alone: bool = False


_ADDED_LATER: tuple[tuple[str, str, Any], ...] = (
    ("", "team", []),
    ("", "turnaround", []),
    ("case", "wearers", 1),
    ("policy", "hands-on", "assistant"),
    ("policy", "switched-on", []),
    ("policy", "add-inside", []),
    ("", "start", None),
)
"""Part of the plan, key, and the value that says nothing."""


class Plan(Value):
    """Instructions for a case: ensemble, donning, doffing. `origin` says where the doffing order comes from.

    team         those beside the wearer, in the order in which they undress once the last wearer is out
    turnaround   what is done to the lane between two exits (Catalogue.turnarounds), in order
    start        None: fully dressed, by what the room of the case puts on it, in the zone of the policy
    """

    format_version: Literal[1] = 1
    case: Case
    policy: Policy
    ensemble: tuple[EnsembleItem, ...]
    steps: tuple[PlanStep, ...]
    origin: Literal["own-order", "published-rules", "searched", "given"]
    fresh_pairs: int
    team: tuple[Member, ...] = ()
    turnaround: tuple[Id, ...] = ()
    start: WayStart | None = None

    @cached_property
    def hash(self) -> str:
        """The name of the plan: SHA-256 of its canonical JSON."""
        return hashlib.sha256(self.canonical()).hexdigest()

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Plan:
        """A copy, whose name is its own: the name that was worked out for this plan does not go with it."""
        copy = super().model_copy(update=update, deep=deep)
        copy.__dict__.pop("hash", None)
        return copy

    def canonical(self) -> bytes:
        """Canonical JSON (RFC 8785)."""
        return rfc8785.dumps(self.as_json())

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys.

        What was added to the format after the first plans were approved is left out where it says nothing, so that an
        approved plan keeps its name.
        """
        document = dict(self.model_dump(mode="json", by_alias=True))
        for part, key, nothing in _ADDED_LATER:
            where = document[part] if part else document
            if where[key] == nothing:
                del where[key]
        return document

    def phase(self, *phases: Phase) -> tuple[PlanStep, ...]:
        """The steps of these phases, in order."""
        return tuple(step for step in self.steps if step.phase in phases)

    @property
    def worn(self) -> tuple[str, ...]:
        """The ensemble in donning order."""
        return tuple(one.item for one in self.ensemble)

"""The plan: instructions for a case and nothing else. No words, no conditions; its name is its hash.

The name is the SHA-256 of the canonical JSON (RFC 8785), so the same plan has the same name on every machine and in
every
language.
"""

from __future__ import annotations

import hashlib
from functools import cached_property
from typing import Any, Literal

import rfc8785

from vestry.sequence.case import Case
from vestry.sequence.policy import Policy
from vestry.trade.values import Act, Id, Value, Who, Zone

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


class Plan(Value):
    """Instructions for a case: ensemble, donning, doffing. `origin` says where the doffing order comes from."""

    format_version: Literal[1] = 1
    case: Case
    policy: Policy
    ensemble: tuple[EnsembleItem, ...]
    steps: tuple[PlanStep, ...]
    origin: Literal["own-order", "published-rules", "searched", "given"]
    fresh_pairs: int

    @cached_property
    def hash(self) -> str:
        """The name of the plan: SHA-256 of its canonical JSON."""
        return hashlib.sha256(self.canonical()).hexdigest()

    def canonical(self) -> bytes:
        """Canonical JSON (RFC 8785)."""
        return rfc8785.dumps(self.as_json())

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return dict(self.model_dump(mode="json", by_alias=True))

    def phase(self, *phases: Phase) -> tuple[PlanStep, ...]:
        """The steps of these phases, in order."""
        return tuple(step for step in self.steps if step.phase in phases)

    @property
    def worn(self) -> tuple[str, ...]:
        """The ensemble in donning order."""
        return tuple(one.item for one in self.ensemble)

"""Amounts as values of the contract: what reaches where, what it rests on, what a change would buy. No words in them.

Never a probability of infection: a chance here is that of reaching a stated load or of being found by a stated method.
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from vestry.trade.law import Law
from vestry.trade.values import Certainty, Value

EndpointName = Literal["mucosa", "skin", "helper", "clothing", "place", "exposure"]
LimitName = Literal["alarm", "detection"]


class Number(Value):
    """A number and its Monte Carlo standard error."""

    value: float
    error: float


class QuantileRow(Value):
    """A quantile relative to the source, with its 95 percent interval."""

    at: float
    value: float
    low: float
    high: float


class ReachingRow(Value):
    """What reaches a surface or, without one, a class: `ever` (the highest load at any time) or `at-end`.

    limits      chance that a limit is reached; of a class, by any of its surfaces
    something   chance that anything at all is there
    mean        relative to the source: the whole load that the room put on what is worn
    """

    endpoint: EndpointName
    surface: str | None
    when: Literal["ever", "at-end"]
    limits: dict[LimitName, Number]
    something: Number
    mean: Number
    quantiles: tuple[QuantileRow, ...]


class ContributionRow(Value):
    """What goes with one event, or with all that can go wrong in one step: how far the chance of reaching the first
    limit falls without it, by class, and which share of the mean load. They need not sum to one."""

    kind: Literal["step", "event"]
    id: str
    step: str | None
    number: int | None
    happened: float
    falls: dict[EndpointName, Number]
    share_of_mean: dict[EndpointName, Number]


class UnknownRow(Value):
    """How much of the spread of what reaches a class goes with not knowing one record of the evidence."""

    record: str
    endpoint: EndpointName
    share: Number
    direction: float


class RestsOn(Value):
    """A record of the evidence that numbers come from, or (`record` none) a cautious default."""

    id: str
    quantity: str
    unit: str | None = None
    law: Law | None = None
    range: tuple[float, float] | None = None
    source: str | None = None
    certainty: Certainty
    trust: str | None = None
    drawn: str | None = None
    times: int
    asked: dict[str, str] = Field(default_factory=dict)


class ContextValue(Value):
    """The circumstances that were asked for."""

    observer: bool
    read_aloud: bool
    trained: bool
    months: float
    minutes: float
    climate: Literal["hot", "cool"] | None
    soil: Literal["none", "blood"]
    counts: dict[str, tuple[int, int]]


class LimitRow(Value):
    """A limit: the records of the evidence that it is, the share that sampling recovers among them."""

    name: LimitName
    records: tuple[str, ...]


class AmountsFound(Value):
    """The whole answer on one sequence; docs/reference/amounts.md.

    uncovered       body sites that the room loads directly, whatever the order; left out of their class
    recovered       share of runs in which a deviation was seen and its recovery followed
    recoveries      whether recoveries were followed at all (a plan with an observer)
    digests         of the facts and of the evidence
    """

    format_version: Literal[1] = 1
    name: str
    title: str
    plan: str | None
    facts: str
    evidence: str
    context: ContextValue
    draws: int
    seed: int
    unit: str
    limits: tuple[LimitRow, ...]
    reaching: tuple[ReachingRow, ...]
    contributions: tuple[ContributionRow, ...]
    unknowns: tuple[UnknownRow, ...]
    uncovered: tuple[str, ...]
    recoveries: bool
    recovered: float
    rests_on: tuple[RestsOn, ...]
    defaults: tuple[RestsOn, ...]

    def row(self, endpoint: str, when: str, surface: str | None = None) -> ReachingRow:
        """The row of a class or surface; KeyError when there is none."""
        for row in self.reaching:
            if (row.endpoint, row.when, row.surface) == (endpoint, when, surface):
                return row
        raise KeyError(f"nothing here is called {surface or endpoint}, {when}")

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return dict(self.model_dump(mode="json", by_alias=True))


class DifferenceRow(Value):
    """One class on paired draws: the chance of ever reaching the first limit on each side, b less a with a 95 percent
    interval; share of draws in which b has less there, and more."""

    endpoint: EndpointName
    a: Number
    b: Number
    difference: Number
    interval: tuple[float, float]
    at_end: Number
    less: float
    more: float


class AmountsDiffer(Value):
    """Two sequences on paired draws."""

    format_version: Literal[1] = 1
    a: str
    b: str
    draws: int
    seed: int
    limit: LimitName | None
    rows: tuple[DifferenceRow, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return dict(self.model_dump(mode="json", by_alias=True))


ChangeKind = Literal[
    "drop-hygiene", "add-hygiene", "agent", "change-gloves", "observer", "read-aloud", "training", "practice", "relief"
]


class Bought(Value):
    """One change and what it buys: negative differences are less reaching the limit. `minutes` is what it costs.

    at          the step before which it comes, or that it drops
    to          the agent, where it is one
    """

    kind: ChangeKind
    at: str | None = None
    to: str | None = None
    rows: tuple[DifferenceRow, ...]
    minutes: float
    clear: bool

    @property
    def exposure(self) -> DifferenceRow:
        """Mucosa at any time or skin at the end."""
        return next(row for row in self.rows if row.endpoint == "exposure")


class Kept(Value):
    """Something that is not offered for removal, and the rules that ask for it."""

    what: str
    rules: tuple[str, ...]


class WhatIf(Value):
    """Changes, ranked by what they buy; and what is never offered for removal."""

    format_version: Literal[1] = 1
    name: str
    draws: int
    seed: int
    limit: LimitName | None
    context: ContextValue
    base: dict[EndpointName, Number]
    changes: tuple[Bought, ...]
    kept: tuple[Kept, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return dict(self.model_dump(mode="json", by_alias=True))

"""The contract `Weighing`: what each published rule costs or buys, by the best orders with and without it."""

from __future__ import annotations

from typing import Any, Literal

from vestry.sequence.assurance import MODEL_VERSION
from vestry.sequence.case import Case
from vestry.sequence.comparison import Counted, Seconds, Weaker
from vestry.sequence.policy import Policy
from vestry.trade.values import Certainty, Id, Value

WhyUnweighed = Literal["people", "always", "nothing-worn"]


class Outcome(Value):
    """The best way out under one choice.

    clean      as for a plan
    routes     routes as taught to mucosa or a helper ever, or to skin at the end
    removals   what comes off, in order
    optimal    shown to be the best; else the best of those looked at
    """

    clean: bool
    routes: tuple[str, ...]
    steps: int
    time: Seconds
    removals: tuple[Id, ...]
    optimal: bool


class WeighedRule(Value):
    """One rule that can be switched, both ways.

    in_force        as the policy stands
    with_rule       the best order that keeps it; null: no order does
    without         the best order that need not
    same            both are the same order
    endpoints       counts by endpoint class (all faces, no hidden faults): a with the rule, b without it
    weaker          where one side is weaker: `a` is with the rule
    """

    rule: Id
    kind: Literal["order", "hygiene"]
    source: Id
    certainty: Certainty
    in_force: bool
    with_rule: Outcome | None
    without: Outcome | None
    same: bool
    endpoints: tuple[Counted, ...]
    weaker: tuple[Weaker, ...]


class Unweighed(Value):
    """A rule that is not weighed: about people, kept in every order, or about what is not worn."""

    rule: Id
    source: Id
    certainty: Certainty
    why: WhyUnweighed


class Weighing(Value):
    """All published rules for a case, in file order. `base`: the best order as the policy stands; null: none."""

    format_version: Literal[1] = 1
    model_version: str = MODEL_VERSION
    facts: str
    order: int
    case: Case
    policy: Policy
    worn: tuple[Id, ...]
    base: Outcome | None
    rules: tuple[WeighedRule, ...]
    not_weighed: tuple[Unweighed, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return dict(self.model_dump(mode="json", by_alias=True))

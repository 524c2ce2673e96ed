"""The way out from what is worn now: for a case, from a stated start, whatever the ensemble was meant for.

1. Steps that must not be broken and were begun come first.
2. The unit's own order of removals where it fits what is worn and breaks no rule in force, but for rules that the unit
   broke knowingly with it; else the order is searched under the rules in force.
3. Where no order keeps them all, it is searched without, and those that it breaks are named: out one must.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal

from vestry.sequence.case import Case
from vestry.sequence.errors import NoPlan
from vestry.sequence.kept import KeptSteps
from vestry.sequence.plan import EnsembleItem, Plan, WayStart
from vestry.sequence.planner import Writer, own_order, removals_broken
from vestry.sequence.policy import Policy
from vestry.sequence.removal import TOGETHER, Hands, Hygiene, Placed, top_gloves
from vestry.sequence.rules import rules_in_force
from vestry.sequence.search import Search, Start
from vestry.sequence.setting import setting_for
from vestry.trade import BadFacts, Catalogue, Step
from vestry.trade.values import Rule

NOTHING_WORN = "nothing is worn that comes off by steps"


@dataclass(frozen=True)
class Now:
    """What is worn and how, when the way out starts.

    start      None: fully dressed, straight from the room
    unbroken   what is left of a group of removals that has begun and must not be broken
    """

    ensemble: tuple[EnsembleItem, ...]
    start: WayStart | None = None
    unbroken: tuple[Step, ...] = ()

    @property
    def worn(self) -> tuple[str, ...]:
        return tuple(one.item for one in self.ensemble)


@dataclass(frozen=True)
class Left:
    """A way out, and the order rules that it could not keep."""

    plan: Plan
    rules_left: tuple[str, ...]


def way_out(
    case: Case,
    policy: Policy,
    now: Now,
    catalogue: Catalogue,
    shared: KeptSteps | None = None,
    broken_already: Collection[str] = (),
) -> Left:
    """The way out for a case from what is worn now. NoPlan says why there is none.

    broken_already   order rules that the unit's own order was approved with although it breaks them
    """
    if not now.worn:
        raise NoPlan((), NOTHING_WORN)
    leaver = _Leaver(case.model_copy(update={"wearers": 1}), policy, now, catalogue, shared)
    own = leaver.by_own_order()
    if own is not None and set(leaver.broken(own)) <= set(broken_already):
        return Left(own, ())
    try:
        return Left(leaver.searched(rules_in_force(case, policy, catalogue)), ())
    except NoPlan:
        plan = leaver.searched(())
        return Left(plan, leaver.broken(plan))


class _Leaver:
    def __init__(
        self, case: Case, policy: Policy, now: Now, catalogue: Catalogue, shared: KeptSteps | None = None
    ) -> None:
        self.case, self.policy, self.now, self.catalogue, self.shared = case, policy, now, catalogue, shared
        self.zone = now.start.zone if now.start else policy.doffing_zone
        self.hygiene = Hygiene(case, policy.model_copy(update={"doffing_zone": self.zone}), catalogue)
        self.half_undressed = now.start is not None and now.start.alone

    def by_own_order(self) -> Plan | None:
        """The way out by the unit's own order of removals; None where there is none, or it does not fit."""
        if not self.policy.doffing_order or self.now.unbroken:
            return None
        try:
            placed = own_order(self.now.worn, self.hygiene, self.policy.doffing_order, self.catalogue)
            return self._plan(placed, "own-order")
        except (NoPlan, BadFacts):
            return None

    def searched(self, rules: tuple[Rule, ...]) -> Plan:
        """The best way out under these rules; NoPlan where there is none."""
        setting = setting_for(self.case, self.catalogue)
        search = Search(self.hygiene, self.catalogue, setting, rules, self.zone, shared=self.shared)
        try:
            return self._plan(search.run(self.start()).placed, "searched")
        except BadFacts as bad:
            raise NoPlan((), f"a step cannot be done from here: {bad.problems[0].what}") from None

    def broken(self, plan: Plan) -> tuple[str, ...]:
        """The order rules in force that a way out breaks."""
        return removals_broken(self.case, self.policy, plan, self.catalogue)

    def _plan(self, placed: tuple[Placed, ...], origin: Literal["own-order", "searched"]) -> Plan:
        writer = Writer(self.case, self.policy, self.catalogue, self.now.ensemble)
        return Plan(
            case=self.case,
            policy=self.policy,
            ensemble=self.now.ensemble,
            steps=writer.write_out(placed, looked_at=self.half_undressed),
            origin=origin,
            fresh_pairs=sum(one.step.act == "don" and one.step.item == "fresh-gloves" for one in placed),
            start=self.now.start,
        )

    def start(self) -> Start:
        """Where the search starts."""
        first = tuple(Placed(step, "begun", "begun") for step in self.now.unbroken)
        gone = {item for step in self.now.unbroken for item in step.handled}
        left = tuple(item for item in self.now.worn if item not in gone)
        helped = any(step.who in TOGETHER for step in self.now.unbroken)
        hands = Hands(top_gloves(left, self.catalogue), False, helped)
        start = self.now.start
        surfaces = frozenset(start.contaminated) if start else frozenset()
        if start is not None and start.alone:
            return Start(self.now.worn, hands, surfaces, settles=True, first=first)
        return Start(self.now.worn, hands, also=surfaces, first=first)

"""Weigh the published rules for a case: for each that can be switched, the best order with it and the best without it.

1. The order is searched: a unit's own order of removals is left out of it.
2. Everything but the one rule stays as the policy says.
3. An order rule narrows the choice, so the best order with it never costs less in the search's own terms: it can add a
   route and never takes one away. Choices of hygiene change the steps themselves and can go either way.
4. Rules about people are never weighed and never optimised away.
"""

from __future__ import annotations

from collections.abc import Callable

from vestry.sequence.case import Case
from vestry.sequence.checking import check_case_and_policy
from vestry.sequence.comparing import compare
from vestry.sequence.comparison import Seconds
from vestry.sequence.ensemble import ensemble_of
from vestry.sequence.errors import NoPlan
from vestry.sequence.plan import Plan
from vestry.sequence.planner import search_order
from vestry.sequence.policy import Policy
from vestry.sequence.rules import matters, switched
from vestry.sequence.search import Found
from vestry.sequence.subject import Subject, subject_of_order
from vestry.sequence.timing import total
from vestry.sequence.weighed import Outcome, Unweighed, WeighedRule, Weighing
from vestry.trade import Catalogue, Order, OrderCase
from vestry.trade.values import Role, Rule

Progress = Callable[[int, int], None]
GLOVES_BETWEEN = "disinfect-gloves-between-removals"
GLOVES_CHANGED = "inner-gloves-changed-before-respirator"
HYGIENE = (GLOVES_BETWEEN, GLOVES_CHANGED)


def weigh_plan(plan: Plan, catalogue: Catalogue, progress: Progress | None = None) -> Weighing:
    """What each rule costs or buys in the case and policy of a plan."""
    return weigh(plan.case, plan.policy, catalogue, progress)


def weigh(case: Case, policy: Policy, catalogue: Catalogue, progress: Progress | None = None) -> Weighing:
    """What each rule costs or buys. BadFacts names wrong fields; NoPlan when the gear cannot protect."""
    check_case_and_policy(case, policy, catalogue)
    worn = tuple(one.item for one in ensemble_of(case, policy, catalogue))
    scales = _Scales(case, policy.model_copy(update={"doffing_order": ()}), catalogue, worn)
    ours = _ours(case, catalogue)
    able = [one for one in ours if scales.can_switch(one)]
    rules = []
    for number, rule in enumerate(able):
        if progress:
            progress(number, len(able))
        rules.append(scales.weighed(rule))
    base = scales.best(scales.policy)
    return Weighing(
        facts=catalogue.digest,
        order=base.assurance.order if base else 3,
        case=case,
        policy=policy,
        worn=worn,
        base=scales.outcome(base),
        rules=tuple(rules),
        not_weighed=tuple(_unweighed(one) for one in ours if one not in able),
    )


def _ours(case: Case, catalogue: Catalogue) -> list[Rule]:
    """The rules published for this hazard's family, and the two choices of hygiene, which a policy makes for all."""
    family = catalogue.hazards[case.hazard].family
    return [
        one
        for one in catalogue.rules.values()
        if one.id in HYGIENE or not one.for_families or family in one.for_families
    ]


def switchable(case: Case, policy: Policy, worn: tuple[str, ...], catalogue: Catalogue) -> tuple[str, ...]:
    """The rules that can be switched for a case and what is worn, by id."""
    scales = _Scales(case, policy, catalogue, worn)
    return tuple(one.id for one in _ours(case, catalogue) if scales.can_switch(one))


def chosen(policy: Policy, able: tuple[str, ...], on: frozenset[str], catalogue: Catalogue) -> Policy:
    """The policy with exactly these of the switchable rules on."""
    for name in able:
        policy = turned(policy, catalogue.rules[name], name in on)
    return policy


def turned(policy: Policy, rule: Rule, on: bool) -> Policy:
    """The policy with this one rule on or off."""
    if rule.id == GLOVES_BETWEEN:
        return policy.model_copy(update={"disinfect_gloves": on})
    if rule.id == GLOVES_CHANGED:
        return policy.model_copy(update={"glove_change": "before-face-item" if on else "none"})
    return switched(policy, rule, on)


def _unweighed(rule: Rule) -> Unweighed:
    why = "people" if rule.kind == "people" else "nothing-worn" if rule.before else "always"
    return Unweighed(rule=rule.id, source=rule.source, certainty=rule.certainty, why=why)  # type: ignore[arg-type]


class _Scales:
    """Best orders under one policy and another; what was searched once is kept."""

    def __init__(self, case: Case, policy: Policy, catalogue: Catalogue, worn: tuple[str, ...]) -> None:
        self.case, self.policy, self.catalogue, self.worn = case, policy, catalogue, worn
        self.kept: dict[Policy, Subject | None] = {}
        self.found: dict[str, Found] = {}

    def can_switch(self, rule: Rule) -> bool:
        """An order rule about things that are worn, or one of the two choices of hygiene."""
        if rule.id == GLOVES_CHANGED:
            kinds = {self.catalogue.items[item].kind for item in self.worn}
            return bool(kinds & {"mask", "respirator", "papr-helmet"})
        return rule.id in HYGIENE or (rule.kind == "order" and matters(rule, self.worn, self.catalogue))

    def in_force(self, rule: Rule) -> bool:
        if rule.id == GLOVES_BETWEEN:
            return self.policy.disinfect_gloves
        if rule.id == GLOVES_CHANGED:
            return self.policy.glove_change == "before-face-item"
        return self.policy == switched(self.policy, rule, True)

    def weighed(self, rule: Rule) -> WeighedRule:
        on, off = (self.best(turned(self.policy, rule, way)) for way in (True, False))
        both = compare(on, off) if on is not None and off is not None and on.order != off.order else None
        table = next((one for one in both.tables if one.loads == "all" and not one.latent), None) if both else None
        return WeighedRule(
            rule=rule.id,
            kind="hygiene" if rule.id in HYGIENE else "order",
            source=rule.source,
            certainty=rule.certainty,
            in_force=self.in_force(rule),
            with_rule=self.outcome(on),
            without=self.outcome(off),
            same=both is None and on is not None and off is not None,
            endpoints=table.endpoints if table else (),
            weaker=both.weaker if both else (),
        )

    def best(self, policy: Policy) -> Subject | None:
        """The best way out under a policy, as a sequence; None when no order keeps its rules."""
        if policy not in self.kept:
            try:
                found = search_order(self.case, policy, self.catalogue, self.worn)
            except NoPlan:
                self.kept[policy] = None
                return None
            subject = subject_of_order(self._order(policy, found), "searched", self.catalogue)
            self.kept[policy] = subject
            self.found[subject.order.model_dump_json()] = found
        return self.kept[policy]

    def _order(self, policy: Policy, found: Found) -> Order:
        there: dict[Role, bool] = {"assistant": policy.assistant, "observer": policy.observer}
        return Order(
            format_version=1,
            title="searched",
            worn=self.worn,
            zone=policy.doffing_zone,
            steps=tuple(one.step for one in found.placed),
            case=OrderCase(hazard=self.case.hazard, presentation=self.case.presentation),
            roles=tuple(role for role, present in there.items() if present),
        )

    def outcome(self, subject: Subject | None) -> Outcome | None:
        if subject is None:
            return None
        found = self.found[subject.order.model_dump_json()]
        span = total(subject.spans)
        return Outcome(
            clean=subject.assurance.clean,
            routes=tuple(
                one.surface
                for one in subject.assurance.reached
                if one.endpoint in ("mucosa", "helper") or (one.endpoint == "skin" and one.when == "at-end")
            ),
            steps=len(subject.steps),
            time=Seconds(seconds=span.seconds, least=span.least, most=span.most),
            removals=tuple(item for step in subject.steps if step.act == "doff" for item in step.items),
            optimal=found.optimal,
        )

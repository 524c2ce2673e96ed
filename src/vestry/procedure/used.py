"""Which facts a plan rests on, each with its digest; and which of them are others now.

A record is used when planning the case again, assuring the plan, its answers, its scenes or its sheet could come out
otherwise if the record said something else. What is looked through and found not to apply (a rule for another family, a
technique for an item that is not worn) is not used; where a change makes it apply, it is among those used now, and so
the difference is seen. tests/procedure/test_used.py plans and assures again with changed records to hold this.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from itertools import permutations
from typing import Literal

from vestry.contact.surfaces import is_sheltered
from vestry.contact.taught import TaughtStep, taught, taught_step
from vestry.sequence import NoPlan, Plan, PlanStep, order_of, program_of, requirements_of
from vestry.sequence.ensemble import donning_rules_broken, ensemble_of
from vestry.sequence.people import ASSISTANT_RULE, ASSISTED_KINDS, OBSERVER_RULE
from vestry.sequence.removal import HELPED_KINDS, Hygiene, lowest_gloves, removals_of
from vestry.sequence.rules import allowed, rules_in_force
from vestry.sequence.states import technique_of
from vestry.sequence.team import order_of_member, record_for
from vestry.trade import BadFacts, Catalogue, Step
from vestry.trade.catalogue import KINDS, digest_of, key_of
from vestry.trade.jurisdictions import waste_rule
from vestry.trade.values import Id, Role, Value

NAMED = "named"
"""Instead of a digest: the record is named and has to be there; what it says is not looked at."""

FRESH = "fresh-gloves"
Key = tuple[str, str]
Used = dict[str, str]


class Touched(Value):
    """One fact under a plan that is another now.

    how   changed: it says something else, or applies no more; retired: it is out of force; new: it did not apply before
    """

    kind: Id
    id: str
    how: Literal["changed", "retired", "new"]
    blocks: bool


def used(plan: Plan, catalogue: Catalogue) -> Used:
    """`KIND:ID` to the digest of the record, for every record that the plan rests on under these facts."""
    using = _Using(plan, catalogue)
    found: Used = {}
    for kind in KINDS:
        records = catalogue.records(kind)
        for key in sorted(using.content[kind] & set(records)):
            found[f"{kind}:{key}"] = digest_of(records[key])
        for key in sorted((using.named[kind] - using.content[kind]) & set(records)):
            found[f"{kind}:{key}"] = NAMED
    return found


def touched(then: Mapping[str, str], plan: Plan, catalogue: Catalogue) -> tuple[Touched, ...]:
    """The facts that are others now than those `then`, when the plan was approved; none: nothing changed beneath it."""
    now = used(plan, catalogue)
    there = {kind: set(catalogue.records(kind)) for kind in KINDS}
    found = []
    for name in sorted({*then, *now}):
        if then.get(name) == now.get(name):
            continue
        kind, _, key = name.partition(":")
        gone = key not in there.get(kind, set())
        how: Literal["changed", "retired", "new"] = "new" if name not in then else "retired" if gone else "changed"
        found.append(Touched(kind=kind, id=key, how=how, blocks=gone and then.get(name) != NAMED))
    return tuple(found)


class _Using:
    """Collects what a plan uses: records whose content is read, and records that only have to be there."""

    def __init__(self, plan: Plan, catalogue: Catalogue) -> None:
        self.plan, self.catalogue = plan, catalogue
        self.case, self.policy = plan.case, plan.policy
        self.content: dict[str, set[str]] = {kind: set() for kind in KINDS}
        self.named: dict[str, set[str]] = {kind: set() for kind in KINDS}
        self.known_hazard = self.case.hazard in catalogue.hazards
        self._always()
        self._people()
        for worn in self._ensembles():
            self._gear(worn)
        self._plan_steps()
        self._cited()

    def _use(self, kind: str, *keys: str | None) -> None:
        self.content[kind].update(key for key in keys if key)

    # ---- what every plan reads ----

    def _always(self) -> None:
        case, policy, catalogue = self.case, self.policy, self.catalogue
        self._use("hazard", case.hazard)
        self._use("body", *catalogue.body)
        self._use("helper", *self._helpers_touched())
        self._use("convention", *catalogue.conventions)
        self._use("place", *(place.id for place in catalogue.places.values() if place.endpoint))
        self._use("agent", policy.glove_agent, policy.hand_agent, policy.surface_agent)
        self._use("jurisdiction", policy.jurisdiction)
        self._use("item", FRESH)
        self.named["item"].update(case.gear)
        self.named["item"].update(
            item.id for item in catalogue.items.values() if item.kind in policy.doffing_order and self._only(item.kind)
        )
        self.named["rule"].update((*policy.switched_off, *policy.switched_on))
        self.named["helper"].update(catalogue.helpers)
        if self.known_hazard:
            self._use("requirement", *(one.id for one in requirements_of(case, catalogue, policy.jurisdiction)))
            rule = waste_rule(catalogue, case.hazard, policy.jurisdiction)
            self._use("waste-rule", rule.id if rule else None)
        if case.wearers > 1:
            there = {"assistant": policy.assistant, "observer": policy.observer}
            self._use("turnaround", *(one.id for one in catalogue.turnarounds.values() if there[one.who]))

    def _helpers_touched(self) -> Iterator[str]:
        """Those whose gloves or gown the way out can meet; of the others it only counts who is there."""
        helped = any(self._kind(item) in HELPED_KINDS for item in self.plan.worn)
        touches = {touch.partition(".")[0] for touch in self._surfaces()}
        for helper in self.catalogue.helpers:
            if helper in touches or helped or self.case.wearers > 1:
                yield helper

    def _surfaces(self) -> set[str]:
        """The surfaces that the plan's way out touches."""
        try:
            program = program_of(self.plan, self.catalogue)
        except (BadFacts, KeyError):
            return set()
        return {program.surfaces[number] for op in program.ops for number in (op.a, op.b) if number >= 0}

    def _only(self, kind: str) -> bool:
        """Whether one item alone is of this kind: an own order names kinds, and a kind is there with its items."""
        return sum(item.kind == kind for item in self.catalogue.items.values()) == 1

    def _people(self) -> None:
        """Rules on who must be there, where somebody is not."""
        assisted = any(self._kind(item) in ASSISTED_KINDS for item in self.plan.worn)
        for rule, asked in (
            (OBSERVER_RULE, not self.policy.observer),
            (ASSISTANT_RULE, assisted and not self.policy.assistant),
        ):
            if asked and rule not in self.policy.switched_off:
                self._use("rule", rule)

    def _kind(self, item: str) -> str | None:
        return self.catalogue.items[item].kind if item in self.catalogue.items else None

    # ---- what is worn ----

    def _ensembles(self) -> Iterator[tuple[str, ...]]:
        """What is worn by this plan, what would be chosen now, and the same for those beside the wearer."""
        there = self.catalogue.items
        yield tuple(item for item in self.plan.worn if item in there)
        self._use("item", *self.plan.worn)
        if self.known_hazard:
            with suppress(NoPlan, ValueError):  # what it lacks is among the plan's own records
                yield tuple(one.item for one in ensemble_of(self.case, self.policy, self.catalogue))
        for member in self.plan.team:
            self._use("colleague", member.record)
            self._use("item", *member.worn)
            yield tuple(item for item in member.worn if item in there)
        if self.known_hazard and self.plan.team:
            yield from self._would_wear()

    def _would_wear(self) -> Iterator[tuple[str, ...]]:
        """What observer and assistant would be given now."""
        hand = set(self.case.gear) or set(self.catalogue.items)
        roles: tuple[tuple[Role, bool], ...] = (
            ("assistant", self.policy.assistant),
            ("observer", self.policy.observer),
        )
        for role, there in roles:
            if not there:
                continue
            try:
                record = record_for(role, self.case, self.catalogue)
            except NoPlan:
                continue
            self._use("colleague", record.id)
            hazard = self.catalogue.hazards[self.case.hazard]
            airborne = "airborne" in (hazard.routes.value or hazard.routes.default or ())
            places = (*(record.wears_airborne if airborne else ()), *record.wears)
            chosen: list[str] = []
            for place in places:
                if not any(item in chosen for item in place):
                    chosen += [item for item in place if item in hand][:1]
            yield tuple(item for item in chosen if item in self.catalogue.items)

    def _gear(self, worn: tuple[str, ...]) -> None:
        """What a choice of gear brings with it: items, zones that load them, rules that order them."""
        self._use("item", *worn)
        for item in worn:
            for face in self.catalogue.items[item].faces:
                if any(is_sheltered(self.catalogue, worn, item, site) != "sealing" for site in face.at):
                    self._use("zone", face.zone)
        rules = rules_in_force(self.case, self.policy, self.catalogue) if self.known_hazard else ()
        for first, then in permutations(dict.fromkeys((*worn, FRESH)), 2):
            if first in worn and then in worn:
                self._use("donning", *(rule.id for _, _, rule in donning_rules_broken((first, then), self.catalogue)))
            for rule in rules:
                if not allowed(first, [then], [rule], self.catalogue):
                    self._use("rule", rule.id)
        self._ways_off(worn)

    # ---- techniques ----

    def _ways_off(self, worn: tuple[str, ...]) -> None:
        """The techniques among which search and recovery find the way out."""
        catalogue, hygiene = self.catalogue, Hygiene(self.case, self.policy, self.catalogue)
        helped = any(self._kind(item) in HELPED_KINDS for item in worn)
        helpers = {None, hygiene.helper} if helped else {None}
        bare = tuple(item for item in worn if self._kind(item) != "gloves")
        gloved = [worn, (*bare, FRESH)] if bare != worn else [bare]
        parts = [part for removal in removals_of(worn, catalogue) for part in removal.parts]
        parts += [(item,) for item in worn if self.policy.doffing_order]
        for part in parts:
            who = helpers if self._kind(part[0]) in HELPED_KINDS else {None}
            hands = [state for state in gloved if set(part) <= set(state)]
            self._taught([Step(act="doff", items=part, who=one) for one in who], hands)
        last = lowest_gloves(worn, catalogue)
        if last is not None:
            self._taught([Step(act="doff", item=last)], [(*bare, last)])
            self._taught([Step(act="doff", item=FRESH)], [(*bare, FRESH)])
            self._taught([Step(act="don", item=FRESH)], [bare])
            if self.policy.disinfect_gloves:
                agent = self.policy.glove_agent
                self._taught([Step(act="disinfect-gloves", agent=agent, who=one) for one in helpers], gloved)
        self._taught([Step(act="hand-hygiene", agent=self.policy.hand_agent)], [bare])
        self._taught([Step(act="inspect", who="observer")], gloved)

    def _taught(self, steps: Iterable[Step], states: Iterable[tuple[str, ...]]) -> None:
        for worn in states:
            for step in steps:
                try:
                    self._step(taught_step(step, worn, self.catalogue))
                except (BadFacts, KeyError):
                    continue  # not possible here, or out of force: then it is not among those used now

    def _step(self, step: TaughtStep) -> None:
        self._use("technique", key_of(step.technique))
        self._use("agent", step.agent)

    def _plan_steps(self) -> None:
        """The techniques and agents that the plan's own steps name."""
        orders = [order_of(self.plan)]
        orders += [order_of_member(one, self.case, self.catalogue) for one in self.plan.team if self._whole(one.worn)]
        for order in orders if self._whole(self.plan.worn) and self.known_hazard else ():
            try:
                for one in taught(order, self.catalogue):
                    self._step(one)
            except (BadFacts, KeyError):
                continue
        for step in self._all_steps():
            self._use("agent", step.agent)
            self._use("waste-stream", step.waste)
            if step.technique is not None and self._whole(step.items):
                technique = technique_of(step, self.catalogue)
                self._use("technique", key_of(technique) if technique else None)

    def _whole(self, items: Iterable[str]) -> bool:
        return all(item in self.catalogue.items for item in items)

    def _all_steps(self) -> tuple[PlanStep, ...]:
        return (*self.plan.steps, *(step for member in self.plan.team for step in member.steps))

    # ---- what the sheet cites ----

    def _cited(self) -> None:
        catalogue = self.catalogue
        for one in (*self.plan.ensemble, *(one for member in self.plan.team for one in member.ensemble)):
            self._use("source", *(reason.source for reason in one.reasons))
        for step in self._all_steps():
            technique = technique_of(step, catalogue) if step.technique and self._whole(step.items) else None
            stream = catalogue.waste_streams.get(step.waste or "")
            self._use("source", technique.source if technique else None, stream.source if stream else None)
        self._use("source", *(one.source for one in catalogue.conventions.values()))

"""The best doffing order by looking at every one: what the search is compared with.

It shares no code with the search, nor with the placing of hygiene or the reading of rules: permutations, the policy's
rule said again in its own words, traps and rules read from the data, a program compiled whole for each order, and
counts from all scenarios of up to two events.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import permutations
from types import MappingProxyType

from vestry.contact.compiler import compile_order
from vestry.contact.program import Program
from vestry.contact.scenarios import all_scenarios, run_scenarios
from vestry.sequence import Case, Policy
from vestry.trade import Catalogue, Order, OrderCase, Step
from vestry.trade.values import Item

WORST_FIRST = ("mucosa", "skin", "helper", "clothing", "place")
NOT_REMOVED = {"scrubs", "shoes", "boots"}
TIGHT = {"mask", "respirator", "papr-helmet"}
OVER_AIRWAYS = {*TIGHT, "papr-hood"}
TAKEN_OFF_WITH_HELP = {"coverall", "apron", "papr-hood", "papr-hose", "papr-belt-unit"}
ORDER = 2

Removal = tuple[str, ...]  # items that come off in one go
Cost = tuple[int, ...]


@dataclass(frozen=True)
class Best:
    """The least cost, every order of removals that has it, and how many orders were looked at."""

    cost: Cost
    removals: frozenset[tuple[str, ...]]
    looked_at: int


class BruteForce:
    """Every order of one ensemble under one policy."""

    def __init__(self, case: Case, policy: Policy, catalogue: Catalogue, worn: tuple[str, ...]) -> None:
        self.case, self.policy, self.worn = case, policy, worn
        self.catalogue = without_faults(catalogue)
        self.items = {item: catalogue.items[item] for item in (*worn, "fresh-gloves")}
        self.pairs = [item for item in worn if self.items[item].kind == "gloves"]
        self.removals = self._removals()
        removed = {item for removal in self.removals for item in removal}
        self.off_first = {item: self._off_before(item) for item in removed | set(self.pairs[:1])}

    # ---- which orders there are ----

    def _removals(self) -> list[Removal]:
        by_kind = {self.items[item].kind: item for item in self.worn}
        powered = [by_kind.get(kind, "") for kind in ("papr-hose", "papr-belt-unit", "papr-hood")]
        unit = tuple(powered) if all(powered) else ()
        stay = {*self.pairs[:1], *unit}
        singles = [(i,) for i in self.worn if i not in stay and self.items[i].kind not in NOT_REMOVED]
        return [*singles, *([unit] if unit else [])]

    def _off_before(self, item: str) -> set[str]:
        """What must have come off before this item may: what traps it, and what a rule wants off earlier."""
        mine, family = self.items[item], self.catalogue.hazards[self.case.hazard].family
        over = self.worn[self.worn.index(item) + 1 :]
        first = {other for other in over if mine.kind in self.items[other].traps}
        for rule in self.catalogue.rules.values():
            stands = rule.kind == "order" and rule.default_on and rule.id not in self.policy.switched_off
            if stands and family in (rule.for_families or (family,)):

                def meant(one: Item, kinds: tuple[str, ...], layer: str | None = rule.glove_layer) -> bool:
                    layers = {"outer": ["outer"], "inner": ["inner", "single"]}.get(layer or "")
                    return one.kind in kinds and (one.kind != "gloves" or layers is None or one.layer in layers)

                if meant(mine, rule.after):
                    first |= {o for removal in self.removals for o in removal if meant(self.items[o], rule.before)}
        return first - {item}

    def orders(self) -> Iterator[tuple[Removal, ...]]:
        """Every order of removals that traps, rules and the glove change allow."""
        for order in permutations(self.removals):
            gone, fresh = set[str](), False
            for removal in order:
                if any(self.off_first[item] - gone - set(removal) for item in removal):
                    break
                if self._needs_fresh(removal) and not fresh:
                    if not self._can_change(gone):
                        break
                    fresh = True
                gone |= set(removal)
            else:
                yield order

    def _needs_fresh(self, removal: Removal) -> bool:
        first = self.items[removal[0]].kind
        return self.policy.glove_change == "before-face-item" and first in TIGHT and bool(self.pairs)

    def _can_change(self, gone: set[str]) -> bool:
        """One pair is left, and no rule wants something off before it."""
        return not (set(self.pairs[1:]) | self.off_first[self.pairs[0]]) - gone

    def changes(self, order: tuple[Removal, ...]) -> Iterator[Removal | None]:
        """Where a glove change of choice may stand: nowhere, or before a removal once one worn pair is left."""
        yield None
        if self.policy.glove_change == "search" and self.pairs:
            for number, removal in enumerate(order):
                gone = {item for one in order[:number] for item in one}
                if self._can_change(gone) and self.items[self.pairs[0]].layer in ("inner", "single"):
                    yield removal

    # ---- one order, with its hygiene ----

    def steps(self, order: tuple[Removal, ...], change_before: Removal | None) -> list[Step]:
        """The policy's rule in other words: hands that did something are cleaned before they take off the next thing.

        Gloves are disinfected (by both, if the helper had touched something), bare hands washed, and hands that were
        just cleaned or freshly gloved are left alone. A new pair is put on, over washed hands, before the tight face
        piece, or where this order chooses to. In the room the wearer walks out before the airways are uncovered.
        A suit is opened first, and what opened it is cleaned.
        """
        policy, pairs, steps = self.policy, list(self.pairs), list[Step]()
        dirty, helped = True, False

        def clean() -> None:
            nonlocal dirty, helped
            if dirty and not pairs:
                steps.append(Step(act="hand-hygiene", agent=policy.hand_agent))
                dirty = helped = False
            elif dirty and policy.disinfect_gloves:
                who = "both" if helped else None
                steps.append(Step(act="disinfect-gloves", agent=policy.glove_agent, who=who))
                dirty = helped = False

        def new_pair() -> None:
            nonlocal dirty, helped
            clean()
            steps.append(Step(act="doff", item=pairs.pop()))
            steps.append(Step(act="hand-hygiene", agent=policy.hand_agent))
            steps.append(Step(act="don", item="fresh-gloves"))
            pairs.append("fresh-gloves")
            dirty = helped = False

        in_room = policy.doffing_zone == "room"
        for removal in order:
            kinds = {self.items[item].kind for item in removal}
            if removal is change_before:
                new_pair()
            clean()
            if self._needs_fresh(removal) and pairs and pairs[-1] != "fresh-gloves":
                new_pair()
            if in_room and kinds & OVER_AIRWAYS:
                steps.append(Step(act="move", to="anteroom"))
                in_room = False
            if "coverall" in kinds:
                steps.append(Step(act="release", item=removal[0]))
                dirty, helped = True, False
                clean()
            parts = [removal] if len(removal) == 1 else [removal[:2], removal[2:]]
            helped = policy.assistant and bool(kinds & TAKEN_OFF_WITH_HELP)
            for part in parts:
                steps.append(Step(act="doff", items=part, who="both" if helped else None))
            dirty = True
            if "gloves" in kinds:
                pairs.pop()
                steps.append(Step(act="inspect", who="observer"))
        shoes = [item for item in self.worn if self.items[item].kind in ("shoes", "boots")]
        if policy.wipe_shoes_last and shoes and pairs:
            clean()
            steps.append(Step(act="wipe", item=shoes[0], agent=policy.surface_agent))
            dirty, helped = True, False
        clean()
        if pairs:
            steps.append(Step(act="doff", item=pairs.pop()))
            dirty = True
        if dirty:
            steps.append(Step(act="hand-hygiene", agent=policy.hand_agent))
        return steps

    def program(self, steps: list[Step]) -> Program:
        case = OrderCase(hazard=self.case.hazard, presentation=self.case.presentation)
        zone = self.policy.doffing_zone
        order = Order(format_version=1, title="one", worn=self.worn, zone=zone, steps=tuple(steps), case=case)
        return compile_order(order, self.catalogue)

    # ---- what it costs ----

    def best(self) -> Best | None:
        """The best of all orders; None when there is none.

        Counts of one event come first in the cost, so those of two are made only for the orders that are best so far.
        """
        ranked = []
        for order in self.orders():
            for change in self.changes(order):
                steps = self.steps(order, change)
                program = self.program(steps)
                ranked.append((_counts(program, 1)[0], tuple(one[0] for one in order), steps))
        if not ranked:
            return None
        least = min(one for one, _, _ in ranked)
        costs = [(self.cost(steps), names) for cost, names, steps in ranked if cost == least]
        cheapest = min(cost for cost, _ in costs)
        return Best(cheapest, frozenset(names for cost, names in costs if cost == cheapest), len(ranked))

    def cost(self, steps: list[Step]) -> Cost:
        """Counts of what was ever reached, of what is at the end, then steps."""
        ever, at_end = _counts(self.program(steps), ORDER)
        return (*ever, *at_end, len(steps))


def without_faults(catalogue: Catalogue) -> Catalogue:
    """The same facts with no hidden holes: the cost does not count them, and programs are shorter."""
    items = {name: item.model_copy(update={"latent": ()}) for name, item in catalogue.items.items()}
    helpers = {name: helper.model_copy(update={"latent": ()}) for name, helper in catalogue.helpers.items()}
    return replace(catalogue, items=MappingProxyType(items), helpers=MappingProxyType(helpers))


def _counts(program: Program, order: int) -> tuple[Cost, Cost]:
    """Minimal scenarios by size and, within a size, by endpoint class: ever, and at the end."""
    scenarios = all_scenarios(program, order, latent=False)
    with_event: dict[int, int] = {}
    sizes = [0] * (order + 1)
    for number, scenario in enumerate(scenarios):
        sizes[len(scenario)] |= 1 << number
        for event in scenario:
            with_event[event] = with_event.get(event, 0) | 1 << number
    singles = {number: scenario[0] for number, scenario in enumerate(scenarios) if len(scenario) == 1}

    def vector(reached: dict[int, int]) -> Cost:
        tally = dict.fromkeys(((size, kind) for size in range(order + 1) for kind in WORST_FIRST), 0)
        for surface, kind in program.endpoints:
            bits = reached.get(surface, 0)
            if bits & 1:
                bits = 1
            for number, event in singles.items():
                if bits >> number & 1:
                    bits &= ~with_event[event] | 1 << number
            for size, mask in enumerate(sizes):
                if (size, kind) in tally:
                    tally[size, kind] += (bits & mask).bit_count()
        return tuple(tally.values())

    ever, at_end = run_scenarios(program, scenarios, latent=False)
    return vector(ever), vector(at_end)

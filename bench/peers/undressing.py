"""Every way to undress as a graph: what is still worn and the state of the hands, and what each removal leads to.

Written anew, beside the search and not from it: traps and rules read from the data, the policy's hygiene said again in
its own words. Only the contact model is the same, since it says what a step touches. An order is a way through the
graph; a node holds all that later steps depend on, so ways that meet in it go on alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from vestry.contact.compiler import Compiler, Moment
from vestry.contact.exposure import loads_on_arrival
from vestry.contact.program import NO_EVENT, Op
from vestry.contact.surfaces import endpoint_classes
from vestry.contact.taught import taught_step
from vestry.sequence import Case, Policy
from vestry.sequence.setting import setting_for
from vestry.trade import Catalogue, Step
from vestry.trade.values import Item

STAYS = {"scrubs", "shoes", "boots"}
TIGHT = {"mask", "respirator", "papr-helmet"}
OVER_AIRWAYS = {*TIGHT, "papr-hood"}
TAKES_TWO = {"coverall", "apron", "papr-hood", "papr-hose", "papr-belt-unit"}
UNIT = ("papr-hose", "papr-belt-unit", "papr-hood")

Removal = tuple[str, ...]


@dataclass(frozen=True)
class Node:
    """What later steps depend on. `changed`: the inner pair was exchanged for a fresh one."""

    gone: frozenset[Removal]
    worn: tuple[str, ...]
    pairs: tuple[str, ...]
    dirty: bool
    helped: bool
    zone: str
    changed: bool
    cleaned: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Edge:
    """One removal with its hygiene (or the end of the way), from a node to a node; `ops` without what cannot happen."""

    start: int
    end: int
    removal: Removal | None
    steps: tuple[Step, ...]
    ops: tuple[Op, ...]

    @property
    def events(self) -> frozenset[int]:
        """What can go wrong in it."""
        return frozenset(op.event for op in self.ops if op.event != NO_EVENT)


@dataclass
class Graph:
    """Nodes in an order in which every edge leads onwards; node 0 is the start, `end` the last.

    soiled      surfaces contaminated at the start, what touches on arrival included
    endpoints   surface to class
    """

    edges: list[Edge]
    soiled: frozenset[int]
    endpoints: dict[int, str]
    surfaces: list[str] = field(default_factory=list)
    end: int = 0

    @property
    def nodes(self) -> int:
        return self.end + 1


def graph_of(case: Case, policy: Policy, catalogue: Catalogue, worn: tuple[str, ...]) -> Graph | None:
    """All orders of one ensemble under one policy; None when there is none."""
    return _Graph(case, policy, catalogue, worn).build()


class _Graph:
    def __init__(self, case: Case, policy: Policy, catalogue: Catalogue, worn: tuple[str, ...]) -> None:
        self.case, self.policy, self.catalogue, self.worn = case, policy, catalogue, worn
        self.items = {item: catalogue.items[item] for item in (*worn, "fresh-gloves")}
        self.setting = setting_for(case, catalogue)
        self.compiler = Compiler(catalogue, self.setting)
        self.gloves = [item for item in worn if self.items[item].kind == "gloves"]
        self.removals = self._removals()
        self.first_off = {item: self._first_off(item) for one in self.removals for item in one}
        self.gloves_first_off = self._first_off(self.gloves[0]) if self.gloves else set[str]()

    def build(self) -> Graph | None:
        first = Node(frozenset(), self.worn, tuple(self.gloves), True, False, self.policy.doffing_zone, False, ())
        soiled, loads = self._soiled()
        numbers, layer, edges = {first: 0}, [first], list[Edge]()
        for _ in self.removals:
            following: list[Node] = []
            for node in layer:
                for removal, steps, after, ops in self._ways_on(node):
                    if after not in numbers:
                        numbers[after] = len(numbers)
                        following.append(after)
                    edges.append(Edge(numbers[node], numbers[after], removal, steps, ops))
            layer = following
        if not layer:
            return None
        end = len(numbers)
        for node in layer:
            steps = tuple(self._last(node))
            edges.append(Edge(numbers[node], end, None, steps, self._compiled(steps, node, "end")[0]))
        classes = endpoint_classes(self.catalogue, (*self.worn, "fresh-gloves"), loads)
        endpoints = {self.compiler.tables.surface(name): kind for name, kind in sorted(classes.items())}
        return Graph(_leading_to(end, edges), soiled, endpoints, list(self.compiler.tables.surfaces), end)

    # ---- what comes off, and when it may ----

    def _removals(self) -> list[Removal]:
        of_kind = {self.items[item].kind: item for item in self.worn}
        unit = tuple(of_kind[kind] for kind in UNIT) if set(UNIT) <= of_kind.keys() else ()
        stay = {*self.gloves[:1], *unit}
        alone = [(item,) for item in self.worn if item not in stay and self.items[item].kind not in STAYS]
        return [*alone, *([unit] if unit else [])]

    def _first_off(self, item: str) -> set[str]:
        """What has to be off before this may come off: what lies over it and holds it, and what a rule names."""
        mine = self.items[item]
        family = self.catalogue.hazards[self.case.hazard].family
        found = {o for o in self.worn[self.worn.index(item) + 1 :] if mine.kind in self.items[o].traps}
        for rule in self.catalogue.rules.values():
            stands = rule.default_on or rule.id in self.policy.switched_on
            if rule.kind != "order" or not stands or rule.id in self.policy.switched_off:
                continue
            if rule.for_families and family not in rule.for_families:
                continue
            if _meant(mine, rule.after, rule.glove_layer):
                comes_off = (other for one in self.removals for other in one)
                found |= {other for other in comes_off if _meant(self.items[other], rule.before, rule.glove_layer)}
        return found - {item}

    def _ways_on(self, node: Node) -> Iterator[tuple[Removal, tuple[Step, ...], Node, tuple[Op, ...]]]:
        off = {item for one in node.gone for item in one}
        one_pair_left = bool(node.pairs) and not (set(self.gloves[1:]) | self.gloves_first_off) - off
        for removal in self.removals:
            if removal in node.gone or any(self.first_off[item] - off - set(removal) for item in removal):
                continue
            face = self.items[removal[0]].kind in TIGHT and self.policy.glove_change == "before-face-item"
            must = face and bool(node.pairs) and node.pairs[-1] != "fresh-gloves"
            if must and not one_pair_left:
                continue
            yield self._way(node, removal, must)
            inner = one_pair_left and self.items[node.pairs[0]].layer in ("inner", "single")
            if self.policy.glove_change == "search" and inner and not node.changed:
                yield self._way(node, removal, True)

    # ---- what is done around it ----

    @property
    def _two(self) -> str | None:
        if self.policy.hands_on == "assistant" and self.policy.assistant:
            return "both"
        if self.policy.hands_on == "observer" and self.policy.observer:
            return "wearer-and-observer"
        return None

    def _way(
        self, node: Node, removal: Removal, change: bool
    ) -> tuple[Removal, tuple[Step, ...], Node, tuple[Op, ...]]:
        kinds = {self.items[item].kind for item in removal}
        pairs, zone = list(node.pairs), node.zone
        steps = list(self._cleaned(node.dirty, node.helped, bool(pairs)))
        if change:
            steps += [
                Step(act="doff", item=pairs.pop()),
                Step(act="hand-hygiene", agent=self.policy.hand_agent),
                Step(act="don", item="fresh-gloves"),
            ]
            pairs.append("fresh-gloves")
        if zone == "room" and kinds & OVER_AIRWAYS:
            zone = "anteroom"
            steps.append(Step(act="move", to=zone))
        if "coverall" in kinds:  # the suit is opened, and the gloves that opened it are cleaned before it comes down
            steps.append(Step(act="release", item=removal[0]))
            steps += self._cleaned(True, False, bool(pairs))
        who = self._two if kinds & TAKES_TWO else None
        for part in [removal] if len(removal) == 1 else [removal[:2], removal[2:]]:
            steps.append(Step.model_validate({"act": "doff", "items": part, **({"who": who} if who else {})}))
        if "gloves" in kinds:
            pairs.pop()
            steps.append(Step(act="inspect", who="observer"))
        ops, moment = self._compiled(tuple(steps), node, removal[0])
        after = Node(
            node.gone | {removal},
            moment.worn,
            tuple(pairs),
            True,
            who is not None,
            zone,
            node.changed or change,
            tuple(sorted(moment.cleaned.items())),
        )
        return removal, tuple(steps), after, ops

    def _cleaned(self, dirty: bool, helped: bool, gloved: bool) -> Iterator[Step]:
        if dirty and not gloved:
            yield Step(act="hand-hygiene", agent=self.policy.hand_agent)
        elif dirty and self.policy.disinfect_gloves:
            who = {"who": self._two} if helped and self._two else {}
            yield Step.model_validate({"act": "disinfect-gloves", "agent": self.policy.glove_agent, **who})

    def _last(self, node: Node) -> Iterator[Step]:
        dirty, helped, gloved = node.dirty, node.helped, bool(node.pairs)
        shoes = [item for item in node.worn if self.items[item].kind in ("shoes", "boots")]
        if self.policy.wipe_shoes_last and shoes and gloved:
            yield from self._cleaned(dirty, helped, gloved)
            yield Step(act="wipe", item=shoes[0], agent=self.policy.surface_agent)
            dirty, helped = True, False
        yield from self._cleaned(dirty, helped, gloved)
        if gloved:
            yield Step(act="doff", item=node.pairs[-1])
            yield Step(act="hand-hygiene", agent=self.policy.hand_agent)

    # ---- what it touches ----

    def _soiled(self) -> tuple[frozenset[int], dict[str, str]]:
        loads = loads_on_arrival(self.catalogue, self.worn, self.setting)
        tables = self.compiler.tables
        now = {tables.surface(name) for name in loads} | ({tables.surface("air.room")} if self.setting.air else set())
        now, _ = run(self._without_faults(list(self.compiler.arrival(self.worn))), now, frozenset())
        return frozenset(now), loads

    def _compiled(self, steps: tuple[Step, ...], node: Node, removal: str) -> tuple[tuple[Op, ...], Moment]:
        """Events are named by act, removal, and how many of the same came before in it: once in every order."""
        moment = Moment(node.worn, node.zone, MappingProxyType(dict(node.cleaned)))
        ops, seen = list[Op](), dict[str, int]()
        for step in steps:
            one = taught_step(step, moment.worn, self.catalogue)
            seen[one.id] = seen.get(one.id, 0) + 1
            more, moment = self.compiler.step(replace(one, id=f"{one.id}~{removal}~{seen[one.id]}"), moment, 0)
            ops += more
        return self._without_faults(ops), moment

    def _without_faults(self, ops: list[Op]) -> tuple[Op, ...]:
        events = self.compiler.tables.event_list()
        return tuple(op for op in ops if op.event == NO_EVENT or events[op.event].sort in ("slip", "omission"))


def _meant(item: Item, kinds: tuple[str, ...], layer: str | None) -> bool:
    if item.kind not in kinds:
        return False
    if item.kind != "gloves" or layer is None:
        return True
    return item.layer in {"outer": ("outer",), "inner": ("inner", "single")}[layer]


def _leading_to(end: int, edges: list[Edge]) -> list[Edge]:
    """The edges that lie on some way to the end."""
    useful = {end}
    kept = []
    for edge in reversed(edges):
        if edge.end in useful:
            useful.add(edge.start)
            kept.append(edge)
    return kept[::-1]


def run(ops: tuple[Op, ...], soiled: set[int], happening: frozenset[int]) -> tuple[set[int], set[int]]:
    """What is contaminated after these operations, and what was at any time in them, when these events happen."""
    now, ever = set(soiled), set(soiled)
    for op in ops:
        if op.verb == "fresh":
            now.discard(op.a)
        elif op.verb == "clean":
            if op.event not in happening:
                now.discard(op.a)
        elif op.event == NO_EVENT or op.event in happening:
            if op.a in now:
                now.add(op.b)
                ever.add(op.b)
            elif op.verb == "contact" and op.b in now:
                now.add(op.a)
                ever.add(op.a)
    return now, ever

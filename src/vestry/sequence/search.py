"""Exact search for the doffing order: dynamic programming over what is still worn, with dominance.

Cost, lexicographic: cut sets of what was ever reached, size by size (size 0 is zero-slip reach), within a size by
severity;
then what is contaminated at the end; then steps; then a canonical order. A label holds what is worn, the value of every
surface, what was ever reached, changes spent and steps; one label dominates another only if it is at most the other
in all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from types import MappingProxyType

from vestry.contact.check import SEVERITY, count_class
from vestry.contact.compiler import Compiler, Moment
from vestry.contact.cutsets import AS_TAUGHT, NEVER, Antichain, at_most, run_cut_sets
from vestry.contact.exposure import Setting, loads_on_arrival
from vestry.contact.program import NO_EVENT, Op
from vestry.contact.surfaces import endpoint_classes
from vestry.contact.taught import TaughtStep, taught_step
from vestry.sequence.errors import NoPlan
from vestry.sequence.kept import KeptSteps
from vestry.sequence.removal import Hands, Hygiene, Placed, Removal, lowest_gloves, removals_of, top_gloves
from vestry.sequence.rules import allowed
from vestry.trade import Catalogue
from vestry.trade.values import Rule

SEARCH_ORDER = 2
MOST_LABELS = 20_000
Values = dict[int, Antichain]


@dataclass(frozen=True)
class Start:
    """Where a search starts: what is worn, the hands, and what is contaminated (None: what the room put there).

    also    contaminated on top of what the room put there
    settles what is worn touches what lies beneath, as the checker's replay has it from any start
    first   steps that are settled and come before any removal is chosen; `hands` is the state after them
    """

    worn: tuple[str, ...]
    hands: Hands
    contaminated: frozenset[str] | None = None
    also: frozenset[str] = frozenset()
    settles: bool = False
    first: tuple[Placed, ...] = ()


@dataclass(frozen=True)
class Found:
    """The best order found. `optimal`: shown to be so; else the best of those looked at."""

    placed: tuple[Placed, ...]
    removals: tuple[str, ...]
    cost: tuple[int, ...]
    optimal: bool
    labels: int


@dataclass(frozen=True)
class _Label:
    worn: tuple[str, ...]
    zone: str
    hands: Hands
    cleaned: MappingProxyType[str, str]
    now: Values
    ever: Values
    placed: tuple[Placed, ...]
    removals: tuple[str, ...]
    changes: int


class Search:
    """One search; compiled steps are kept, since most are met many times."""

    def __init__(
        self,
        hygiene: Hygiene,
        catalogue: Catalogue,
        setting: Setting,
        rules: Iterable[Rule],
        zone: str,
        progress: Callable[[int], None] | None = None,
        faults: frozenset[str] = frozenset(),
        shared: KeptSteps | None = None,
    ) -> None:
        self.shared = shared
        self.hygiene, self.catalogue, self.setting = hygiene, catalogue, setting
        self.rules, self.zone, self.progress, self.faults = tuple(rules), zone, progress, faults
        self.compiler = Compiler(catalogue, setting)
        self.kept: dict[object, tuple[list[Op], Moment]] = {}
        self.labels = 0

    def run(self, start: Start) -> Found:
        """The best order from here."""
        first = self._first(start)
        self.removals = removals_of(first.worn, self.catalogue)
        layer = [first]
        complete = True
        for _ in self.removals:
            groups: dict[object, list[_Label]] = {}
            for label in layer:
                for following in self._expand(label):
                    self._keep(groups.setdefault(self._key(following), []), following)
            layer = [label for group in groups.values() for label in group]
            if not layer:
                raise NoPlan((), "no order of removals keeps every rule in force and frees what is trapped")
            self.labels += len(layer)
            if self.progress is not None:
                self.progress(self.labels)
            if len(layer) > MOST_LABELS:
                layer, complete = sorted(layer, key=self._cost)[:MOST_LABELS], False
        goals = [self._finish(label) for label in layer]
        best = min(goals, key=self._full_cost)
        return Found(best.placed, best.removals, self._full_cost(best)[0], complete, self.labels)

    # ---- labels ---------------------------------------------------------------------------------------------

    def _first(self, start: Start) -> _Label:
        surface = self.compiler.tables.surface
        now: Values
        if start.contaminated is None:
            now = {surface(name): AS_TAUGHT for name in loads_on_arrival(self.catalogue, start.worn, self.setting)}
            ops = list(self.compiler.arrival(start.worn))
        else:
            now = {surface(name): AS_TAUGHT for name in start.contaminated}
            ops = list(self.compiler.arrival(start.worn)) if start.settles else []
        now.update((surface(name), AS_TAUGHT) for name in sorted(start.also))
        if self.setting.air:
            now[surface("air.room")] = AS_TAUGHT
        ever = dict(now)
        run_cut_sets(self._taught_ops(ops), now, ever, SEARCH_ORDER)
        loads = loads_on_arrival(self.catalogue, start.worn, self.setting) if start.contaminated is None else {}
        loaded = start.contaminated or {*loads, *start.also}
        classes = endpoint_classes(self.catalogue, (*start.worn, "fresh-gloves"), loaded)
        self.endpoints = tuple((surface(name), kind) for name, kind in sorted(classes.items()))
        label = _Label(start.worn, self.zone, start.hands, MappingProxyType({}), now, ever, (), (), 0)
        return self._walk(label, list(start.first), start.hands) if start.first else label

    def _expand(self, label: _Label) -> Iterable[_Label]:
        left = [removal for removal in self.removals if removal.name not in label.removals]
        still = [item for removal in left for item in removal.items]
        for removal in left:
            others = [item for item in still if item not in removal.items]
            if not self.hygiene.possible(removal, label.worn):
                continue
            if not all(allowed(item, others, self.rules, self.catalogue) for item in removal.items):
                continue
            if not self.hygiene.wants_change(removal, label.hands.gloves) or self._gloves_may_go(label):
                yield self._removed(label, removal)
            if self._may_change(label) and self._gloves_may_go(label):
                changed, hands = self.hygiene.change(label.worn, label.hands, removal.name)
                yield self._removed(replace(self._walk(label, changed, hands), changes=label.changes + 1), removal)

    def _may_change(self, label: _Label) -> bool:
        gloves = label.hands.gloves
        return (
            self.hygiene.policy.glove_change == "search"
            and label.changes == 0
            and gloves is not None
            and self.catalogue.items[gloves].layer in ("inner", "single")
            and gloves == top_gloves(label.worn, self.catalogue) == lowest_gloves(label.worn, self.catalogue)
        )

    def _gloves_may_go(self, label: _Label) -> bool:
        """Whether the rules let the gloves on the hands come off now, to be changed."""
        gloves = label.hands.gloves
        return gloves is not None and allowed(gloves, label.worn, self.rules, self.catalogue)

    def _removed(self, label: _Label, removal: Removal) -> _Label:
        before, hands = self.hygiene.before(removal, label.worn, label.hands, label.zone)
        label = self._walk(label, before, hands)
        off, hands = self.hygiene.take_off(removal, label.worn, label.hands)
        return replace(self._walk(label, off, hands), removals=(*label.removals, removal.name))

    def _finish(self, label: _Label) -> _Label:
        last, hands = self.hygiene.finish(label.worn, label.hands)
        return self._walk(label, last, hands)

    def _walk(self, label: _Label, placed: list[Placed], hands: Hands) -> _Label:
        now, ever = dict(label.now), dict(label.ever)
        moment = Moment(label.worn, label.zone, label.cleaned)
        for one in placed:
            ops, moment = self._compiled(one, moment)
            run_cut_sets(ops, now, ever, SEARCH_ORDER)
        return replace(
            label,
            worn=moment.worn,
            zone=moment.zone,
            hands=hands,
            cleaned=moment.cleaned,
            now=now,
            ever=ever,
            placed=(*label.placed, *placed),
        )

    def _compiled(self, placed: Placed, moment: Moment) -> tuple[list[Op], Moment]:
        key = (placed.step, placed.context, moment.worn, moment.zone, tuple(sorted(moment.cleaned.items())))
        if key not in self.kept:
            ops, after = self._compile(placed, moment, (self.setting, *key))
            self.kept[key] = (self._taught_ops(ops), after)
        return self.kept[key]

    def _compile(self, placed: Placed, moment: Moment, key: object) -> tuple[list[Op], Moment]:
        found = self.shared.get(key, self.compiler.tables) if self.shared is not None else None
        if found is not None:
            return found
        step = self._in_context(taught_step(placed.step, moment.worn, self.catalogue), placed.context)
        ops, after = self.compiler.step(step, moment, 0)
        if self.shared is not None:
            self.shared.keep(key, ops, after, self.compiler.tables)
        return ops, after

    @staticmethod
    def _in_context(step: TaughtStep, context: str) -> TaughtStep:
        """Events are named by act and by the removal that they belong to, not by place, so that orders can be

        Compared.
        """
        return replace(step, id=f"{step.id}~{context}")

    def _taught_ops(self, ops: list[Op]) -> list[Op]:
        """What happens as taught or with a slip; a fault that is known to be there always acts."""
        events = self.compiler.tables.event_list()
        found = []
        for op in ops:
            event = events[op.event] if op.event != NO_EVENT else None
            if event is None or event.sort in ("slip", "omission"):
                found.append(op)
            elif event.id in self.faults:
                found.append(replace(op, event=NO_EVENT))
        return found

    # ---- dominance and cost ---------------------------------------------------------------------------------

    @staticmethod
    def _key(label: _Label) -> object:
        return (label.worn, label.zone, label.hands, frozenset(label.cleaned), label.changes)

    def _keep(self, group: list[_Label], new: _Label) -> None:
        if any(self._dominates(old, new) for old in group):
            return
        group[:] = [old for old in group if not self._dominates(new, old)]
        group.append(new)

    @staticmethod
    def _dominates(one: _Label, other: _Label) -> bool:
        """Equal labels keep the canonically first; else at most the other in every value and in steps."""
        if len(one.placed) > len(other.placed):
            return False
        if len(one.placed) == len(other.placed) and one.removals > other.removals:
            return False
        return _all_at_most(one.now, other.now) and _all_at_most(one.ever, other.ever)

    def _cost(self, label: _Label) -> tuple[int, ...]:
        vectors = [count_class(self.endpoints, label.ever, kind, SEARCH_ORDER) for kind in SEVERITY]
        return tuple(vector[size] for size in range(SEARCH_ORDER + 1) for vector in vectors)

    def _full_cost(self, label: _Label) -> tuple[tuple[int, ...], tuple[str, ...]]:
        end = [count_class(self.endpoints, label.now, kind, SEARCH_ORDER) for kind in SEVERITY]
        at_end = tuple(vector[size] for size in range(SEARCH_ORDER + 1) for vector in end)
        return ((*self._cost(label), *at_end, len(label.placed)), label.removals)


def _all_at_most(one: Values, other: Values) -> bool:
    for surface, value in one.items():
        if (
            value
            and value is not (theirs := other.get(surface, NEVER))
            and value != theirs
            and not at_most(value, theirs)
        ):
            return False
    return True

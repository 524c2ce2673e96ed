"""The best doffing order by a general solver: the graph of all orders as a model for OR-Tools CP-SAT.

A solver variable says of each edge of the graph whether the order goes along it. For every set of up to two errors
there is a variable for each surface at each node that can be contaminated there on one way and clean on another.
Touches only ever add, so it is enough to say what follows from what: the least value that the solver finds is the true
one. The cost is minimised in its own order: what was ever reached by no error, by one, by two, each worst class first;
then what is contaminated at the end; then steps. What is found for one part of the cost is held while the next is
minimised.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from ortools.sat.python import cp_model

from bench.peers.undressing import Edge, Graph, run
from vestry.trade import Step

WORST_FIRST = ("mucosa", "skin", "helper", "clothing", "place")
ORDER = 2
SECONDS = 120.0  # for each part of the cost

Errors = frozenset[int]
NONE: Errors = frozenset()
Literal = Any  # a variable of the solver, or True or False


class NotProved(Exception):
    """The solver did not show in its time that nothing costs less."""


@dataclass(frozen=True)
class Optimum:
    """The least cost of all orders, as the search writes it, and one order that has it."""

    cost: tuple[int, ...]
    removals: tuple[str, ...]
    steps: tuple[Step, ...]
    variables: int
    constraints: int


def optimum(graph: Graph, workers: int = 1) -> Optimum:
    """The least cost over all ways through the graph. NotProved when the time does not suffice."""
    return _Model(graph, workers).solve()


class _Model:
    def __init__(self, graph: Graph, workers: int) -> None:
        self.graph, self.workers = graph, workers
        self.model = cp_model.CpModel()
        self.along = [self.model.new_bool_var("") for _ in graph.edges]
        self.into: dict[int, list[int]] = {}
        self.out: dict[int, list[int]] = {}
        for number, edge in enumerate(graph.edges):
            self.into.setdefault(edge.end, []).append(number)
            self.out.setdefault(edge.start, []).append(number)
        self.before = self._events_before()
        self.reached: dict[Errors, _Reached] = {}
        self._one_way()

    def solve(self) -> Optimum:
        cost: list[int] = []
        for when in ("ever", "at_end"):
            for size in range(ORDER + 1):
                for kind in WORST_FIRST:
                    cost.append(self._least(self._counted(when, size, kind)))
        cost.append(self._least(sum(len(e.steps) * x for e, x in zip(self.graph.edges, self.along, strict=True))))
        way = [edge for edge, chosen in zip(self.graph.edges, self.chosen, strict=True) if chosen]
        return Optimum(
            tuple(cost),
            tuple(edge.removal[0] for edge in way if edge.removal),
            tuple(step for edge in way for step in edge.steps),
            len(self.model.proto.variables),
            len(self.model.proto.constraints),
        )

    # ---- one way through the graph ----

    def _one_way(self) -> None:
        for node in range(self.graph.nodes):
            leaving = [self.along[number] for number in self.out.get(node, ())]
            if node == 0:
                self.model.add_exactly_one(leaving)
            elif node == self.graph.end:
                self.model.add_exactly_one([self.along[number] for number in self.into[node]])
            else:
                self.model.add(sum(leaving) == sum(self.along[number] for number in self.into.get(node, ())))

    def _events_before(self) -> list[Errors]:
        """The events that can have happened when one comes to a node."""
        found: list[set[int]] = [set() for _ in range(self.graph.nodes)]
        for edge in self.graph.edges:
            found[edge.end] |= found[edge.start] | edge.events
        return [frozenset(one) for one in found]

    # ---- what is contaminated ----

    def of(self, errors: Errors) -> _Reached:
        """What these errors lead to; made when it is asked for."""
        if errors not in self.reached:
            self.reached[errors] = _Reached(self, errors)
        return self.reached[errors]

    def _counted(self, when: str, size: int, kind: str) -> Any:
        """How many minimal sets of this size there are to surfaces of this class: a sum for the solver."""
        surfaces = [number for number, name in self.graph.endpoints.items() if name == kind]
        total: list[Literal] = []
        for errors in combinations(sorted(self.before[self.graph.end]), size):
            here = self.of(frozenset(errors))
            parts = [self.of(frozenset(part)) for part in combinations(errors, size - 1)] if size else []
            for surface in surfaces:
                reached = here.answer(when, surface)
                smaller = [part.answer(when, surface) for part in parts]
                if reached is False or any(one is True for one in smaller):
                    continue
                smaller = [one for one in smaller if one is not False]
                if not smaller:
                    total.append(reached)
                    continue
                counts = self.model.new_bool_var("")
                clause = [counts, *smaller, *([] if reached is True else [~reached])]
                self.model.add_bool_or(clause)
                total.append(counts)
        return sum(int(one) if isinstance(one, bool) else one for one in total)

    # ---- the solver ----

    def _least(self, value: Any) -> int:
        """The least value, shown; held from here on."""
        if isinstance(value, int):
            return value
        self.model.minimize(value)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = self.workers
        solver.parameters.random_seed = 1
        solver.parameters.max_time_in_seconds = SECONDS
        status = solver.solve(self.model)
        if status != cp_model.OPTIMAL:
            raise NotProved(solver.status_name(status))
        least = round(solver.objective_value)
        self.model.clear_objective()
        self.model.add(value == least)
        self.model.clear_hints()
        self.chosen = [solver.boolean_value(one) for one in self.along]
        for one, chosen in zip(self.along, self.chosen, strict=True):
            self.model.add_hint(one, chosen)
        return least


class _Reached:
    """What is contaminated at each node, and what was at any time, when these errors happen.

    Some surfaces are contaminated at a node whichever way led there, some on no way; only for the others does the
    solver need a variable. Where none of the errors can have happened yet, it is the same as without them.
    """

    def __init__(self, model: _Model, errors: Errors) -> None:
        self.model, self.graph, self.errors = model, model.graph, errors
        size = self.graph.nodes
        self.low: list[set[int]] = [set() for _ in range(size)]
        self.high: list[set[int]] = [set() for _ in range(size)]
        self.low_ever: list[set[int]] = [set() for _ in range(size)]
        self.high_ever: list[set[int]] = [set() for _ in range(size)]
        self.open: dict[tuple[int, int], Literal] = {}
        self.open_ever: dict[int, Literal] = {}
        self._bound()
        self._tie()

    def answer(self, when: str, surface: int) -> Literal:
        """Whether the surface was ever reached, or is contaminated at the end."""
        end = self.graph.end
        if when == "ever":
            if surface in self.low_ever[end]:
                return True
            return self.open_ever.get(surface, False) if surface in self.high_ever[end] else False
        return self.at(end, surface)

    def at(self, node: int, surface: int) -> Literal:
        """Whether a surface is contaminated at a node, if the order goes through it."""
        same = self.model.before[node] & self.errors
        if same != self.errors:
            return self.model.of(same).at(node, surface)
        if surface in self.low[node]:
            return True
        if surface not in self.high[node]:
            return False
        if (node, surface) not in self.open:
            self.open[node, surface] = self.model.model.new_bool_var("")
        return self.open[node, surface]

    def _bound(self) -> None:
        first = set(self.graph.soiled)
        self.low[0] = self.high[0] = first
        self.low_ever[0] = self.high_ever[0] = first
        met: set[int] = {0}
        for edge in self.graph.edges:
            low, low_during = self._through(edge, self.low[edge.start])
            high, high_during = self._through(edge, self.high[edge.start])
            low_ever = self.low_ever[edge.start] | low_during
            if edge.end in met:
                self.low[edge.end] &= low
                self.low_ever[edge.end] &= low_ever
            else:
                met.add(edge.end)
                self.low[edge.end], self.low_ever[edge.end] = set(low), set(low_ever)
            self.high[edge.end] |= high
            self.high_ever[edge.end] |= self.high_ever[edge.start] | high_during

    def _through(self, edge: Edge, soiled: set[int]) -> tuple[set[int], set[int]]:
        return run(edge.ops, soiled, self.errors)

    def _tie(self) -> None:
        """What follows from going along an edge, and from what was contaminated where it starts."""
        add, end = self.model.model, self.graph.end
        asked = {n for n in self.graph.endpoints if n in self.high_ever[end] and n not in self.low_ever[end]}
        self.open_ever = {number: add.new_bool_var("") for number in asked}
        for number, edge in enumerate(self.graph.edges):
            along = ~self.model.along[number]
            here = self.model.before[edge.end] & self.errors == self.errors
            for reason, after, during in self._reasons(edge):
                clause = [along] if reason is True else [along, ~reason]
                for surface in during & asked:
                    add.add_bool_or([*clause, self.open_ever[surface]])
                if not here:
                    continue
                for surface in after - self.low[edge.end]:
                    there = self.at(edge.end, surface)
                    if there is not True and there is not reason:
                        add.add_bool_or([*clause, there])

    def _reasons(self, edge: Edge) -> Iterator[tuple[Literal, set[int], set[int]]]:
        """For what is certain at the start, and each surface that is not: what it leads to along the edge."""
        low = self.low[edge.start]
        after, during = self._through(edge, low)
        yield True, after, during
        for surface in self.high[edge.start] - low:
            reason = self.at(edge.start, surface)
            more, on_the_way = self._through(edge, {surface})
            if reason is not False:
                yield reason, more - (after if reason is not True else set()), on_the_way - during

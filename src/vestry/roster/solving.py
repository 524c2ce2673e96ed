"""Solving, so that the answer is the same everywhere: one worker, a fixed seed, effort counted in work, not seconds.

A roster is found in three goes: as few empty places as can be; then work spread evenly; then, of those equally good,
the one of the smallest sum of tickets. Where the third is proved there is one such roster, however many workers search.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpModel, CpSolver, IntVar

SEED = 1
Values = Mapping[int, int]


@dataclass(frozen=True)
class Goal:
    """What is to be small. `least`: nothing below this exists; what reaches it is proved without a search."""

    cost: Any
    least: int = 0


@dataclass(frozen=True)
class Goes:
    """How far each go came: its value, and whether no better one exists."""

    value: int
    proved: bool


def solve(model: CpModel, effort: float, workers: int = 1, as_hinted: bool = False) -> tuple[CpSolver, str]:
    """The solver after a search, and its status in a word: optimal, feasible, infeasible, unknown.

    as_hinted    no search: what is hinted holds, the rest follows
    """
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = SEED
    solver.parameters.max_deterministic_time = effort
    solver.parameters.fix_variables_to_their_hinted_value = as_hinted
    # Tried on rosters of forty people: without these the first go stays far from its bound.
    solver.parameters.symmetry_level = 0
    solver.parameters.linearization_level = 2
    solver.parameters.cp_model_probing_level = 0
    names = {cp_model.OPTIMAL: "optimal", cp_model.FEASIBLE: "feasible", cp_model.INFEASIBLE: "infeasible"}
    return solver, names.get(solver.solve(model), "unknown")


def in_turn(
    model: CpModel, goals: Sequence[Goal], effort: float, workers: int = 1, start: Sequence[tuple[IntVar, int]] = ()
) -> tuple[CpSolver | None, list[Goes]]:
    """The goals one after the other, each kept while the next is sought. None: no solution was found.

    Each go starts from what the last one found, so it can only do better. What is not settled settles nothing after it.
    """
    found: list[Goes] = []
    last: CpSolver | None = None
    if start:
        for variable, value in start:
            model.add_hint(variable, value)
        solver, status = solve(model, effort, workers, as_hinted=True)
        if status in ("optimal", "feasible"):
            last = solver
            _go_on_from(model, last)
    for goal in goals:
        if last is not None and last.value(goal.cost) <= goal.least:
            found.append(Goes(goal.least, True))
        else:
            model.minimize(goal.cost)
            solver, status = solve(model, effort, workers)
            if status not in ("optimal", "feasible"):
                if last is not None:
                    found.append(Goes(round(last.value(goal.cost)), False))
                return last, found
            last = solver
            value = round(solver.objective_value)
            found.append(Goes(value, status == "optimal" or value <= goal.least))
        if not found[-1].proved:
            break
        model.add(goal.cost <= found[-1].value)
        _go_on_from(model, last)
    return last, found


def _go_on_from(model: CpModel, solver: CpSolver) -> None:
    model.clear_hints()  # type: ignore[no-untyped-call]
    for number in range(len(solver.response_proto.solution)):
        variable = model.get_int_var_from_proto_index(number)
        model.add_hint(variable, solver.value(variable))

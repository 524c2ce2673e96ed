"""The lead's table from case to procedure: what is practised for which case, its gaps and its conflicts.

A row says for one hazard, one presentation and one task which approved version is taken; or that none is. A case with
several tasks takes one version that is named for each of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from vestry.sequence import Case, Plan, requirements_of
from vestry.sequence.requirements import unmet
from vestry.trade import Catalogue

Cell = tuple[str, str, str]
"""Hazard, presentation, task."""

Trouble = Literal["retired", "fact-retired", "review-due", "newer-version", "other-case", "not-enough", "not-at-hand"]
HARD: frozenset[Trouble] = frozenset({"retired", "fact-retired", "not-enough", "not-at-hand"})
"""What keeps a row from being taken on the night; the others are told."""


@dataclass(frozen=True)
class Fit:
    """What the table says for a case.

    sort       one: it is to be taken; none: no row, or one that says none; several: the tasks name different ones
    versions   every version that is named for a task of the case, in the order of the tasks
    missing    tasks that no row names a version for
    """

    sort: Literal["one", "none", "several"]
    versions: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()


def cells_of(case: Case) -> tuple[Cell, ...]:
    """The rows that a case looks at: one for each task."""
    return tuple((case.hazard, case.presentation, task) for task in case.tasks)


def fit(case: Case, table: Mapping[Cell, str | None]) -> Fit:
    """What a table (cell to version) says for a case. A task without a row leaves the case without a procedure."""
    named = [(task, table.get((case.hazard, case.presentation, task))) for task in case.tasks]
    versions = tuple(dict.fromkeys(version for _, version in named if version is not None))
    missing = tuple(task for task, version in named if version is None)
    if missing or not versions:
        return Fit("none", versions, missing)
    return Fit("one" if len(versions) == 1 else "several", versions)


def lacking(plan: Plan, case: Case, catalogue: Catalogue) -> tuple[str, ...]:
    """The requirements of a case that what the plan wears does not meet, by id, under the plan's jurisdiction."""
    worn = tuple(item for item in plan.worn if item in catalogue.items)
    return tuple(
        dict.fromkeys(
            one.requirement
            for one in unmet(catalogue, worn, requirements_of(case, catalogue, plan.policy.jurisdiction))
        )
    )


def not_at_hand(plan: Plan, case: Case) -> tuple[str, ...]:
    """Items of the plan that the case's gear does not hold. Nothing where the case names no gear."""
    return tuple(item for item in plan.worn if item not in case.gear) if case.gear else ()


def gaps(
    hazards: Iterable[str], presentations: Iterable[str], tasks: Iterable[str], table: Mapping[Cell, str | None]
) -> tuple[Cell, ...]:
    """Cells without a procedure."""
    tasks, presentations = tuple(tasks), tuple(presentations)
    return tuple(
        (hazard, presentation, task)
        for hazard in hazards
        for presentation in presentations
        for task in tasks
        if table.get((hazard, presentation, task)) is None
    )

"""Exact search for the doffing order: its states and seconds, and its cost confirmed by OR-Tools CP-SAT."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass

from bench.measured import Measured, Resources, Table, ms
from bench.peers.cp_sat import NotProved, optimum
from bench.peers.undressing import graph_of
from bench.size import Size
from vestry.sequence import Case, NoPlan, Policy, search_order
from vestry.sequence.ensemble import ensemble_of
from vestry.trade import Catalogue, load_catalogue

MOST_CONFIRMED = 5  # removals; more, and the solver takes minutes
PLAIN = {"with-hair-cover": False, "with-foot-covers": False}
ENSEMBLES: tuple[tuple[str, dict[str, object]], ...] = (
    ("ebola", {**PLAIN, "respirator": "belt-blower", "glove-change": "search", "disinfect-gloves": False}),
    ("ebola", {"with-foot-covers": False, "glove-change": "none"}),
    ("mpox-clade-i", {**PLAIN, "with-apron": True}),
    ("ebola", {"respirator": "helmet-blower"}),
    ("suspected-hcid", {"garment": "coverall", "with-hair-cover": False, "doffing-zone": "room"}),
    ("mers", {"doffing-zone": "room"}),
    ("marburg", {"respirator": "helmet-blower", "hands-on": "observer", "wipe-shoes-last": True}),
    ("mers", {**PLAIN, "glove-change": "search"}),
    ("mers", {"respirator": "belt-blower", "glove-change": "search"}),
    ("ebola", {}),
    ("suspected-hcid", {"with-apron": True}),
    ("suspected-hcid", {"garment": "coverall", "foot-covers": "high", "with-hood": True, "with-apron": True}),
    ("mers", {"with-apron": True, "foot-covers": "high", "glove-change": "search"}),
)


@dataclass(frozen=True)
class Searched:
    """One ensemble: what the search found, and what the solver says."""

    name: str
    removals: int
    states: int
    seconds: float
    cost: tuple[int, ...] | None
    confirmed: tuple[int, ...] | None
    confirming: float | None
    not_proved: str = ""


def measure(size: Size) -> Measured:
    """The list of ensembles, the small ones confirmed."""
    used = Resources()
    found = list(searched(ENSEMBLES[: size.ensembles]))
    rows = tuple(_row(one) for one in found)
    head = ("case", "removals", "states kept", "search, ms", "CP-SAT, s", "cost equal")
    confirmed = [one for one in found if one.confirming is not None]
    said = (
        "Each is one ensemble under one policy; the search starts cold and shares nothing. A state is a label that was "
        "kept: what is worn, every surface's cut sets, what was ever reached, steps.",
        f"Up to {MOST_CONFIRMED} removals the cost is confirmed by a model of the same problem for CP-SAT, written "
        "apart from the search: every order as a way through a graph, the same rules and the same cost, minimised part "
        "by part to proven optimality.",
        f"{sum(one.cost == one.confirmed for one in confirmed)} of {len(confirmed)} costs confirmed.",
    )
    return Measured(
        "search",
        "Exact search against OR-Tools CP-SAT",
        said,
        (),
        (Table("Ensembles", head, rows),),
        tuple(_differences(found)),
        used.used(),
    )


def searched(ensembles: tuple[tuple[str, dict[str, object]], ...]) -> Iterator[Searched]:
    """Search each of these, and confirm the small ones."""
    catalogue = load_catalogue()
    for hazard, fields in ensembles:
        case, policy = Case(hazard=hazard), Policy.model_validate(fields)
        worn = tuple(one.item for one in ensemble_of(case, policy, catalogue))
        yield _searched(_name(hazard, fields), case, policy, worn, catalogue)


def _searched(name: str, case: Case, policy: Policy, worn: tuple[str, ...], catalogue: Catalogue) -> Searched:
    begun = time.perf_counter()
    cost, states, removals = None, 0, 0
    try:
        found = search_order(case, policy, catalogue, worn)
        cost, states, removals = found.cost, found.labels, len(found.removals)
    except NoPlan:
        pass
    seconds = time.perf_counter() - begun
    if removals > MOST_CONFIRMED:
        return Searched(name, removals, states, seconds, cost, None, None)
    begun = time.perf_counter()
    try:
        graph = graph_of(case, policy, catalogue, worn)
        confirmed = None if graph is None else optimum(graph).cost
    except NotProved as why:
        return Searched(name, removals, states, seconds, cost, None, time.perf_counter() - begun, str(why))
    return Searched(name, removals, states, seconds, cost, confirmed, time.perf_counter() - begun)


def _differences(found: list[Searched]) -> Iterator[str]:
    for one in found:
        if one.not_proved:
            yield f"{one.name}: CP-SAT did not prove its cost in its time ({one.not_proved})"
        elif one.confirming is not None and one.cost != one.confirmed:
            yield f"{one.name}: the search costs {one.cost}, CP-SAT {one.confirmed}"


def _name(hazard: str, fields: dict[str, object]) -> str:
    return ", ".join([hazard, *(f"{name} {value}" for name, value in fields.items())])


def _row(one: Searched) -> tuple[str, ...]:
    confirming = "-" if one.confirming is None else f"{one.confirming:.1f}"
    equal = "-" if one.confirming is None else "yes" if one.cost == one.confirmed else "no"
    return one.name, str(one.removals), str(one.states), ms(one.seconds), confirming, equal

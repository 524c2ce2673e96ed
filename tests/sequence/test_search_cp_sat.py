"""The search against OR-Tools CP-SAT: a model of the same problem, written apart, finds the same least cost."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from types import MappingProxyType

import pytest
from bench.peers.cp_sat import optimum
from bench.peers.undressing import graph_of
from tests.sequence.brute_force import BruteForce
from tests.sequence.test_search import BARE, ensembles, seeded

from vestry.sequence import Case, NoPlan, Policy, search_order
from vestry.sequence.ensemble import ensemble_of
from vestry.sequence.search import Search
from vestry.trade import load_catalogue
from vestry.trade.values import Rule

QUICK = [
    ("ebola", {**BARE, "respirator": "belt-blower", "glove-change": "search", "disinfect-gloves": False}),
    ("ebola", {**BARE, "respirator": "belt-blower"}),
]
MORE = [
    ("ebola", {"with-foot-covers": False, "glove-change": "none"}),
    ("mpox-clade-i", {**BARE, "with-apron": True}),
    ("ebola", {"respirator": "helmet-blower"}),
    ("suspected-hcid", {"garment": "coverall", "with-hair-cover": False, "doffing-zone": "room"}),
    ("mers", {"doffing-zone": "room"}),
    ("mers", {"respirator": "belt-blower", "glove-change": "search"}),
    ("marburg", {"respirator": "helmet-blower", "hands-on": "observer", "wipe-shoes-last": True}),
]


def assert_confirmed(case: Case, policy: Policy, worn: tuple[str, ...]) -> None:
    """The solver proves the search's cost the least, and its own order has that cost when it is compiled whole."""
    catalogue = load_catalogue()
    graph = graph_of(case, policy, catalogue, worn)
    if graph is None:
        with pytest.raises(NoPlan):
            search_order(case, policy, catalogue, worn)
        return
    found, best = search_order(case, policy, catalogue, worn), optimum(graph)

    assert found.cost == best.cost
    assert BruteForce(case, policy, catalogue, worn).cost(list(best.steps)) == best.cost


def worn_for(case: Case, policy: Policy) -> tuple[str, ...]:
    return tuple(one.item for one in ensemble_of(case, policy, load_catalogue()))


@pytest.mark.parametrize(("hazard", "fields"), QUICK)
def test_cp_sat_confirms_the_cost_of_a_small_ensemble(hazard: str, fields: dict[str, object]) -> None:
    case, policy = Case(hazard=hazard), Policy.model_validate(fields)

    assert_confirmed(case, policy, worn_for(case, policy))


@pytest.mark.slow
@pytest.mark.timeout(600)
@pytest.mark.parametrize(("hazard", "fields"), MORE)
def test_cp_sat_confirms_the_cost_of_more_ensembles(hazard: str, fields: dict[str, object]) -> None:
    case, policy = Case(hazard=hazard), Policy.model_validate(fields)

    assert_confirmed(case, policy, worn_for(case, policy))


@pytest.mark.slow
@pytest.mark.timeout(900)
@pytest.mark.parametrize("presentation", ["dry", "wet"])
def test_cp_sat_confirms_the_cost_of_ensembles_that_the_requirements_produce(presentation: str) -> None:
    case = Case.model_validate({"hazard": "lassa", "presentation": presentation})
    small = [
        (worn, policy)
        for respirator in ("disposable", "belt-blower", "helmet-blower")
        for worn, policy in ensembles(case, respirator).items()
        if len(BruteForce(case, policy, load_catalogue(), worn).removals) <= 4
    ]
    assert len(small) >= 3
    for worn, policy in small[:: max(1, len(small) // 6)]:
        assert_confirmed(case, policy, worn)


@pytest.mark.slow
@pytest.mark.timeout(600)
@pytest.mark.parametrize("seed", [1])
def test_cp_sat_confirms_the_cost_of_seeded_ensembles(seed: int) -> None:
    assert_confirmed(*seeded(seed))


def test_rules_that_go_round_in_a_circle_leave_no_way_through_the_graph() -> None:
    catalogue = load_catalogue()
    source = {"kind": "order", "source": "judgement", "certainty": "judgement"}
    circle = [
        Rule.model_validate({"id": f"{one}-first", "before": (one,), "after": (other,), **source})
        for one, other in pairwise(["gown", "shield", "gown"])
    ]
    rules = MappingProxyType({**catalogue.rules, **{rule.id: rule for rule in circle}})
    case, policy = Case(hazard="mers"), Policy()

    assert graph_of(case, policy, replace(catalogue, rules=rules), worn_for(case, policy)) is None


@pytest.mark.slow
def test_a_search_that_keeps_one_order_for_each_worn_set_costs_more_and_the_solver_says_so(monkeypatch) -> None:
    """Dominance has to compare everything: what this test takes away is what the solver confirms."""
    case, policy = Case(hazard="ebola"), Policy.model_validate({"with-foot-covers": False, "glove-change": "none"})
    worn, catalogue = worn_for(case, policy), load_catalogue()
    graph = graph_of(case, policy, catalogue, worn)
    monkeypatch.setattr(Search, "_dominates", staticmethod(lambda one, other: True))

    assert graph is not None
    assert search_order(case, policy, catalogue, worn).cost > optimum(graph).cost

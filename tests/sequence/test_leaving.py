"""The way out from a stated start: what the search counts is what the checker counts when it replays it."""

from __future__ import annotations

import pytest
from tests.sequence.test_search import counted

from vestry.sequence import Case, NoPlan, Policy, assure_order, order_of, plan_case
from vestry.sequence.leaving import Now, way_out
from vestry.sequence.plan import EnsembleItem, WayStart
from vestry.sequence.removal import Hygiene
from vestry.sequence.rules import rules_in_force
from vestry.sequence.search import Search, Start
from vestry.sequence.setting import setting_for
from vestry.trade import load_catalogue

CASE, POLICY, CATALOGUE = Case(hazard="ebola"), Policy(), load_catalogue()
BESIDES = ("gown-fluid-resistant.back", "place.seat", "respirator-disposable.straps")
HALF_WAY = ("face-shield.visor", "place.dispenser", "respirator-disposable.front", "washable-shoes.upper")


@pytest.fixture(scope="module")
def ensemble() -> tuple[EnsembleItem, ...]:
    return plan_case(CASE, POLICY, CATALOGUE).ensemble


def searched(plan, monkeypatch) -> tuple[int, ...]:
    """The cost that the search itself had for a way out: the start of the plan, searched again."""
    found = []
    run = Search.run
    monkeypatch.setattr(Search, "run", lambda self, start: found.append(run(self, start)) or found[-1])
    way_out(plan.case, plan.policy, Now(plan.ensemble, plan.start), CATALOGUE)
    return found[-1].cost


@pytest.mark.parametrize(
    ("start", "gone"),
    [
        (None, ()),
        (WayStart(zone="doffing-area", contaminated=BESIDES), ()),
        (
            WayStart(zone="doffing-area", contaminated=HALF_WAY, alone=True),
            ("outer-gloves-long", "gown-fluid-resistant"),
        ),
    ],
    ids=["fresh from the room", "soiled besides", "half undressed"],
)
def test_the_cost_of_the_search_is_what_the_checker_counts_from_the_same_start(ensemble, start, gone, monkeypatch):
    now = Now(tuple(one for one in ensemble if one.item not in gone), start)
    plan = way_out(CASE, POLICY, now, CATALOGUE).plan

    checked = assure_order(order_of(plan), CATALOGUE, 2)

    cost = searched(plan, monkeypatch)
    assert cost[:-1] == (*counted(checked, "ever"), *counted(checked, "at_end"))
    assert plan.start == start


def test_more_contamination_at_the_start_never_costs_less(ensemble, monkeypatch):
    fresh, soiled = (
        searched(way_out(CASE, POLICY, Now(ensemble, start), CATALOGUE).plan, monkeypatch)
        for start in (None, WayStart(zone="doffing-area", contaminated=BESIDES))
    )

    as_taught = slice(0, 5)  # by severity, with no error
    assert all(few <= many for few, many in zip(fresh[as_taught], soiled[as_taught], strict=True))
    assert fresh[as_taught] != soiled[as_taught]  # the straps reach skin with every step as taught


def test_nothing_worn_is_no_way_out():
    with pytest.raises(NoPlan, match="nothing is worn"):
        way_out(CASE, POLICY, Now(()), CATALOGUE)


def test_rules_that_no_order_keeps_are_left_and_named(ensemble):
    """Two rules of two publishers, each other's opposite: out one must, and what is broken is said."""
    policy = POLICY.model_copy(update={"switched_on": ("shield-before-garment", "garment-before-shield")})

    left = way_out(CASE, policy, Now(ensemble), CATALOGUE)

    assert set(left.rules_left) & {"shield-before-garment", "garment-before-shield"}
    with pytest.raises(NoPlan):
        Search(
            Hygiene(CASE, policy, CATALOGUE),
            CATALOGUE,
            setting_for(CASE, CATALOGUE),
            rules_in_force(CASE, policy, CATALOGUE),
            "doffing-area",
        ).run(Start(left.plan.worn, hands(left.plan.worn)))


def hands(worn):
    from vestry.sequence.removal import Hands, top_gloves

    return Hands(top_gloves(worn, CATALOGUE), False)

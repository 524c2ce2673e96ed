"""A substitution played again: the same stay on the same chance, with another plan."""

from __future__ import annotations

import pytest
from tests.procedure.example import plan

from vestry.readiness import checked, forecast
from vestry.readiness.again_with import beside, with_plan
from vestry.readiness.stay import Ensemble, Person, Shift, Stay, StockLot, Work
from vestry.readiness.stay_checks import bills
from vestry.trade import load_catalogue

CATALOGUE = load_catalogue()
SHORT = "face-shield"


def stay(shields: int) -> Stay:
    asked = Stay(
        starts="2027-03-01T07:00",
        hours=24,
        shifts=[Shift(id="whole", from_hour=7, hours=24)],
        people=[Person(id="p", count=6, may=("wearer", "observer", "assistant"), shifts=("whole",))],
        ensembles=[Ensemble(id="care", plan=plan())],
        work=[Work(id="care", ensemble="care", by="wearer", inside=1)],
        draws=100,
    )
    worn = bills(asked, CATALOGUE)["care"].items
    rows = [StockLot(item=item, count=shields if item == SHORT else 400) for item in worn]
    rows.append(StockLot(item="goggles", count=400))
    return checked(asked.model_copy(update={"stock": tuple(rows)}), CATALOGUE, "stay", {})


@pytest.mark.slow
def test_what_is_proposed_is_what_the_forecast_proposes_and_is_played_on_the_same_stay():
    asked = stay(10)
    found = beside(asked, CATALOGUE)

    assert found.first == forecast(asked, CATALOGUE)
    (one,) = (again for again in found.again if again.instead.without == SHORT)
    assert one.instead.found == "planned"
    assert one.instead.clean
    assert one.found is not None
    assert (one.found.seed, one.found.draws, one.found.entries) == (
        found.first.seed,
        found.first.draws,
        found.first.entries,
    )
    assert SHORT not in {pool.item for pool in one.found.pools} or one.found.sustains.value >= 0
    assert "goggles" in {pool.item for pool in one.found.pools}


def test_nothing_runs_out_and_nothing_is_played_again():
    assert beside(stay(400), CATALOGUE).again == ()


def test_what_is_new_and_not_on_the_shelf_counts_as_none_of_it():
    asked = stay(400)
    bare = asked.model_copy(update={"stock": tuple(row for row in asked.stock if row.item != SHORT)})
    again = with_plan(bare, "care", plan(), CATALOGUE)

    assert [row.count for row in again.stock if row.item == SHORT] == [0]

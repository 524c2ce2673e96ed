"""What is told of a scanned lot or unit, and which lots an entry's use is posted to."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.procedure.example import example

from vestry.stock import Lot, OfLot, from_scans, lot_troubles, team_use
from vestry.trade import load_catalogue

TODAY = datetime.date(2026, 11, 27)
GOWN = Lot(id="1", item="gown-impermeable", size="l", number="A", expiry=TODAY)
scans = st.lists(st.builds(OfLot, st.sampled_from("abc"), st.integers(0, 5)), max_size=6)


def test_a_lot_on_its_last_day_in_their_size_has_nothing_against_it() -> None:
    assert lot_troubles(GOWN, TODAY, held=False, worn=["gown-impermeable"], size="l") == ()
    assert lot_troubles(GOWN, TODAY, held=False, worn=["gown-impermeable"]) == ()


def test_everything_against_a_lot_is_told_at_once_worst_first() -> None:
    found = lot_troubles(GOWN, TODAY + datetime.timedelta(1), held=True, worn=["coverall"], size="m", model="Heron 3")
    assert found == ("on-hold", "expired", "not-worn", "wrong-size")
    other = GOWN.model_copy(update={"item": "respirator-disposable", "model": "Egret 1"})
    assert lot_troubles(other, TODAY, held=False, worn=["respirator-disposable"], model="Heron 3") == ("wrong-model",)


@pytest.mark.property
@given(st.integers(0, 20), scans)
def test_scans_cover_what_was_used_in_their_order_and_never_more(quantity: int, scanned: list[OfLot]) -> None:
    taken, assumed = from_scans(quantity, scanned)

    singly = [one.lot for one in scanned for _ in range(one.quantity)][:quantity]
    assert [one.lot for one in taken for _ in range(one.quantity)] == singly
    assert assumed == quantity - len(singly)


def test_the_team_uses_what_its_own_dressing_puts_on() -> None:
    plan, catalogue = example().plan, load_catalogue()
    for member in plan.team:
        used = team_use(plan, member.role, catalogue)
        assert used
        assert set(used) <= {*member.worn, "fresh-gloves"}
    assert team_use(plan.model_copy(update={"team": ()}), "observer", catalogue) == {}

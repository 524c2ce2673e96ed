"""Where a recipe goes wrong: the other reading of it is worked out, and is weaker."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from vestry.room.dilution import mix_liquid, mix_tablets
from vestry.room.strength import strength
from vestry.room.traps import traps
from vestry.trade.operations import load_operations

OPERATIONS = load_operations()


def of(stock: str, wanted: str, *, usual: bool = False) -> dict[str, dict[str, Fraction]]:
    start, end = (strength(one, "stock", OPERATIONS) for one in (stock, wanted))
    found = traps(mix_liquid(start, end, Fraction(10)), start, usual=usual, in_spoons=False)
    return {one.code: dict(one.numbers) for one in found}


def test_one_in_ten_read_as_one_and_ten_is_said_with_what_it_would_be():
    found = of("5", "0.5")

    assert found["made-up-to"] == {"litres": 10}
    assert found["parts-either-way"] == {"whole": 10, "gives": Fraction(5, 11)}
    assert "usual-strength" not in found


def test_a_label_that_nobody_read_is_said():
    assert of("5", "0.5", usual=True)["usual-strength"] == {"percent": 5}


def test_stock_used_as_it_is_has_no_parts_to_read_wrongly():
    assert set(of("0.5", "0.5")) == {"label"}


def test_whole_tablets_are_said_only_where_they_make_it_stronger():
    wanted = strength("0.5", "wanted", OPERATIONS)
    even, odd = (mix_tablets(Fraction(1000), wanted, litres) for litres in (Fraction(1), Fraction("1.1")))

    assert [one.code for one in traps(even, None, usual=False, in_spoons=False)] == ["made-up-to"]
    assert [one.code for one in traps(odd, None, usual=False, in_spoons=False)] == ["made-up-to", "whole-tablets"]


@given(st.fractions(min_value=Fraction(1, 10), max_value=50, max_denominator=1000), st.integers(2, 200))
def test_the_other_reading_is_always_weaker_than_what_is_wanted(stock: Fraction, whole: int):
    start = strength(f"{float(stock):.6f}", "stock", OPERATIONS)
    wanted = type(start)(start.percent / whole, "x", "available-chlorine")
    found = {
        one.code: dict(one.numbers) for one in traps(mix_liquid(start, wanted), start, usual=False, in_spoons=False)
    }

    assert found["parts-either-way"]["gives"] < wanted.percent
    assert "made-up-to" not in found

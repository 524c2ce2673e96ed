"""The heat index against published values: the formula, what clothing adds by family, the reference values."""

from __future__ import annotations

from fractions import Fraction

import pytest

from vestry.heat import screen, wbgt
from vestry.heat.index import IndexRefused, work_class
from vestry.trade.operations import load_operations
from vestry.trade.quantities import celsius

pytestmark = pytest.mark.published
OPERATIONS = load_operations()


def test_the_example_without_sun() -> None:
    """ISO 7243 as coded in pythermalcomfort 4.8.1 (seen): wet bulb 25, globe 32."""
    assert wbgt(Fraction(25), Fraction(32)) == Fraction("27.1")


def test_with_sun_the_air_counts_a_tenth() -> None:
    assert wbgt(Fraction(25), Fraction(32), Fraction(30)) == Fraction("26.9")


# ACGIH values by an annex to a national standard (seen in two copies); ISO 7243:2017 Annex F from memory; Bernard and
# colleagues 2007 (seen).
ADDED = {
    ("acgih", "work-clothes"): 0, ("acgih", "short-sleeves"): -1, ("acgih", "sms-coverall"): 0.5,
    ("acgih", "polyolefin-coverall"): 1, ("acgih", "double-woven"): 3, ("acgih", "vapour-barrier-hood"): 11,
    ("iso-2017", "sms-coverall"): 0, ("iso-2017", "polyolefin-coverall"): 2, ("iso-2017", "double-woven"): 3,
    ("iso-2017", "vapour-barrier-apron"): 4, ("iso-2017", "vapour-barrier-no-hood"): 10,
    ("iso-2017", "vapour-barrier-hood"): 11, ("iso-2017", "vapour-barrier-over-coverall"): 12,
    ("measured-2007", "microporous-coverall"): 2.5, ("measured-2007", "vapour-barrier-measured"): 7.5,
}  # fmt: skip


@pytest.mark.parametrize(("family", "garment"), ADDED)
def test_what_clothing_adds(family: str, garment: str) -> None:
    rows = {row.family: row for row in screen(Fraction(20), 2, OPERATIONS, garment=garment).rows}
    assert float(rows[family].effective) == 20 + ADDED[family, garment]


def test_a_hood_adds_one_degree_within_its_family_and_families_are_never_mixed() -> None:
    rows = {
        row.family: row for row in screen(Fraction(20), 2, OPERATIONS, garment="polyolefin-coverall", hood=True).rows
    }

    assert {name: float(row.effective) for name, row in rows.items()} == {"acgih": 22.0, "iso-2017": 23.0}
    for name, row in rows.items():
        assert {one.family for one in row.added} == {name}
        assert {one.limit.edition for one in row.limits} <= {name}


# ISO 7243:1989 (seen, quoted in a manual; still and moving air) and ISO 7243:2017 Annex A (from memory).
USED_2017, NOT_USED_2017 = (33, 30, 28, 26, 25), (32, 29, 26, 23, 20)


@pytest.mark.parametrize("work", range(5))
@pytest.mark.parametrize("used", [True, False])
def test_the_reference_value_itself_is_still_within(work: int, used: bool) -> None:
    limit = (USED_2017 if used else NOT_USED_2017)[work]
    at, above = (
        next(row for row in screen(index, work, OPERATIONS, acclimatised=used).rows if row.family == "iso-2017")
        for index in (Fraction(limit), limit + Fraction(1, 100))
    )
    assert [one.over for one in at.limits] == [False]
    assert [one.over for one in above.limits] == [True]


def test_the_edition_of_1989_tells_still_air_from_moving_air_in_hard_work() -> None:
    row = next(row for row in screen(Fraction(24), 4, OPERATIONS, acclimatised=True).rows if row.family == "iso-1989")
    assert {one.limit.air: (one.limit.celsius, one.over) for one in row.limits} == {
        "still": (23.0, True),
        "moving": (25.0, False),
    }


@pytest.mark.parametrize(("rate", "work"), [(65, 0), (66, 1), (130, 1), (200, 2), (230, 3), (260, 3), (261, 4)])
def test_classes_of_work_by_metabolic_rate(rate: int, work: int) -> None:
    """ISO 7243:1989, W per square metre (seen)."""
    assert work_class(Fraction(rate), OPERATIONS) == work


@pytest.mark.parametrize(
    ("wet", "globe", "index"), [(86, 86, None), (299, 305, None), (None, None, 86), (None, None, 299)]
)
def test_fahrenheit_and_kelvin_without_a_word_are_refused(wet, globe, index) -> None:
    """30 degrees Celsius are 86 Fahrenheit, 26 are 299 kelvin: no index at which anybody works is above 60."""
    with pytest.raises(IndexRefused, match="86F"):
        screen(wbgt(Fraction(wet), Fraction(globe)) if wet else Fraction(index), 2, OPERATIONS)


def test_fahrenheit_with_its_letter_is_the_same_degree() -> None:
    assert celsius("86 °F") == celsius("86F") == celsius("30") == 30

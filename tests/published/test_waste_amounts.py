"""Waste against what was published: every figure lies in the stretch that is shown, and its unit is right."""

from __future__ import annotations

from fractions import Fraction

import pytest

from vestry.room.waste import amounts
from vestry.trade.operations import load_operations
from vestry.trade.quantities import CUBIC_FOOT, US_GALLON

pytestmark = pytest.mark.published
OPERATIONS = load_operations()
POUND = Fraction("0.45359237")

# Am J Infect Control 2014, one unit (seen), and press of 2014 (seen; not peer reviewed): per patient-day.
PUBLISHED = {
    "23 cubic feet": ("solid", "litres", 23 * CUBIC_FOOT * 1000),
    "more than 50 lb": ("solid", "kilograms", 50 * POUND),
    "2.3 gallons": ("liquid", "litres", Fraction("2.3") * US_GALLON * 1000),
    "4 bags": ("solid", "bags", Fraction(4)),
    "8 bags": ("solid", "bags", Fraction(8)),
    "eight drums of 55 gallons": ("solid", "litres", 8 * 55 * US_GALLON * 1000),
    "peak of 40 bags, two patients": ("solid", "bags", Fraction(20)),
    "5 litres": ("liquid", "litres", Fraction(5)),
}


@pytest.mark.parametrize("name", PUBLISHED)
def test_the_published_figure_lies_in_the_stretch(name: str) -> None:
    of, measure, figure = PUBLISHED[name]
    found = {(one.of, one.measure): one for one in amounts(OPERATIONS, patient_days=Fraction(1))}[of, measure]

    assert float(found.low) * 0.999 <= float(figure) <= float(found.high) * 1.001


def test_the_stretch_is_that_of_the_sources_and_no_wider() -> None:
    """Solid waste 0.65 to 1.67 m3 a patient-day: the uncertainty to plan with."""
    found = {(one.of, one.measure): one for one in amounts(OPERATIONS, patient_days=Fraction(1))}["solid", "litres"]
    assert float(found.low) == pytest.approx(650, abs=2)
    assert float(found.high) == pytest.approx(1670, abs=5)


def test_more_than_is_kept_as_more_than() -> None:
    found = {(one.of, one.measure): one for one in amounts(OPERATIONS, patient_days=Fraction(3))}["solid", "kilograms"]
    assert found.or_more
    assert float(found.low) == pytest.approx(3 * 22.68)

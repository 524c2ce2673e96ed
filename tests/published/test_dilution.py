"""Disinfectant against published recipes: formulas, examples, and two printed sheets that are wrong.

Where a sheet rounds what it prints, the recipe counts as giving the strength within 6 percent (vestry.room.recipe).
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from vestry.room.dilution import mix_liquid, mix_powder, mix_tablets
from vestry.room.recipe import Recipe, Stock, read_recipe
from vestry.room.strength import Strength, strength
from vestry.trade.operations import load_operations

pytestmark = pytest.mark.published
OPERATIONS = load_operations()


def percent(text: str) -> Strength:
    return strength(text, "stock", OPERATIONS)


def liquid(text: str) -> Stock:
    return Stock("liquid", percent(text))


def powder(text: str, product: str | None = None) -> Stock:
    return Stock("powder", percent(text), product=product)


def recipe(text: str, stock: Stock, wanted: str) -> Recipe:
    return read_recipe(text, stock, OPERATIONS, percent(wanted))


# ---- US CDC and ICAN, Appendix E, 2020 (seen) ----


def test_parts_of_water() -> None:
    assert mix_liquid(percent("3.5"), percent("0.5")).parts_water == 6


def test_grams_in_a_litre() -> None:
    """Printed 14.3; some handouts cut it to 14.2."""
    assert float(mix_powder(percent("35"), percent("0.5")).grams or 0) == pytest.approx(14.2857, abs=1e-4)


def test_degrees_chlorum() -> None:
    assert percent("1 degree chlorum").percent == Fraction(3, 10)
    assert percent("12 °chl").percent == Fraction(36, 10)


# ---- PLOS ONE, Iqbal and colleagues, 2016 (seen) ----


@pytest.mark.parametrize(("written", "same"), [("0.05", "500 ppm"), ("0.5", "5000 mg/L"), ("1", "10000 mg/L")])
def test_milligrams_in_a_litre(written: str, same: str) -> None:
    assert percent(written).percent == percent(same).percent


# ---- Precision Laboratories, 2018 (seen) ----


@pytest.mark.parametrize(("label", "about"), [("5.25 % NaOCl", 5.0), ("8.25 % NaOCl", 7.85)])
def test_hypochlorite_is_not_available_chlorine(label: str, about: float) -> None:
    assert float(percent(label).percent) == pytest.approx(about, abs=0.01)


# ---- UNICEF 2013 and MSF 2004 (seen): grams and millilitres are rounded as printed ----


@pytest.mark.parametrize(
    ("grams", "wanted"), [("0.7 g per L", "0.05"), ("3 g per L", "0.2"), ("30 g per L", "2"), ("15 g/L", "1")]
)
def test_powder_of_70_percent(grams: str, wanted: str) -> None:
    assert recipe(grams, powder("70"), wanted).fits is True


@pytest.mark.parametrize(("ml", "wanted"), [("10 mL", "0.05"), ("40 mL", "0.2"), ("400 mL", "2")])
def test_liquid_of_5_percent_made_up_to_a_litre(ml: str, wanted: str) -> None:
    assert recipe(f"{ml} made up to 1 L", liquid("5"), wanted).fits is True


def test_400_ml_in_1_litre_is_read_in_two_ways() -> None:
    """Added to a litre it gives 1.43 percent, made up to one 2.0."""
    found = recipe("400 mL in 1 litre", liquid("5"), "2")

    assert found.ambiguous
    assert found.fits is None
    assert {one.says: round(float(one.most), 2) for one in found.readings} == {"added-to": 1.43, "made-up-to": 2.0}


# ---- Cholera manual, Appendix 14, 2019 (seen): a stock of 1 percent ----


def test_a_stock_of_one_percent() -> None:
    assert recipe("15 g/L", powder("70"), "1").fits is True
    assert recipe("33 g/L", powder("30"), "1").fits is True
    assert recipe("250 mL added to 1 L water", liquid("5"), "1").fits is True
    assert recipe("70 mL made up to 1 L", liquid("15"), "1").fits is True
    assert mix_tablets(Fraction(1000), percent("1")).tablets == 10
    tablets = Stock("tablet", mg_per_tablet=Fraction(1000))
    assert read_recipe("10 tablets per L", tablets, OPERATIONS, percent("1")).fits is True


# ---- journal table PMC4925840 (seen) ----


@pytest.mark.parametrize(
    ("stock", "per_litre"),
    [("70", "7.0 g/L"), ("25", "20 g/L"), ("58.8", "8.5 g/L")],
    ids=["hth", "chloramine", "nadcc"],
)
def test_powders_for_half_a_percent(stock: str, per_litre: str) -> None:
    """NaDCC: 8.5 mg of the salt release 5 mg of chlorine (MSF), that is 58.8 percent."""
    assert recipe(per_litre, powder(stock), "0.5").fits is True


def test_bleach_for_half_a_percent() -> None:
    assert mix_liquid(percent("5"), percent("0.5")).millilitres == 100


# ---- UNICEF 2014, level tablespoons (seen on a question board) ----


def test_level_tablespoons() -> None:
    """10 x 14.5 g x 0.70 in 20 L is 0.51 percent."""
    found = recipe("10 level tablespoons in 20 L", powder("70", "hth"), "0.5").readings[0]
    assert float(found.least) == pytest.approx(0.49, abs=0.005)
    assert float(found.most) == pytest.approx(0.525, abs=0.005)
    assert found.fits == "yes"
    assert recipe("1 level tablespoon in 20 L", powder("70", "hth"), "0.05").fits is True


def test_the_sheet_that_prints_10_litres_for_9_is_a_little_too_weak() -> None:
    assert recipe("1 L + 9 L water", liquid("0.5"), "0.05").fits is True
    assert recipe("1 L + 10 L water", liquid("0.5"), "0.05").readings[0].fits == "too-weak"


# ---- one in ten: State of Washington, WAC 296-823-14055, note (seen) ----


def test_94_ml_made_up_to_946_is_one_part_in_ten_of_the_whole() -> None:
    made = recipe("94 mL made up to 946 mL", liquid("5.25"), "0.525")
    assert made.fits is True
    assert recipe("10 mL made up to 946 mL", liquid("5.25"), "0.0525").fits is True


def test_1_to_10_is_read_in_two_ways() -> None:
    found = recipe("1:10", liquid("5.25"), "0.5")

    assert [(one.says, round(float(one.most), 3)) for one in found.readings] == [
        ("parts-of-the-whole", 0.525),
        ("parts-of-water", 0.477),
    ]


# ---- two published sheets that are wrong ----


def test_a_sheet_of_2014_is_a_hundred_times_too_weak_however_it_is_read() -> None:
    """UNICEF-derived: 0.5 percent from 3.5 percent bleach, 2 spoons in 20 L. A spoon holds 15 mL, or 10."""
    found = recipe("2 spoons in 20 L", liquid("3.5"), "0.5")

    assert {one.fits for one in found.readings} == {"too-weak"}
    assert all(0.009 < float(one.times or 0) < 0.012 for one in found.readings if one.spoon == 15)
    assert all(0.006 < float(one.times or 0) < 0.008 for one in found.readings if one.spoon == 10)
    assert {one.spoon for one in found.readings} == {10, 15}
    right = mix_liquid(percent("3.5"), percent("0.5"), Fraction(20))
    assert float(right.stock_litres or 0) == pytest.approx(2.9, abs=0.05)
    assert right.parts_water == 6


def test_a_poster_of_2014_contradicts_itself() -> None:
    """US CDC, stacks 25805, bleach of 2.6 percent: mild is 1 + 100, and also 1 strong + 9. The second is right."""
    strong = recipe("1 part bleach + 4 parts water", liquid("2.6"), "0.5")
    assert strong.fits is True
    assert float(strong.readings[0].most) == pytest.approx(0.52)
    first = recipe("1 part bleach + 100 parts water", liquid("2.6"), "0.05").readings[0]
    second = recipe("1 part strong + 9 parts water", liquid("0.52"), "0.05").readings[0]
    assert (round(float(first.most), 3), first.fits) == (0.026, "too-weak")
    assert (round(float(second.most), 3), second.fits) == (0.052, "yes")

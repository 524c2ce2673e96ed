"""Laws of dilution and of recipes: what is mixed gives what is wanted; a recipe has one reading or is refused."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.room.dilution import CannotMake, contact_time, keeps, mix_liquid, mix_powder, mix_tablets
from vestry.room.recipe import Stock, read_recipe
from vestry.room.strength import DilutionRefused, Strength, strength, strength_bought
from vestry.trade.operations import load_operations

OPERATIONS = load_operations()
percents = st.fractions(min_value=Fraction(1, 1000), max_value=100).map(lambda one: Strength(one, "", ""))
volumes = st.fractions(min_value=Fraction(1, 100), max_value=1000)


@pytest.mark.parametrize("powder", ["35", "70", "65 %"])
def test_a_powders_strength_given_as_a_liquids_is_no_millilitres(powder: str) -> None:
    with pytest.raises(DilutionRefused, match="is a powder's; liquids are sold up to 15"):
        strength_bought(powder, "liquid", "stock", OPERATIONS)

    assert strength_bought(powder, "powder", "stock", OPERATIONS) == strength(powder, "stock", OPERATIONS)
    assert strength_bought("15", "liquid", "stock", OPERATIONS).percent == 15


@pytest.mark.property
@given(percents, percents, volumes)
def test_a_liquid_mixed_as_told_has_the_strength_that_was_wanted(
    one: Strength, other: Strength, litres: Fraction
) -> None:
    wanted, stock = sorted((one, other), key=lambda each: each.percent)
    mix = mix_liquid(stock, wanted, litres)
    assert mix.stock_litres is not None
    assert mix.water_litres is not None
    assert mix.parts_water is not None

    assert mix.stock_litres + mix.water_litres == litres
    assert stock.percent * mix.stock_litres / litres == wanted.percent
    assert stock.percent / (1 + mix.parts_water) == wanted.percent


@pytest.mark.property
@given(percents, percents)
def test_nothing_stronger_than_the_stock_is_made(one: Strength, other: Strength) -> None:
    weak, strong = sorted((one, other), key=lambda each: each.percent)
    if weak.percent < strong.percent:
        for make in (mix_liquid, mix_powder):
            with pytest.raises(CannotMake):
                make(weak, strong)


@pytest.mark.property
@given(st.fractions(min_value=1, max_value=5000), percents, volumes)
def test_whole_tablets_are_never_too_few_and_never_one_too_many(
    mg: Fraction, wanted: Strength, litres: Fraction
) -> None:
    mix = mix_tablets(mg, wanted, litres)
    assert mix.tablets_in_all is not None

    assert mix.gives >= wanted.percent
    assert (mix.tablets_in_all - 1) * mg / 10_000 / litres < wanted.percent


BLEACH = Stock("liquid", strength("5", "stock", OPERATIONS))
ONE_READING = {
    "1 part + 9 parts water": Fraction(1, 2),
    "1 + 9": Fraction(1, 2),
    "1 part bleach and 9 parts of water": Fraction(1, 2),
    "1 part bleach to 9 parts water": Fraction(1, 2),
    "1 part in 10 parts in total": Fraction(1, 2),
    "1:10 in all": Fraction(1, 2),
    "100 mL made up to 1 L": Fraction(1, 2),
    "100 ml of bleach made up to 1 litre": Fraction(1, 2),
    "0.1 L to make 1 L": Fraction(1, 2),
    "250 mL added to 1 L water": Fraction(1),
    "250 mL + 1 L water": Fraction(1),
    "1 us gal made up to 10 us gal": Fraction(1, 2),
}


@pytest.mark.parametrize("text", ONE_READING)
def test_a_recipe_that_says_which_has_one_reading(text: str) -> None:
    found = read_recipe(text, BLEACH, OPERATIONS)

    assert not found.ambiguous
    assert found.readings[0].most == ONE_READING[text]


def test_a_recipe_is_too_weak_or_too_strong_beyond_the_rounding_of_printed_ones() -> None:
    wanted = strength("0.5", "wanted", OPERATIONS)
    fits = {
        parts: read_recipe(f"1 part + {parts} parts water", BLEACH, OPERATIONS, wanted).readings[0].fits
        for parts in ("10", "9.6", "9", "8.5", "8")
    }
    assert fits == {"10": "too-weak", "9.6": "yes", "9": "yes", "8.5": "yes", "8": "too-strong"}


AMBIGUOUS = [
    "1:10", "1 : 10", "1/10", "1 in 10", "1 part in 10 parts", "1 part to 10 parts", "10 parts to 1 part",
    "400 mL in 1 litre", "400 ml per L", "400 mL/L", "400 mL to 1 L", "400 mL for 1 L",
]  # fmt: skip


@pytest.mark.parametrize("text", AMBIGUOUS)
def test_a_recipe_that_does_not_say_which_is_shown_in_both_readings(text: str) -> None:
    found = read_recipe(text, BLEACH, OPERATIONS)

    assert found.ambiguous
    assert len({one.most for one in found.readings}) == 2
    assert found.fits is None


def test_spoons_of_a_liquid_are_read_by_each_size_that_a_spoon_has() -> None:
    readings = read_recipe("2 spoons in 20 L", BLEACH, OPERATIONS).readings

    assert {(one.says, one.spoon) for one in readings} == {
        (says, spoon) for says in ("made-up-to", "added-to") for spoon in (10, 15)
    }


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1 cup in 5 litres", "cup holds differs"),
        ("4 teaspoons in 1 L", "teaspoon holds differs"),
        ("1 cup in 5 gallons", "cup holds differs"),
        ("0,5 L made up to 5 L", "decimals after a point"),
    ],
)
def test_measures_that_differ_are_refused_with_what_to_write(text: str, says: str) -> None:
    with pytest.raises(DilutionRefused, match=says):
        read_recipe(text, BLEACH, OPERATIONS)


@pytest.mark.parametrize(
    "text",
    ["1 cup bleach to 9 cups water", "1 gallon of bleach + 9 gallons of water", "1 glass bleach + 9 glasses water"],
)
def test_one_vessel_on_both_sides_is_a_part(text: str) -> None:
    assert {one.most for one in read_recipe(text, BLEACH, OPERATIONS).readings} >= {Fraction(1, 2)}


@pytest.mark.parametrize(
    "text", ["", "plenty", "1:0:3", "1:", "0 mL in 1 L", "5 mL in 0 L", "2 L made up to 1 L", "1:10 " * 60, "9" * 90]
)
def test_what_is_no_recipe_is_refused(text: str) -> None:
    with pytest.raises(DilutionRefused):
        read_recipe(text, BLEACH, OPERATIONS)


@pytest.mark.slow
@given(st.text(max_size=60))
def test_no_text_does_anything_but_be_read_or_refused(text: str) -> None:
    for stock in (
        BLEACH,
        Stock("powder", strength("70", "powder", OPERATIONS)),
        Stock("tablet", mg_per_tablet=Fraction(5)),
    ):
        with suppress(DilutionRefused):
            assert read_recipe(text, stock, OPERATIONS).readings


def test_what_is_made_keeps_a_day_whatever_a_laboratory_found() -> None:
    to_work_by, known = keeps("bleach", OPERATIONS)
    assert to_work_by is not None
    assert to_work_by.hours == 24
    assert {one.setting for one in known} == {"field", "laboratory", "model"}


def test_contact_time_stands_in_one_place() -> None:
    assert contact_time("surfaces", OPERATIONS).minutes == 15
    assert contact_time("laundry", OPERATIONS).no_longer
    with pytest.raises(KeyError):
        contact_time("walls", OPERATIONS)

"""Sizes of gloves and gowns, and the arithmetic and levels of fit tests, against the tables that print them."""

import datetime

import pytest

from vestry.people import (
    FitTest,
    Hand,
    glove_size,
    gowns_long_enough,
    harmonic_mean,
    judge,
    mid_calf_length,
    overall_factor,
    sizes_of_width,
)
from vestry.trade.standards import load_standards

pytestmark = pytest.mark.published
STANDARDS = load_standards()
DAY = datetime.date(2026, 3, 2)


# EN 420:2003+A1:2009, hand sizes: number, circumference and length of the hand in mm, least length of the glove.
# All six rows as reproduced at granberg.no.
EN_420 = [
    (6, "xs", 152, 160, 220),
    (7, "s", 178, 171, 230),
    (8, "m", 203, 182, 240),
    (9, "l", 229, 192, 250),
    (10, "xl", 254, 204, 260),
    (11, "xxl", 279, 215, 270),
]


@pytest.mark.parametrize(("number", "size", "circumference", "length", "glove"), EN_420)
def test_a_hand_of_the_printed_measures_gets_the_printed_size(number, size, circumference, length, glove):
    fit = glove_size(Hand(circumference_mm=circumference, length_mm=length), STANDARDS)

    assert (fit.row.number, fit.row.size, fit.row.glove_length_mm, fit.by_length) == (number, size, glove, None)


@pytest.mark.parametrize("number", range(6, 12))
def test_the_size_number_is_the_circumference_in_inches(number):
    """EN 420: a hand of N inches has size N."""
    assert glove_size(Hand(circumference_mm=round(number * 25.4)), STANDARDS).row.number == number


# EN 455-2 as reproduced in a glove size guide: XS at most 80, S 80 +- 10, M 95 +- 10, L 110 +- 10, XL at least 110.
@pytest.mark.parametrize(
    ("width", "sizes"),
    [(69, ("xs",)), (75, ("xs", "s")), (88, ("s", "m")), (95, ("m",)), (102, ("m", "l")), (115, ("l", "xl"))],
)
def test_a_medical_gloves_width_may_be_of_two_letters(width, sizes):
    assert sizes_of_width(width, STANDARDS, "en-455") == sizes


# ASTM D3577, table in the FDA summary K202765: nominal widths in mm, tolerance 6.
@pytest.mark.parametrize(
    ("size", "width"),
    [("5.5", 70), ("6", 76), ("6.5", 83), ("7", 89), ("7.5", 95), ("8", 102), ("8.5", 108), ("9", 114)],
)
def test_a_surgical_glove_of_the_nominal_width_has_its_number(size, width):
    assert size in sizes_of_width(width, STANDARDS, "astm-d3577")
    assert size in sizes_of_width(width - 6, STANDARDS, "astm-d3577")
    assert size not in sizes_of_width(width + 7, STANDARDS, "astm-d3577")


# US GSA, A-A-53443: size, chest of the finished gown, back length, sleeve inseam, in inches.
@pytest.mark.parametrize(
    ("size", "chest", "back", "sleeve"),
    [
        ("s", (49, None), (47.5, 53), 20),
        ("m", (54, 56), (47.5, 53), 20),
        ("l", (58, 61), (48, 54), 21),
        ("xl", (62, 63), (48, 54), 21),
    ],
)
def test_the_gown_table_is_the_printed_one_to_the_millimetre(size, chest, back, sleeve):
    row = next(one for one in STANDARDS.gown_sizes.values() if one.size == size)
    most = None if chest[1] is None else chest[1] * 25.4

    assert row.chest_least_mm == pytest.approx(chest[0] * 25.4, abs=0.6)
    assert row.chest_most_mm == (None if most is None else pytest.approx(most, abs=0.6))
    assert (row.back_least_mm, row.back_most_mm) == (
        pytest.approx(back[0] * 25.4, abs=0.6),
        pytest.approx(back[1] * 25.4, abs=0.6),
    )
    assert row.sleeve_least_mm == pytest.approx(sleeve * 25.4, abs=0.6)


# Computed for this project from shares of stature recalled from body segment tables (neck base 0.865, knee 0.285,
# ankle 0.039): mid-calf is 0.162 of the height, so the way down is 0.703 of it.
@pytest.mark.parametrize(("height", "needed"), [(1600, 1125), (1700, 1196), (1850, 1301), (2000, 1406)])
def test_a_gown_must_be_seven_tenths_of_the_height_to_reach_mid_calf(height, needed):
    assert mid_calf_length(height, STANDARDS) == needed


def test_the_shortest_gowns_of_the_table_do_for_the_middling_and_none_surely_for_the_tall():
    assert {says for _, says in gowns_long_enough(1700, STANDARDS)} == {"surely"}
    assert [says for _, says in gowns_long_enough(1850, STANDARDS)] == ["by-its-length"] * 4
    assert [says for _, says in gowns_long_enough(2000, STANDARDS)] == ["too-short"] * 4


# 29 CFR 1910.134 Appendix A: N over the sum of reciprocals. Both rows are this project's own arithmetic.
@pytest.mark.parametrize(
    ("factors", "overall"),
    [((300, 250, 150, 120, 90, 200, 180), 159.1), ((500, 500, 500, 500, 500, 500, 12), 73.4)],
)
def test_the_overall_factor_is_the_harmonic_mean(factors, overall):
    assert harmonic_mean(factors) == pytest.approx(overall, abs=0.05)


def quantitative(system, device, overall):
    return FitTest(
        item="respirator-disposable",
        model="A1",
        size="m",
        device=device,
        system=system,
        method="quantitative",
        on=DAY,
        overall=overall,
    )


# US: 100 for half masks and filtering facepieces, 500 for full facepieces (Federal Register 74:3526).
# UK: 100 and 2000 (HSE INDG479, from memory).
@pytest.mark.parametrize(
    ("system", "device", "level"),
    [
        ("us", "half-mask", 100),
        ("us", "full-facepiece", 500),
        ("uk", "half-mask", 100),
        ("uk", "full-facepiece", 2000),
    ],
)
def test_the_level_itself_passes_and_just_below_does_not(system, device, level):
    assert judge(quantitative(system, device, level), DAY, STANDARDS).counts
    assert judge(quantitative(system, device, level - 0.1), DAY, STANDARDS).why == ("below-level",)


def test_a_grimace_is_not_scored():
    """US: eight exercises, seven of them scored (Federal Register 74:3526)."""
    names = [one for one in STANDARDS.exercises if one != "jogging-in-place"]
    assert len(names) == 8
    test = FitTest(
        item="respirator-disposable",
        model="A1",
        size="m",
        system="us",
        method="quantitative",
        on=DAY,
        exercises=[{"exercise": name, "factor": 5 if name == "grimace" else 200} for name in names],
    )

    assert overall_factor(test, STANDARDS) == pytest.approx(200)


def test_a_us_fit_test_holds_twelve_months_to_the_day():
    """29 CFR 1910.134(f): at least annually."""
    test = quantitative("us", "half-mask", 150)

    assert judge(test, datetime.date(2027, 3, 2), STANDARDS).counts
    assert judge(test, datetime.date(2027, 3, 3), STANDARDS).why == ("fit-test-lapsed",)

"""A law says what it is drawn from, and refuses what cannot be a distribution."""

import math

import pytest
from pydantic import ValidationError

from vestry.trade.law import Law

LAWS = {
    "fixed": {"value": 0.3},
    "uniform": {"low": 0.1, "high": 0.3},
    "log-uniform": {"low": 0.001, "high": 0.1},
    "triangular": {"low": 0, "mode": 0.3, "high": 0.7},
    "beta": {"alpha": 0.9, "beta": 2.1},
    "normal": {"mean": 0.34, "sd": 0.13, "low": 0, "high": 1},
    "log-normal": {"median": 0.02, "gsd": 2.4, "high": 1},
}


@pytest.mark.parametrize("kind", LAWS)
def test_every_kind_reads_and_its_central_value_lies_in_its_support(kind):
    law = Law(kind=kind, **LAWS[kind])
    low, high = law.support
    assert low <= law.central <= high
    assert law.parameters() == LAWS[kind]


@pytest.mark.parametrize(
    ("kind", "central"),
    [("fixed", 0.3), ("uniform", 0.2), ("log-uniform", 0.01), ("beta", 0.3)],
)
def test_the_central_value_is_the_plain_one(kind, central):
    assert Law(kind=kind, **LAWS[kind]).central == pytest.approx(central)


def test_half_of_a_triangle_lies_below_its_central_value():
    low, mode, high = 0.0, 0.3, 0.7
    middle = Law(kind="triangular", low=low, mode=mode, high=high).central
    assert (high - middle) ** 2 / ((high - low) * (high - mode)) == pytest.approx(0.5)


def test_cutting_off_above_lowers_the_central_value():
    free, cut = Law(kind="normal", mean=0, sd=1), Law(kind="normal", mean=0, sd=1, high=0)
    assert free.central == pytest.approx(0)
    assert cut.central == pytest.approx(-0.6744897501960817)  # the quartile of a normal law
    assert Law(kind="log-normal", median=2, gsd=3, high=2).central == pytest.approx(2 * 3**-0.6744897501960817)


def test_a_log_normal_law_is_bounded_by_nothing_but_zero():
    assert Law(kind="log-normal", median=1, gsd=2).support == (0, math.inf)


@pytest.mark.parametrize(
    ("kind", "change", "said"),
    [
        ("fixed", {"value": None}, "value missing"),
        ("fixed", {"sd": 1}, "sd does not belong to it"),
        ("uniform", {"low": 0.5}, "low below high"),
        ("log-uniform", {"low": 0}, "low above 0"),
        ("triangular", {"mode": 2}, "mode between low and high"),
        ("beta", {"alpha": 0}, "alpha above 0"),
        ("normal", {"sd": -1}, "sd above 0"),
        ("normal", {"low": 2}, "low below high"),
        ("log-normal", {"gsd": 1}, "gsd above 1"),
        ("log-normal", {"median": 0}, "median above 0"),
        ("log-normal", {"low": -1}, "not below 0"),
        ("beta", {"alpha": math.nan}, "finite"),
        ("normal", {"mean": math.inf}, "finite"),
    ],
)
def test_what_cannot_be_a_distribution_is_refused_in_plain_words(kind, change, said):
    with pytest.raises(ValidationError, match=said):
        Law(kind=kind, **{**LAWS[kind], **change})


def test_a_kind_that_does_not_exist_is_refused():
    with pytest.raises(ValidationError, match="kind"):
        Law(kind="gamma", value=1)


@pytest.mark.parametrize(("cut", "expected"), [({"low": 60}, 60), ({"high": -60}, -60)])
def test_a_cut_off_far_out_in_a_tail_stays_a_number(cut, expected):
    assert Law(kind="normal", mean=0, sd=1, **cut).central == expected

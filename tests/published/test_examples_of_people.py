"""Fit tests and sizes: further examples, and values at the edges of the tables. Written before they were run."""

from __future__ import annotations

import datetime

import pytest
from pydantic import ValidationError

from vestry.people import FitTest, Hand, OffTheTable, glove_size, harmonic_mean, judge, sizes_of_width
from vestry.trade.standards import load_standards

pytestmark = pytest.mark.published
STANDARDS = load_standards()
DAY = datetime.date(2026, 3, 2)


# 29 CFR 1910.134 Appendix A, the formula by hand. One poor exercise pulls the whole down, and a mean does not.
@pytest.mark.parametrize(
    ("factors", "overall"),
    [
        ((100,) * 7, 100.0),
        ((200,) * 6 + (50,), 140.0),  # 7 / (6/200 + 1/50) = 7 / 0.05
        ((1000, 10), 19.8),  # 2 / (0.001 + 0.1)
        ((500, 250, 125, 100), 166.7),  # 4 / (0.002 + 0.004 + 0.008 + 0.01)
        ((2000,) * 7 + (1000,), 1777.8),  # below the 2000 that the UK asks of a full facepiece (recalled)
    ],
)
def test_the_formula_by_hand(factors: tuple[float, ...], overall: float) -> None:
    assert round(harmonic_mean(factors), 1) == overall


@pytest.mark.parametrize("factors", [(), (0,), (100, 0), (100, -5), (float("nan"), 100), (float("inf"), 100)])
def test_what_no_instrument_shows_makes_no_factor(factors: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="factor"):
        harmonic_mean(factors)


@pytest.mark.parametrize("factor", [0, -1, float("nan"), float("inf"), 1e400])
def test_such_a_factor_is_not_kept_either(factor: float) -> None:
    with pytest.raises(ValidationError):
        quantitative("us", "half-mask", factor)


def quantitative(system: str, device: str, overall: float) -> FitTest:
    return FitTest.model_validate(
        {
            "item": "respirator-disposable",
            "model": "A1",
            "size": "m",
            "device": device,
            "system": system,
            "method": "quantitative",
            "on": DAY,
            "overall": overall,
        }
    )


# A full facepiece of 1777.8 passes in the US (500) and not in the UK (2000); neither counts in the other's unit.
@pytest.mark.parametrize(
    ("done", "unit", "why"),
    [
        ("us", "us", ()),
        ("uk", "uk", ("below-level",)),
        ("us", "uk", ("other-system",)),
        ("uk", "us", ("other-system", "below-level")),
    ],
)
def test_one_factor_by_two_systems(done: str, unit: str, why: tuple[str, ...]) -> None:
    assert judge(quantitative(done, "full-facepiece", 1777.8), DAY, STANDARDS, unit).why == why


# EN 420 hand table (seen, all six rows; EN ISO 21420 leaves the lengths of gloves out): the half-way points. A hand
# between two rows takes the nearer; exactly between, the larger.
@pytest.mark.parametrize(
    ("circumference", "number"),
    [(140, 6), (165, 7), (164, 6), (166, 7), (190, 7), (191, 8), (216, 9), (215, 8), (241, 9), (242, 10), (291, 11)],
)
def test_hands_between_two_rows(circumference: int, number: int) -> None:
    assert glove_size(Hand(circumference_mm=circumference), STANDARDS).row.number == number


@pytest.mark.parametrize("circumference", [100, 139, 292, 400])
def test_hands_beyond_the_table_have_no_size(circumference: int) -> None:
    with pytest.raises(OffTheTable):
        glove_size(Hand(circumference_mm=circumference), STANDARDS)


@pytest.mark.parametrize("circumference", [0, -1, 8, 20, 99, 401, 8000])
def test_a_hand_in_inches_or_centimetres_is_refused(circumference: int) -> None:
    """8 inches and 20 cm are what tapes show: never taken for millimetres."""
    with pytest.raises(ValidationError):
        Hand(circumference_mm=circumference)


# EN 455-2, edges of the widths (seen): XS at most 80, S 70 to 90, M 85 to 105, L 100 to 120, XL at least 110.
@pytest.mark.parametrize(
    ("width", "sizes"),
    [(70, ("xs", "s")), (80, ("xs", "s")), (81, ("s",)), (85, ("s", "m")), (90, ("s", "m")), (91, ("m",)),
     (100, ("m", "l")), (105, ("m", "l")), (106, ("l",)), (110, ("l", "xl")), (120, ("l", "xl")), (121, ("xl",))],
)  # fmt: skip
def test_the_edges_of_a_medical_gloves_width(width: int, sizes: tuple[str, ...]) -> None:
    assert sizes_of_width(width, STANDARDS, "en-455") == sizes

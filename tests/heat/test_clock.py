"""The clock of an entry: policy, or less. And a model that says nothing where it does not hold."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.heat import Conditions, Outside, Shortening, allowed, outside, predict, shortenings
from vestry.heat.strain import Limit, Predicted, _limit
from vestry.trade.operations import load_operations

OPERATIONS = load_operations()
WARM = Conditions(air=30, humidity=50, speed=0.3, metabolic=140, clothing=0.6)
minutes = st.floats(min_value=0.01, max_value=10_000)
predictions = st.lists(st.builds(Shortening, st.sampled_from(["core", "loss-most"]), minutes), max_size=5)


@pytest.mark.property
@given(st.integers(min_value=1, max_value=480), predictions, predictions)
def test_no_prediction_lengthens_the_clock_and_more_of_them_never_do(
    policy: int, some: list[Shortening], more: list[Shortening]
) -> None:
    fewer, all_ = allowed(policy, some), allowed(policy, [*some, *more])

    assert all_.minutes <= fewer.minutes <= policy
    assert all_.minutes <= min([policy, *(one.minutes for one in (*some, *more))])
    assert (fewer.by == "policy") == (fewer.minutes == policy)


@pytest.mark.property
@given(st.integers(min_value=1, max_value=480), st.integers(min_value=1, max_value=480), predictions)
def test_a_stricter_policy_never_gives_a_longer_clock(one: int, other: int, some: list[Shortening]) -> None:
    strict, loose = sorted((one, other))
    assert allowed(strict, some).minutes <= allowed(loose, some).minutes


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0, 0.0])
def test_a_prediction_that_is_no_number_is_refused_and_does_not_count_as_long(bad: float) -> None:
    with pytest.raises(ValueError, match="is none"):
        allowed(60, [Shortening("core", bad)])


def test_a_limit_that_is_not_reached_is_no_number_and_shortens_nothing() -> None:
    never = Predicted(WARM, Limit(None), Limit(None), Limit(None), 37.5, 37.4, 3000)
    assert shortenings(never) == ()
    assert allowed(480, shortenings(never)).minutes == 480


def test_the_library_gives_the_duration_back_for_a_limit_that_is_never_reached() -> None:
    assert _limit(480, 480, reached_at_end=False) == Limit(None)
    assert _limit(480, 480, reached_at_end=True) == Limit(480)
    assert _limit(62, 480, reached_at_end=True) == Limit(62)


OUTSIDE = {
    "too warm": ({"air": 51.0, "humidity": 20.0}, {"air"}),
    "too cold": ({"air": 14.0}, {"air"}),
    "a suit of more than 1 clo": ({"clothing": 1.01}, {"clothing"}),
    "a storm": ({"speed": 3.1}, {"speed"}),
    "too hard": ({"metabolic": 251.0}, {"metabolic"}),
    "steam": ({"air": 40.0, "humidity": 95.0}, {"vapour"}),
    "radiant below air": ({"radiant": 20.0}, {"radiant-over-air"}),
    "a suit of little permeability": ({"permeability": 0.08}, {"permeability"}),
    "impermeable": ({"impermeable": True}, {"clothing"}),
    "not a number": ({"air": math.nan, "clothing": math.inf}, {"air", "clothing"}),
    "neither humidity nor vapour": ({"humidity": None}, {"humidity"}),
    "both": ({"vapour": 2.0}, {"humidity"}),
    "no minutes": ({"minutes": 0}, {"minutes"}),
}


@pytest.mark.parametrize("name", OUTSIDE)
def test_outside_its_ranges_there_is_no_prediction_and_every_reason_is_given(name: str) -> None:
    changed, quantities = OUTSIDE[name]
    conditions = Conditions(**{**WARM.__dict__, **changed})

    assert {one.quantity for one in outside(conditions, OPERATIONS)} == quantities
    with pytest.raises(Outside) as refused:
        predict(conditions, OPERATIONS)
    assert {one.quantity for one in refused.value.reasons} == quantities


def test_inside_there_is_no_reason() -> None:
    assert outside(WARM, OPERATIONS) == ()


@pytest.mark.slow
def test_a_longer_look_finds_the_same_limit_and_a_shorter_one_says_not_reached() -> None:
    hot = Conditions(air=38, humidity=50, speed=0.3, metabolic=160, clothing=0.9)
    whole = predict(hot, OPERATIONS).core.minutes
    assert whole is not None
    for look, expected in ((whole - 1, None), (whole, whole), (whole + 1, whole)):
        assert predict(Conditions(**{**hot.__dict__, "minutes": look}), OPERATIONS).core.minutes == expected

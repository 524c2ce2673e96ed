"""The forecast as the answer to "tonight?" takes it."""

from __future__ import annotations

from tests.readiness.stays import CATALOGUE, stay

from vestry.readiness import forecast
from vestry.readiness.covering import cover_of


def test_the_cover_is_that_of_the_forecast_with_what_runs_out_first():
    cover = cover_of(forecast(stay(), CATALOGUE))

    assert (cover.asked, cover.low, cover.middle, cover.sustains) == (48, 30, 30, 0)
    assert cover.first == ("apron", "one-size")


def test_nothing_is_first_where_nothing_runs_out():
    cover = cover_of(forecast(stay(stock=[{"item": "apron", "count": 99}]), CATALOGUE))

    assert (cover.first, cover.middle, cover.sustains) == (None, 48, 1)

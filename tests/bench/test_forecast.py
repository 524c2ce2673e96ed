"""The benchmark of the forecast: the two ways agree, and a difference is said."""

from __future__ import annotations

from dataclasses import replace

import pytest
from bench import forecast
from bench.size import TINY


@pytest.mark.slow
def test_the_forecast_and_its_peer_agree_on_thirty_days():
    found = forecast.measure(TINY)

    assert found.unequal == ()
    assert [row[0] for row in found.tables[0].rows] == ["forecast", "event by event"]


@pytest.mark.slow
def test_a_peer_with_more_on_the_shelf_is_a_difference(monkeypatch):
    stay = forecast.asked()
    more = stay.model_copy(update={"stock": tuple(one.model_copy(update={"count": 900}) for one in stay.stock)})
    right = forecast.play
    monkeypatch.setattr(forecast, "play", lambda _, chance: right(more, chance))
    found = forecast.measure(replace(TINY, stays=6))

    assert any(one.startswith("left of") for one in found.unequal)
    assert not found.good

"""The planning figures: each with a source that is there, each kind of gear with its weight."""

from __future__ import annotations

from typing import get_args

import pytest

from vestry.trade import load_catalogue
from vestry.trade.staying import FigureId, load_stay_figures

FIGURES = load_stay_figures()
LAUNDERED = {"scrubs", "shoes", "boots"}


def test_every_figure_that_has_a_name_is_there_once():
    assert sorted(one.id for one in FIGURES.figure) == sorted(get_args(FigureId))


@pytest.mark.parametrize("figure", FIGURES.figure, ids=lambda one: one.id)
def test_each_figure_names_a_source_or_says_judgement(figure):
    assert figure.certainty == "judgement" or figure.source in {one.id for one in FIGURES.source}
    assert figure.range is None or figure.range[0] <= figure.value <= figure.range[1]


def test_every_kind_that_is_thrown_away_has_a_weight_and_a_volume():
    thrown = {item.kind for item in load_catalogue().items.values() if not item.reusable} - LAUNDERED

    assert thrown <= set(FIGURES.piece)


@pytest.mark.published
def test_figures_are_those_of_the_named_sources():
    """Damage: Mallow 2018, 1 piece a day (0 to 4). Waste: Lowe 2014, 23 cubic feet and 50 lb and 2.3 gallons a day."""
    damaged = FIGURES.find("damaged-pieces-a-day")
    assert (damaged.value, damaged.range) == (1, (0, 4))
    assert FIGURES.find("waste-cubic-metres").value == pytest.approx(23 * 0.0283168, abs=0.005)
    assert FIGURES.find("waste-cubic-metres").range[1] == pytest.approx(8 * 55 * 0.00378541, abs=0.01)
    assert FIGURES.find("waste-kilograms").value == pytest.approx(50 * 0.45359237, abs=0.05)
    assert FIGURES.find("waste-litres-liquid").value == pytest.approx(2.3 * 3.785411784, abs=0.05)

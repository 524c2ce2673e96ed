"""The peers that the engine is timed against answer the same question, or the times would compare nothing."""

from __future__ import annotations

import numpy as np
import pytest
from bench import amounts, amounts_peers

pytestmark = pytest.mark.slow


def test_numpy_with_the_same_tables_gives_the_engines_answer() -> None:
    asked = amounts.asked_of(6000)
    model = asked.bound.model
    rng = np.random.default_rng(4)
    theirs = amounts_peers.run(model, 6000, rng, amounts_peers.table_draws(model, rng), amounts.LEVEL).reached
    _, ours = amounts._engine(model, 6000, "numpy")
    error = np.sqrt((ours * (1 - ours) + theirs * (1 - theirs) + 4e-3) / 6000)
    assert (np.abs(ours - theirs) < 5 * error).all()
    assert ours.max() > 0.05


def test_beta_draws_have_the_mean_of_what_they_stand_for() -> None:
    asked = amounts.asked_of(100)
    model = asked.bound.model
    draw = amounts_peers.beta_draws(model, asked.evidence, np.random.default_rng(4))
    for row in range(len(model.quantities)):
        table = model.tables[row]
        fine = (table[1:] + table[:-1]) / 2
        seen = draw(row, 40_000)
        assert abs(seen.mean() - fine.mean()) < 5 * seen.std() / 200 + 0.02 * fine.mean()


def test_the_page_that_explains_amounts_has_todays_example() -> None:
    from tools import make_amounts_page

    text = make_amounts_page.PAGE.read_text("utf-8")
    assert text == make_amounts_page.written(text), "run: python -m tools.make_amounts_page"
    assert text.count(": more |") == 2, "a case in which one more rub is worse"

"""The ranking of step families beside two failure-mode studies: method as decision 0010 fixed it, result as found.

mumma2018 (evidence h08): hand hygiene, then hood removal. mumma2019 (h09): hand hygiene, outermost garment, boots.
"""

from __future__ import annotations

import pytest
from tools import make_ranking_page as ranking

from vestry.contact.compiler import compile_order
from vestry.trade import load_catalogue, read_order

pytestmark = pytest.mark.published

CATALOGUE = load_catalogue()
# Gloves off with one slip to the skin of each hand, then nothing: few enough sets to weigh by hand.
ORDER = """
format-version = 1
title = "gloves alone"
case = { hazard = "ebola", presentation = "dry" }
worn = ["scrubs", "washable-shoes", "gloves-standard"]
steps = [{ act = "doff", item = "gloves-standard" }, { act = "hand-hygiene" }]
"""


@pytest.mark.parametrize(
    ("step", "family"),
    [
        ("disinfect-gloves:-:rub-gloves~2", "hygiene"),
        ("hand-hygiene:-:rub-bare-hands", "hygiene"),
        ("doff:coverall-impermeable:helper-rolls-down", "garment"),
        ("doff:apron:tear-and-roll", "garment"),
        ("doff:boot-covers-high:seated-down-over-heel", "foot-covers"),
        ("doff:surgical-hood:roll-from-back", "hood"),
        ("doff:papr-hood:roll-and-bend", "hood"),
        ("doff:papr-hose+papr-belt-unit:helper-detaches", "powered"),
        ("doff:face-shield:rear-strap", "eyes"),
        ("doff:outer-gloves-long:glove-in-glove", "outer-gloves"),
        ("don:fresh-gloves:gloves-from-box", "inner-gloves"),
        ("release:coverall-impermeable:open-flap", "rest"),
        ("wipe:washable-shoes:wipe-item", "rest"),
        ("move:clean-side:walk", "rest"),
    ],
)
def test_a_step_belongs_to_the_family_of_its_act_or_its_first_item(step: str, family: str) -> None:
    assert ranking.family_of(step, CATALOGUE) == family


def test_shares_are_the_weight_of_the_sets_that_hold_an_error_of_the_family() -> None:
    program = compile_order(read_order(ORDER, "gloves.toml"), CATALOGUE)
    even = ranking.shares(program, {"slip": 1.0, "omission": 1.0, "latent": 1.0}, CATALOGUE)
    no_omission = ranking.shares(program, {"slip": 1.0, "omission": 0.0, "latent": 1.0}, CATALOGUE)

    assert even is not None
    assert no_omission is not None
    assert even["inner-gloves"] > 0
    assert even["hygiene"] > 0
    assert no_omission["hygiene"] == 0
    assert {family for family, share in even.items() if share} <= {"hygiene", "inner-gloves", "rest"}
    assert all(0 <= share <= 1 + 1e-9 for share in even.values())


def test_the_figures_are_those_of_the_decision() -> None:
    structure, central = ranking.FIGURES["structure alone"], ranking.FIGURES["central figures"]

    assert structure == {"slip": 0.01, "omission": 0.01, "latent": 0.05}
    assert central == {"slip": 0.01, "omission": 0.27, "latent": 0.05}
    assert (ranking.SIZE, ranking.FIRST, ranking.ENOUGH) == (3, 5, 3)
    assert set(ranking.NAMED) == {"hygiene", "garment", "foot-covers", "hood"}


@pytest.mark.slow
def test_the_page_is_what_the_model_says_today_agreement_or_not() -> None:
    assert ranking.PAGE.read_text("utf-8") == ranking.page()

"""A suit is opened, the gloves are disinfected, the suit comes off: three acts, three steps."""

from __future__ import annotations

import pytest

from vestry.sequence import Case, Policy, plan_case
from vestry.trade import load_catalogue, read_order
from vestry.trade.orders import packaged_orders

CATALOGUE = load_catalogue()
FLAP = "cdc-vhf-unstable-n95-coverall-doff-2015--with-apron"


def acts_up_to_suit(steps) -> list[str]:
    """The acts from the opening of the suit until it is off."""
    acts = [step.act for step in steps]
    return acts[acts.index("release") : acts.index("release") + 3]


@pytest.mark.parametrize("assistant", [True, False])
def test_a_plan_opens_the_suit_disinfects_the_gloves_and_then_takes_it_off(assistant):
    rule = "assistant-for-powered-unit-or-coverall"
    policy = Policy(garment="coverall", assistant=assistant, switched_off=() if assistant else (rule,))
    steps = plan_case(Case(hazard="ebola", presentation="wet"), policy, CATALOGUE).phase("doffing")

    assert acts_up_to_suit(steps) == ["release", "disinfect-gloves", "doff"]


def test_a_unit_that_does_not_disinfect_gloves_opens_the_suit_all_the_same():
    policy = Policy(garment="coverall", disinfect_gloves=False)
    steps = plan_case(Case(hazard="ebola", presentation="wet"), policy, CATALOGUE).phase("doffing")

    assert acts_up_to_suit(steps)[:2] == ["release", "doff"]


def test_the_published_order_disinfects_after_the_flap():
    """CDC, confirmed or clinically unstable VHF, coverall: the flap, then the gloves, before the zip is touched."""
    assert acts_up_to_suit(read_order(packaged_orders()[FLAP], FLAP).steps) == ["release", "disinfect-gloves", "doff"]


@pytest.mark.parametrize("technique", [one for one in CATALOGUE.techniques if one.act == "doff" and one.taught])
def test_no_taught_removal_holds_a_cleaning(technique):
    assert [touch.touch for touch in technique.touches if touch.touch.startswith("clean")] == []

"""Hygiene that the model does not count, told with what would be counted."""

from __future__ import annotations

import pytest

from vestry.sequence import Case, Policy, assure, plan_case
from vestry.sequence.agents import not_counted, told_not_counted
from vestry.trade import load_catalogue
from vestry.trade.words import load_words

CATALOGUE, WORDS = load_catalogue(), load_words("en")


def planned(hazard: str, presentation: str = "wet", **policy: str):
    return plan_case(Case(hazard=hazard, presentation=presentation), Policy.model_validate(policy), CATALOGUE)


@pytest.mark.parametrize("presentation", ["dry", "wet"])
@pytest.mark.parametrize(("agent", "clean"), [("alcohol-rub", False), ("disinfectant-wipe", True)])
def test_for_an_agent_not_identified_the_wipe_on_gloves_is_clean_and_the_rub_is_not(presentation, agent, clean):
    plan = planned("suspected-hcid", presentation, **{"glove-agent": agent})

    assert assure(plan, CATALOGUE).clean is clean
    assert ("gloves" not in {one.on for one in not_counted(plan, CATALOGUE)}) is clean


def test_what_is_not_counted_is_told_with_what_would_be():
    plan = planned("suspected-hcid")
    gloves, hands = not_counted(plan, CATALOGUE)

    assert "disinfectant wipe" in told_not_counted(gloves, plan, WORDS, CATALOGUE)
    assert hands.others == ()
    assert "No agent of the catalogue" in told_not_counted(hands, plan, WORDS, CATALOGUE)


def test_against_an_enveloped_virus_all_that_is_planned_is_counted():
    assert not_counted(planned("lassa"), CATALOGUE) == ()

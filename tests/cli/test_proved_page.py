"""The page of every case: what has no clean order, or no plan, is named with its route or its reason."""

from __future__ import annotations

import json

from tools.make_proved_page import page

from vestry.sequence.proved import Proved
from vestry.trade.words import load_words

LINK = {
    "step": "doff:face-shield:rear-strap",
    "verb": "contact",
    "from-surface": "face-shield.strap",
    "to-surface": "body.hair-ears",
    "event": None,
    "source": "invented",
}
ROUTE = {"surface": "body.hair-ears", "endpoint": "skin", "when": "at-end", "events": [], "chain": [LINK]}
WEAK = {"event": "doff:gown-isolation:peel-from-inside:shaken", "worst": "mucosa", "cases": 3, "programs": 2}


def report(**changed: object) -> Proved:
    document = {
        "facts": "0" * 64, "model-version": "contact-1", "order": 3, "of": "all", "cases": 5, "planned": 4, "works": 3,
        "programs": 2, "clean": 3, "margins": [], "weak": [WEAK], "unclean": [], "without-plan": [], "team-unclean": [],
        "gaps": [],
    }  # fmt: skip
    return Proved.model_validate_json(json.dumps(document | changed))


def test_cases_without_a_clean_order_are_named_with_the_route():
    unclean = {"program": "ab" * 32, "routes": [ROUTE], "cases": ["ebola.wet.care.x"]}
    beside = {"role": "assistant", "routes": [ROUTE], "cases": ["mers.dry.care.y"]}

    text = page(report(unclean=[unclean], **{"team-unclean": [beside]}), load_words("en"))

    assert "**Program `abababababab`**, 1 cases: ebola.wet.care.x." in text
    assert "**The assistant's own way out** has no clean order in 1 cases: mers.dry.care.y." in text
    assert text.count("strap of the shield touched hair and ears [invented]") == 2


def test_where_there_are_none_that_is_said():
    text = page(report(), load_words("en"))

    assert "For the wearer there are none" in text
    assert "## Cases without a plan\n\nThere are none." in text


def test_cases_without_a_plan_are_named_with_the_reason():
    none = {"why": "no order keeps the rules", "open-sites": ["eyes by droplet"], "cases": ["a", "b"]}

    text = page(report(**{"without-plan": [none]}), load_words("en"))

    assert "- no order keeps the rules; open: eyes by droplet: 2 cases, a, b" in text


def test_an_error_is_told_with_its_item_and_its_technique():
    text = page(report(), load_words("en"))

    assert "| the gown is shaken (Isolation gown) | peel-from-inside | eyes, nose or mouth | 3 | 2 |" in text

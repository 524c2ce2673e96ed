"""What differs by country, against the rules that print it: protection factors, never mixed, and the transport list.

US OSHA, 29 CFR 1910.134, table of assigned protection factors (2019; seen in a quotation of the eCFR): a half mask 10,
and a filtering half mask counts as one; a powered unit with a loose-fitting facepiece 25, and one with hood or helmet
25 unless its maker has test evidence for 1000. UK, HSE HSG53 beside EN 149 (2009; seen where another page restates it):
FFP1 4, FFP2 10, FFP3 20. UN and WHO, indicative list for UN 2814, copy of 2011 (seen). US agencies, planning guidance
on category A waste, 2022 (seen).
"""

from __future__ import annotations

import pytest

from vestry.trade import load_catalogue
from vestry.trade.jurisdictions import protection_factors, waste_rule

pytestmark = pytest.mark.published
CATALOGUE = load_catalogue()
FACTORS = {
    ("us", "respirator"): {"filtering-half-mask": 10},
    ("us", "papr-hood"): {"powered-loose-fitting": 25},
    ("us", "papr-helmet"): {"powered-loose-fitting": 25},
    ("uk", "respirator"): {"ffp1": 4, "ffp2": 10, "ffp3": 20},
}
ANY_FORM = ("ebola", "marburg", "lassa", "crimean-congo", "south-american", "nipah", "hendra", "smallpox")


def category(hazard: str, jurisdiction: str) -> str | None:
    rule = waste_rule(CATALOGUE, hazard, jurisdiction)
    return None if rule is None else rule.category.value


def test_protection_factors_by_country_and_none_that_is_not_printed():
    countries = [one.id for one in CATALOGUE.jurisdictions.values()]
    kinds = sorted({kind for one in CATALOGUE.protection_factors.values() for kind in one.kinds})
    found = {
        (country, kind): {one.device: one.factor for one in protection_factors(CATALOGUE, kind, country)}
        for country in countries
        for kind in kinds
    }

    assert {key: factors for key, factors in found.items() if factors} == FACTORS


def test_what_is_told_of_a_factor_is_its_own_source():
    sources = {(one.jurisdiction, one.source, one.certainty) for one in CATALOGUE.protection_factors.values()}

    assert sources == {("us", "osha-respirators", "seen"), ("uk", "en149-hsg53", "seen-secondary")}


def test_the_list_for_transport():
    """Any form; cultures only; and not there."""
    assert {category(hazard, "un-transport") for hazard in ANY_FORM} == {"highest"}
    assert category("pneumonic-plague", "un-transport") == category("novel-influenza-a", "un-transport")
    assert category("pneumonic-plague", "un-transport") == "cultures-only"
    assert category("mers", "un-transport") == category("sars", "un-transport") == "not-listed"


def test_the_united_states_follow_the_list_and_judge_andes_case_by_case():
    assert {category(hazard, "us") for hazard in ANY_FORM} == {"highest"}
    assert category("andes-hantavirus", "us") == "case-by-case"

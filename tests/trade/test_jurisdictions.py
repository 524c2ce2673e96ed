"""What differs by country: waste and protection factors, each by its own rule, none in another's place."""

import pytest

from vestry.trade import load_catalogue
from vestry.trade.jurisdictions import UNSTATED, protection_factors, waste_rule, waste_stream

CATALOGUE = load_catalogue()
COUNTRIES = [one.id for one in CATALOGUE.jurisdictions.values() if one.of == "country"]


def category(hazard: str, jurisdiction: str) -> str | None:
    rule = waste_rule(CATALOGUE, hazard, jurisdiction)
    return None if rule is None else rule.category.value


def test_where_nobody_named_a_country_the_hazards_own_fact_holds():
    for hazard in CATALOGUE.hazards.values():
        assert waste_rule(CATALOGUE, hazard.id, UNSTATED) is None
        assert waste_stream(CATALOGUE, hazard.id) == hazard.waste_stream


@pytest.mark.parametrize("country", COUNTRIES)
@pytest.mark.parametrize("hazard", CATALOGUE.hazards)
def test_each_country_says_or_says_that_it_is_unknown(country, hazard):
    rule = waste_rule(CATALOGUE, hazard, country)

    assert rule is not None
    for fact in (rule.category, rule.stream):
        assert (fact.value is None) is (fact.certainty == "judgement")
        assert (fact.value is None) is (fact.default is not None)


def test_the_clades_of_mpox_differ_in_the_united_states_and_not_in_the_list_of_2011():
    """United States, several agencies, 2022: clade II not in the highest category; clade I relaxed later (recalled)."""
    assert waste_stream(CATALOGUE, "mpox-clade-ii", "us").value == "ordinary-clinical"
    assert waste_stream(CATALOGUE, "mpox-clade-i", "us").value is None
    assert waste_stream(CATALOGUE, "mpox-clade-i", "us").default == "infectious-lined"
    oldest = [rule for rule in CATALOGUE.waste_rules.values() if rule.id == "un-any-form-2011"]
    assert {"mpox-clade-i", "mpox-clade-ii"} <= set(oldest[0].hazards)


def test_of_two_editions_the_later_holds_and_says_that_it_is_recalled():
    rule = waste_rule(CATALOGUE, "mpox-clade-i", "un-transport")

    assert (rule.id, rule.category.certainty) == ("un-mpox-2023", "from-memory")


# UN and WHO, indicative list, copy of 2011 (seen): any form, cultures only, and not there.
ANY_FORM = ("ebola", "marburg", "lassa", "crimean-congo", "south-american", "nipah", "hendra", "smallpox")


@pytest.mark.published
def test_the_list_for_transport():
    assert {category(hazard, "un-transport") for hazard in ANY_FORM} == {"highest"}
    assert category("pneumonic-plague", "un-transport") == category("novel-influenza-a", "un-transport")
    assert category("pneumonic-plague", "un-transport") == "cultures-only"
    assert category("mers", "un-transport") == category("sars", "un-transport") == "not-listed"


@pytest.mark.published
def test_the_united_states_follow_the_list_and_judge_andes_case_by_case():
    """US agencies, 2022 (seen)."""
    assert {category(hazard, "us") for hazard in ANY_FORM} == {"highest"}
    assert category("andes-hantavirus", "us") == "case-by-case"


def test_nothing_is_claimed_of_waste_in_the_united_kingdom():
    assert {waste_stream(CATALOGUE, hazard, "uk").value for hazard in CATALOGUE.hazards} == {None}
    assert {waste_stream(CATALOGUE, hazard, "uk").default for hazard in CATALOGUE.hazards} == {"infectious-lined"}


@pytest.mark.published
def test_protection_factors_by_country():
    """US OSHA 1910.134: half mask 10, loose-fitting powered unit 25. UK HSG53: FFP1 4, FFP2 10, FFP3 20."""
    factors = {
        country: {one.device: one.factor for kind in ("respirator", "papr-hood")
                  for one in protection_factors(CATALOGUE, kind, country)}
        for country in COUNTRIES
    }  # fmt: skip

    assert factors == {
        "us": {"filtering-half-mask": 10, "powered-loose-fitting": 25},
        "uk": {"ffp1": 4, "ffp2": 10, "ffp3": 20},
    }


@pytest.mark.parametrize(
    ("kind", "where"), [("respirator", UNSTATED), ("papr-hood", "uk"), ("mask", "us"), ("respirator", "un-transport")]
)
def test_what_a_country_does_not_say_is_unknown_and_not_borrowed(kind, where):
    assert protection_factors(CATALOGUE, kind, where) == ()

"""What differs by country: waste and protection factors, each by its own rule, none in another's place."""

import pytest

from vestry.trade import load_catalogue
from vestry.trade.jurisdictions import UNSTATED, protection_factors, waste_rule, waste_stream

CATALOGUE = load_catalogue()
COUNTRIES = [one.id for one in CATALOGUE.jurisdictions.values() if one.of == "country"]


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


def test_nothing_is_claimed_of_waste_in_the_united_kingdom():
    assert {waste_stream(CATALOGUE, hazard, "uk").value for hazard in CATALOGUE.hazards} == {None}
    assert {waste_stream(CATALOGUE, hazard, "uk").default for hazard in CATALOGUE.hazards} == {"infectious-lined"}


@pytest.mark.parametrize(
    ("kind", "where"), [("respirator", UNSTATED), ("papr-hood", "uk"), ("mask", "us"), ("respirator", "un-transport")]
)
def test_what_a_country_does_not_say_is_unknown_and_not_borrowed(kind, where):
    assert protection_factors(CATALOGUE, kind, where) == ()

"""Ensembles: what each family, route and country asks of the gear, and what is chosen when the shelf is short."""

from itertools import product

import pytest

from vestry.contact.compiler import compile_order
from vestry.contact.exposure import Setting, clears
from vestry.sequence import Case, NoPlan, Policy, plan_case
from vestry.sequence.case import Task
from vestry.sequence.ensemble import donning_order, donning_rules_broken, ensemble_of
from vestry.sequence.planner import setting_for
from vestry.trade import BadFacts, Catalogue, Order, Step, load, load_catalogue, packaged_texts

CATALOGUE = load_catalogue()


def worn(hazard: str, presentation: str = "dry", gear: tuple[str, ...] = (), tasks: tuple[Task, ...] = ("care",),
         catalogue: Catalogue = CATALOGUE, **policy: object) -> list[str]:  # fmt: skip
    case = Case.model_validate({"hazard": hazard, "presentation": presentation, "gear": gear, "tasks": tasks})
    chosen = Policy.model_validate({key.replace("_", "-"): value for key, value in policy.items()})
    return [one.item for one in ensemble_of(case, chosen, catalogue)]


def without(*items: str) -> tuple[str, ...]:
    return tuple(item for item in CATALOGUE.items if item not in items)


@pytest.mark.parametrize("hazard", CATALOGUE.hazards)
@pytest.mark.parametrize("presentation", ["dry", "wet"])
def test_with_everything_on_the_shelf_each_hazard_has_an_ensemble(hazard, presentation):
    for respirator, garment in product(("disposable", "belt-blower", "helmet-blower"), ("gown", "coverall")):
        items = worn(hazard, presentation, respirator=respirator, garment=garment)

        assert donning_rules_broken(tuple(items), CATALOGUE) == ()


@pytest.mark.parametrize("hazard", ["nipah", "hendra"])
def test_henipaviruses_are_dressed_for_as_haemorrhagic_fever_is_and_say_that_it_is_a_judgement(hazard):
    dry, wet = worn(hazard), worn(hazard, "wet")

    assert {"inner-gloves-long", "outer-gloves-long", "respirator-disposable", "gown-fluid-resistant"} <= set(dry)
    assert "gown-impermeable" in wet
    reasons = [reason for one in ensemble_of(Case(hazard=hazard), Policy(), CATALOGUE) for reason in one.reasons]
    assert {reason.source for reason in reasons if reason.why.endswith("-henipavirus")} == {"judgement"}


@pytest.mark.parametrize("hazard", ["smallpox", "andes-hantavirus", "sars", "pneumonic-plague"])
def test_what_travels_by_air_is_met_with_a_filter_and_one_pair_of_gloves(hazard):
    for presentation in ("dry", "wet"):
        items = worn(hazard, presentation)

        assert "respirator-disposable" in items
        assert [item for item in items if "gloves" in item] == ["gloves-long"]


@pytest.mark.parametrize("hazard", ["smallpox", "andes-hantavirus"])
def test_the_air_of_the_room_counts_for_what_goes_by_contact_and_air(hazard):
    assert setting_for(Case(hazard=hazard), CATALOGUE).air


@pytest.mark.parametrize("hazard", ["smallpox", "andes-hantavirus", "nipah"])
def test_without_anything_that_filters_there_is_no_plan_and_the_way_is_the_air(hazard):
    gear = without("respirator-disposable", "papr-hood", "papr-helmet")

    with pytest.raises(NoPlan) as none:
        worn(hazard, gear=gear)
    assert {(one.site, one.route) for one in none.value.reasons} == {("nose-mouth", "airborne")}


DROPLET_ONLY = """
[[hazard]]
id = "spread-by-droplets"
family = "respiratory"
[hazard.virus-class]
value = "enveloped"
source = "invented"
certainty = "invented"
[hazard.routes]
value = ["contact", "droplet"]
source = "invented"
certainty = "invented"
[hazard.monitoring-days]
value = 7
source = "invented"
certainty = "invented"
[hazard.threshold-celsius]
value = 38.0
source = "invented"
certainty = "invented"
[hazard.waste-stream]
value = "ordinary-clinical"
source = "invented"
certainty = "invented"
[hazard.disinfection-class]
value = "enveloped-virus"
source = "invented"
certainty = "invented"
"""


def with_droplets() -> Catalogue:
    texts = packaged_texts()
    return load({**texts, "hazards.toml": texts["hazards.toml"] + DROPLET_ONLY})


def test_where_only_droplets_matter_a_mask_will_do_when_nothing_filters():
    catalogue = with_droplets()
    gear = without("respirator-disposable", "papr-hood", "papr-helmet")

    assert "respirator-disposable" in worn("spread-by-droplets", catalogue=catalogue)
    assert "surgical-mask" in worn("spread-by-droplets", gear=gear, catalogue=catalogue)
    with pytest.raises(NoPlan):
        worn("spread-by-droplets", gear=gear, tasks=("aerosol-generating",), catalogue=catalogue)
    with pytest.raises(NoPlan):
        worn("spread-by-droplets", gear=gear, catalogue=catalogue, jurisdiction="uk")


# ---- by country ----


def test_in_the_united_kingdom_a_mask_does_not_do_for_a_stable_person_either():
    """NHS England, addendum of 2024: a filtering respirator for any high-consequence disease."""
    assert "surgical-mask" in worn("lassa", mask_for_stable_haemorrhagic=True)
    assert "surgical-mask" in worn("lassa", mask_for_stable_haemorrhagic=True, jurisdiction="us")
    assert "respirator-disposable" in worn("lassa", mask_for_stable_haemorrhagic=True, jurisdiction="uk")


@pytest.mark.parametrize(
    ("hazard", "jurisdiction", "stream"),
    [
        ("mers", "unstated", "ordinary-clinical"),
        ("mers", "us", "ordinary-clinical"),
        ("mers", "uk", "infectious-lined"),
        ("mpox-clade-ii", "unstated", "infectious-lined"),
        ("mpox-clade-ii", "us", "ordinary-clinical"),
        ("nipah", "us", "infectious-lined"),
    ],
)
def test_what_comes_off_goes_into_the_stream_of_the_country(hazard, jurisdiction, stream):
    policy = Policy(jurisdiction=jurisdiction, doffing_order=("gloves", "shield", "hair-cover", "gown", "foot-covers",
                                                              "respirator"))  # fmt: skip
    plan = plan_case(Case(hazard=hazard), policy, CATALOGUE)

    steps = (*plan.steps, *(step for member in plan.team for step in member.steps))
    assert {step.waste for step in steps if step.act == "doff"} == {stream}
    assert plan.as_json()["policy"]["jurisdiction"] == jurisdiction


@pytest.mark.parametrize("jurisdiction", ["ukk", "un-transport"])
def test_a_policy_names_a_country_or_leaves_it_unstated(jurisdiction):
    with pytest.raises(BadFacts, match=r"policy\.jurisdiction: no jurisdiction of a hospital is called"):
        plan_case(Case(hazard="mers"), Policy(jurisdiction=jurisdiction), CATALOGUE)


# ---- bacteria ----


def test_a_bacterium_is_cleared_by_rub_and_soap_on_gloves_and_hands():
    setting = setting_for(Case(hazard="pneumonic-plague"), CATALOGUE)

    assert setting.virus_class == "bacteria"
    for agent in ("alcohol-rub", "soap-and-water"):
        assert clears(CATALOGUE, agent, "gloves", setting)
        assert clears(CATALOGUE, agent, "hands", setting)
    assert not clears(CATALOGUE, "alcohol-rub", "gloves", Setting(virus_class="non-enveloped"))


# ---- three pairs ----


def test_a_middle_pair_goes_on_over_the_gown_and_under_the_outer_pair():
    items = ("outer-gloves-long", "middle-gloves-long", "gown-impermeable", "inner-gloves-long", "scrubs",
             "respirator-disposable", "face-shield")  # fmt: skip

    ordered = donning_order(items, CATALOGUE)

    assert ordered == ("scrubs", "inner-gloves-long", "gown-impermeable", "respirator-disposable",
                       "middle-gloves-long", "outer-gloves-long", "face-shield")  # fmt: skip
    wrong = ("outer-gloves-long", "middle-gloves-long")
    assert [(first, then) for first, then, _ in donning_rules_broken(wrong, CATALOGUE)] == [
        ("middle-gloves-long", "outer-gloves-long")
    ]


def test_an_order_with_three_pairs_takes_them_off_from_the_outside():
    pairs = ("inner-gloves-long", "middle-gloves-long", "outer-gloves-long")
    steps = tuple(Step(act="doff", item=item) for item in reversed(pairs))
    order = Order(format_version=1, title="three pairs", worn=("scrubs", *pairs), steps=steps)

    assert compile_order(order, CATALOGUE).worn[-1] == ("scrubs",)

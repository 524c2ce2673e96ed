"""The evidence: the most specific record applies; a hospital's record lies over ours, and what it shadows is shown."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.trade import load_catalogue, packaged_texts
from vestry.trade.evidence import NoEvidence, load_evidence, load_evidence_texts
from vestry.trade.evidence_values import BETWEEN, Span, When, covers, met, overlap
from vestry.trade.shipped import shipped_texts

SHIPPED = shipped_texts("evidence")
EVIDENCE = load_evidence()
CATALOGUE = load_catalogue()


# ---- which record applies ----


def test_the_most_specific_record_is_taken():
    def found(**conditions):
        return EVIDENCE.find("transfer-fraction", **conditions).id

    assert found() == "transfer.any"
    assert found(from_material="fabric-gown", to_material="glove") == "transfer.fabric-hand"
    assert found(from_material="fabric-gown", to_material="glove", wetness="dry") == "transfer.fabric-hand"
    assert found(from_material="fabric-gown", to_material="glove", wetness="wet") == "transfer.fabric-hand-wet"
    assert found(from_material="hair", to_material="glove", wetness="wet") == "transfer.any"


def test_a_condition_left_open_is_not_met():
    assert EVIDENCE.find("transfer-fraction", from_material="fabric-gown", to_material=None).id == "transfer.any"


@pytest.mark.parametrize(
    ("seconds", "record"),
    [
        (None, "reduction.alcohol-gloves-enveloped"),
        (30, "reduction.alcohol-gloves-enveloped"),
        (20, "reduction.alcohol-gloves-enveloped"),
        (19.9, "reduction.alcohol-gloves-enveloped-short"),
        (0, "reduction.alcohol-gloves-enveloped-short"),
    ],
)
def test_a_rub_below_its_time_is_another_rub(seconds, record):
    found = EVIDENCE.find(
        "log-reduction", agent="alcohol-rub", layer="gloves", virus_class="enveloped", seconds=seconds
    )
    assert found.id == record


def test_no_record_says_so_with_what_was_asked():
    with pytest.raises(NoEvidence, match="no record of log-reduction applies for agent water"):
        EVIDENCE.find("log-reduction", agent="water", layer=None)


def test_a_name_that_is_no_condition_is_the_callers_error():
    with pytest.raises(TypeError, match="colour"):
        EVIDENCE.find("transfer-fraction", colour="red")


# ---- what is shipped is whole ----


def test_every_slip_fault_and_residue_of_the_catalogue_has_its_number():
    for technique in CATALOGUE.techniques:
        for touch in technique.touches:
            if touch.slip:
                EVIDENCE.find("slip-probability", act=technique.act, technique=technique.id, slip=touch.slip)
            if touch.residue:
                EVIDENCE.find("residue-chance", residue=touch.residue)
                EVIDENCE.find("residue-amount", residue=touch.residue)
    for item in CATALOGUE.items.values():
        for latent in item.latent:
            fault = latent.id.removesuffix("-l").removesuffix("-r")
            for presentation in ("dry", "wet"):
                EVIDENCE.find("latent-fault-rate", fault=fault, presentation=presentation, glove_layer=item.layer)
            EVIDENCE.find("through-fault-fraction", fault=fault)


def test_every_agent_has_a_reduction_for_each_layer_that_it_is_used_on_and_each_class():
    for agent in CATALOGUE.agents.values():
        for layer in agent.on:
            for virus in ("enveloped", "non-enveloped", "bacteria", "unknown"):
                for seconds in (None, 5):
                    for soil in (None, "blood"):
                        EVIDENCE.find(
                            "log-reduction",
                            agent=agent.id,
                            layer=layer,
                            virus_class=virus,
                            seconds=seconds,
                            soil=soil,
                        )


def test_the_mean_of_a_reduction_is_the_central_figure_that_verdicts_use():
    """Bacteria on gloves go by what was measured with a gel."""
    for agent in CATALOGUE.agents.values():
        for layer in agent.on:
            for virus in agent.figures(layer):
                central = agent.log10(layer, virus)
                if (layer, virus) != ("gloves", "bacteria"):
                    law = EVIDENCE.find("log-reduction", agent=agent.id, layer=layer, virus_class=virus).law
                    assert law.mean == central, (agent.id, layer, virus)


def test_an_unknown_class_is_cleaned_as_the_one_that_is_cleaned_least_in_verdicts_and_amounts_alike():
    for agent in CATALOGUE.agents.values():
        for layer in agent.on:
            laws = {
                virus: EVIDENCE.find("log-reduction", agent=agent.id, layer=layer, virus_class=virus).law
                for virus in ("enveloped", "non-enveloped", "bacteria", "unknown")
            }
            assert agent.log10(layer, "unknown") == min(agent.figures(layer).values())
            assert agent.log10(layer, "unknown") == laws["unknown"].mean == min(law.mean for law in laws.values())


def test_a_class_that_an_agent_says_nothing_of_counts_as_not_cleaned():
    partial = CATALOGUE.agents["alcohol-rub"].model_copy(update={"log10_hands": {"enveloped": 2.8}})

    assert partial.log10("hands", "enveloped") == 2.8
    assert partial.log10("hands", "unknown") == 0.0


@pytest.mark.parametrize("agent", sorted(CATALOGUE.agents))
def test_more_time_and_less_blood_never_take_away_less(agent):
    for layer in CATALOGUE.agents[agent].on:
        for virus in ("enveloped", "non-enveloped", "bacteria", "unknown"):
            full, short, bloody = (
                EVIDENCE.find("log-reduction", agent=agent, layer=layer, virus_class=virus, **more).law.central
                for more in ({}, {"seconds": 5}, {"soil": "blood"})
            )
            assert short <= full
            assert bloody <= full


def test_every_surface_of_the_catalogue_has_a_material_and_a_size():
    surfaces = {f"{item.id}.{face.id}" for item in CATALOGUE.items.values() for face in item.faces}
    surfaces |= {f"body.{site}" for site in CATALOGUE.body} | {f"place.{place}" for place in CATALOGUE.places}
    surfaces |= {f"{helper.id}.{face}" for helper in CATALOGUE.helpers.values() for face in helper.faces}
    assert set(EVIDENCE.natures) == surfaces | {"air.room"}


def test_the_nature_of_a_body_site_is_that_of_what_clothes_it():
    assert EVIDENCE.nature("body.torso").material == "skin"
    assert EVIDENCE.nature("body.torso", frozenset({"torso"})).material == "work-clothing"
    assert EVIDENCE.nature("gown-impermeable.front").material == "coated-fabric"
    assert EVIDENCE.nature("gown-isolation.front", frozenset({"torso"})).material == "fabric-gown"
    assert EVIDENCE.nature("gown-impermeable.cuffs").size == "small"


def test_no_law_leaves_the_bounds_of_its_unit():
    for record in EVIDENCE.records.values():
        lowest, highest = BETWEEN[record.unit]
        assert lowest <= record.law.support[0] <= record.law.central <= record.law.support[1] <= highest
        if record.range:
            assert record.range[0] <= record.law.central <= record.range[1], record.id


def test_the_evidence_is_apart_from_the_facts_of_the_catalogue():
    assert not any("[[evidence]]" in text for text in packaged_texts().values())
    changed = load_evidence_texts(
        {**SHIPPED, "people.toml": SHIPPED["people.toml"].replace("alpha = 2,", "alpha = 3,")}
    )
    assert changed.digest != EVIDENCE.digest
    assert load_evidence_texts(SHIPPED).digest == EVIDENCE.digest


# ---- laws of conditions ----

WORDS = st.lists(st.sampled_from(("wet", "dry", "aerosol")), unique=True).map(tuple)
MATERIALS = st.lists(st.sampled_from(("glove", "skin", "hard")), unique=True).map(tuple)
SPANS = st.none() | st.tuples(st.integers(0, 5), st.none() | st.integers(1, 5)).map(
    lambda ends: Span(from_=ends[0], below=None if ends[1] is None else ends[0] + ends[1])
)
WHENS = st.builds(When, wetness=WORDS, from_material=MATERIALS, seconds=SPANS)
ASKED = st.fixed_dictionaries(
    {},
    optional={
        "wetness": st.sampled_from(("wet", "dry", "aerosol")),
        "from_material": st.sampled_from(("glove", "skin", "hard")),
        "seconds": st.integers(0, 12),
    },
)


@given(WHENS, WHENS, ASKED)
def test_two_records_overlap_exactly_where_both_apply(a, b, asked):
    both = overlap(a, b)
    together = met(a.given_conditions(), asked) and met(b.given_conditions(), asked)
    assert (both is not None and met(both, asked)) == together


@given(WHENS, WHENS, ASKED)
def test_a_record_that_covers_applies_wherever_the_other_does(a, b, asked):
    conditions = b.given_conditions()
    if covers(a, conditions) and met(conditions, asked):
        assert met(a.given_conditions(), asked)


def test_an_open_span_has_no_end():
    assert Span(from_=3).end == math.inf
    assert Span(from_=3).holds(1e9)


# ---- a hospital's own ----

OURS = """format-version = 1
[[evidence]]
id = "short-rub"
quantity = "short-rub-probability"
unit = "probability"
law = { kind = "beta", alpha = 3, beta = 27 }
source = "hospital"
certainty = "hospital"
trust = "medium"
because = { reason = "audit of 240 rubs on our unit", name = "A. Example, lead", date = 2026-03-02 }
"""


def test_a_hospitals_record_lies_over_ours_whole_and_what_it_shadows_is_listed():
    merged = load_evidence_texts(SHIPPED, {"ours.toml": OURS})
    (shadow,) = merged.shadowed
    assert merged.find("short-rub-probability").law.beta == 27
    assert merged.find("short-rub-probability").basis == ()  # whole: nothing of ours shines through
    assert (shadow.shipped.id, shadow.theirs.because.name) == ("short-rub", "A. Example, lead")
    assert merged.digest != EVIDENCE.digest
    assert EVIDENCE.shadowed == ()


def test_a_hospital_may_add_a_record_of_its_own():
    own = OURS.replace('"short-rub"', '"short-rub.seen"')
    own = own.replace('trust = "medium"', 'trust = "medium"\nwhen = { agent = "alcohol-rub" }')
    merged = load_evidence_texts(SHIPPED, {"ours.toml": own})
    assert merged.find("short-rub-probability", agent="alcohol-rub").id == "short-rub.seen"
    assert merged.find("short-rub-probability").id == "short-rub"
    assert [(one.shipped, one.theirs.id) for one in merged.shadowed] == [(None, "short-rub.seen")]

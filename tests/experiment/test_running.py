"""An experiment is run as written: what is loaded, forced, left out and looked at is what the file says."""

from __future__ import annotations

import numpy as np
import pytest

from vestry.contact.compiler import compile_order
from vestry.experiment import read_experiment, validate
from vestry.experiment.protocol import order_of
from vestry.trade import BadFacts, load_catalogue, load_evidence

CATALOGUE, EVIDENCE = load_catalogue(), load_evidence()
DRAWS = 2_000

HEAD = """format-version = 1
id = "x"
title = "x"
based-on = [{ source = "invented", certainty = "invented" }]
"""

GLOVES = (
    HEAD
    + """
sample = 50
[setup]
worn = ["scrubs", "gloves-standard"]
steps = [{ act = "doff", item = "gloves-standard" }]
loads = { "gloves-standard.palm-l" = 100, "gloves-standard.palm-r" = 300 }
marker = "fluorescent"
unit = "microlitre"
latent = false
limit = 1
[[arm]]
id = "one"
[[outcome]]
id = "out"
measure = "fraction"
sites = ["body.hand-*"]
[[check]]
id = "check"
compare = "value"
arm = "one"
outcome = "out"
tolerance = { low = 0 }
"""
)


def run(text, draws=DRAWS, seed=1):
    experiment = read_experiment(text, "x.toml", CATALOGUE, EVIDENCE)
    return validate(experiment, CATALOGUE, EVIDENCE, draws=draws, seed=seed, file="x.toml")


def answer(text, **more):
    return run(text, **more).judged[0].answer


def gloves(*changes, text=GLOVES):
    for right, wrong in changes:
        assert right in text
        text = text.replace(right, wrong, 1)
    return text


# ---- what is loaded ----


def test_what_is_loaded_is_what_the_file_says():
    text = gloves(('"fraction"', '"amount"'), ('["body.hand-*"]', '["*"]'), ("sites =", 'when = "arrival"\nsites ='))
    assert answer(text) == pytest.approx(400)


def test_nothing_is_made_and_nothing_lost_when_nothing_is_cleaned():
    assert answer(gloves(('["body.hand-*"]', '["*"]'))) == pytest.approx(1)


def test_loads_with_the_same_law_are_drawn_each_on_its_own():
    law = '{ kind = "log-uniform", low = 1, high = 100 }'
    text = gloves(
        ("= 100", f"= {law}"), ("= 300", f"= {law}"), ('"fraction"', '"any"'), ("limit = 1", "limit = 10"),
        ("sites =", 'when = "arrival"\nsites ='), ('["body.hand-*"]', '["gloves-standard.palm-*"]'),
    )  # fmt: skip
    assert answer(text, draws=20_000) == pytest.approx(0.75, abs=0.02)  # 1 - 1/2 * 1/2; alike it would be 1/2


# ---- lapses ----


def test_without_lapses_and_residue_the_hand_stays_clean():
    assert answer(gloves(("latent = false", 'latent = false\nlapses = "none"\nresidue = false'))) == 0


def test_a_forced_lapse_happens_in_every_run():
    clean = ("latent = false", 'latent = false\nlapses = "none"\nresidue = false\nforced = ["*:finger-outside@*"]')
    text = gloves(clean, ('"fraction"', '"any"'), ("limit = 1", "limit = 1e-9"))
    assert answer(text) == 1


def test_a_pattern_that_meets_no_event_is_refused():
    with pytest.raises(BadFacts, match=r"x\.toml: arm one: no event fits \*:finger-inside@\*"):
        run(gloves(("latent = false", 'forced = ["*:finger-inside@*"]')))


def test_a_step_that_cannot_be_done_is_told_with_file_and_arm():
    with pytest.raises(BadFacts, match=r"x\.toml: arm one: steps\.0"):
        run(gloves(('item = "gloves-standard"', 'item = "apron"')))


def test_the_untrained_and_unwatched_slip_more_often():
    text = gloves(('"fraction"', '"slip-per-step"'), ('sites = ["body.hand-*"]\n', ""))
    worse = text.replace("latent = false", "context = { trained = false, observer = false, read-aloud = false }", 1)
    assert answer(worse, draws=20_000) > 3 * answer(text, draws=20_000)


# ---- hygiene ----

RUBBED = gloves(
    ("steps = [", 'steps = [{ act = "disinfect-gloves" }, '), ("latent = false", 'latent = false\nlapses = "none"'),
    ('["body.hand-*"]', '["gloves-standard.palm-*"]'), ('"fraction"', '"log10-reduction"'),
)  # fmt: skip


def test_the_agent_and_the_class_of_the_marker_decide_what_a_rub_takes_away():
    def taken(agent, virus):
        return answer(
            gloves(("latent = false", f'latent = false\nagent = "{agent}"\nvirus-class = "{virus}"'), text=RUBBED)
        )

    enveloped, naked = taken("alcohol-rub", "enveloped"), taken("alcohol-rub", "non-enveloped")
    assert enveloped > naked + 1
    assert taken("chlorine-0.5", "non-enveloped") > naked + 1


def test_a_rub_forced_too_short_takes_away_less_and_one_left_out_nothing():
    full = answer(RUBBED)
    hygiene = '["disinfect-gloves:*:left-out-or-short@*"]'
    short = answer(gloves(("latent = false", f"latent = false\ntoo-short = {hygiene}"), text=RUBBED))
    none = answer(gloves(("latent = false", f"latent = false\nforced = {hygiene}"), text=RUBBED))
    assert full > short + 0.5
    assert short > none + 0.2


# ---- what is looked at ----


def test_sampling_that_recovers_less_finds_less():
    text = gloves(('"fraction"', '"any"'))
    half = text.replace("limit = 1\n", "limit = 1\nrecoverable = 0.05\n", 1)
    assert answer(half) < answer(text)


def test_a_site_that_is_never_touched_holds_nothing():
    assert answer(gloves(('["body.hand-*"]', '["body.eyes"]'))) == 0


def test_the_answer_depends_on_the_seed_alone():
    assert answer(GLOVES) == answer(GLOVES)
    assert answer(GLOVES) != answer(GLOVES, seed=2)


def test_a_larger_study_finds_a_narrower_interval():
    def width(sample):
        (low, high), _ = (run(GLOVES.replace("sample = 50", f"sample = {sample}"), draws=8_000).judged[0].interval, 0)
        return high - low

    assert width(400) < width(10)


EDGE = (
    HEAD
    + """
[[arm]]
id = "one"
edge = { donor = "filter", recipient = "skin" }
[[outcome]]
id = "out"
measure = "fraction"
sites = ["recipient"]
statistic = "mean"
[[check]]
id = "check"
compare = "value"
arm = "one"
outcome = "out"
tolerance = { low = 0 }
"""
)


def test_one_contact_passes_on_what_the_record_says():
    law = EVIDENCE.find("transfer-fraction", from_material="filter", to_material="skin", wetness="wet").law
    assert answer(EDGE, draws=40_000) == pytest.approx(law.central, rel=0.02)


def test_many_contacts_saturate():
    def after(touches):
        return answer(EDGE.replace('"skin" }', f'"skin", touches = {touches} }}'), draws=4_000)

    once, often, always = after(1), after(20), after(60)
    assert once < often < 1
    assert always == pytest.approx(often, rel=0.1)


def test_a_smaller_patch_passes_on_less():
    assert answer(EDGE.replace('"skin" }', '"skin", shares = [0.1, 1] }')) == pytest.approx(answer(EDGE) / 10, rel=0.01)


# ---- checks ----


def test_a_miss_is_a_miss_whatever_is_widened_around_it():
    judged = run(GLOVES.replace("{ low = 0 }", "{ low = 0.9 }")).judged[0]
    assert (judged.met, judged.answer < 0.9) == (False, True)


def test_a_ratio_to_nothing_misses():
    text = gloves(
        ('id = "one"\n', 'id = "one"\n[[arm]]\nid = "nothing"\nlapses = "none"\nresidue = false\n'),
        ('compare = "value"', 'compare = "ratio"\nagainst = "nothing"'),
    )
    judged = run(text).judged[0]
    assert np.isnan(judged.answer)
    assert not judged.met
    assert run(text).as_json()["checks"][0]["answer"] is None


def test_an_order_holds_or_does_not():
    more = '[[outcome]]\nid = "eyes"\nmeasure = "fraction"\nsites = ["body.eyes"]\nstatistic = "mean"\n[[check]]'
    text = gloves(("[[check]]", more), ('outcome = "out"\ntolerance = { low = 0 }', 'order = ["out", "eyes"]'))
    text = gloves(('compare = "value"', 'compare = "order"'), text=text)
    assert run(text).judged[0].met
    assert not run(text.replace('["out", "eyes"]', '["eyes", "out"]')).judged[0].met


def test_families_are_ranked_by_what_their_errors_bring():
    text = gloves(
        ("steps = [", 'steps = [{ act = "inspect" }, { act = "disinfect-gloves" }, '), ("sample = 50", "sample = 50"),
        ("latent = false", "latent = false\nresidue = false"), ('"fraction"', '"importance"'),
        ("[[check]]", '[outcome.families]\ngloves = ["doff:gloves*"]\nlooking = ["inspect:*"]\n[[check]]'),
        ('"value"', '"top"'), ("tolerance = { low = 0 }", 'order = ["gloves"]\nat-least = 1\nof-first = 1'),
    )  # fmt: skip
    judged = run(text).judged[0]
    assert judged.met
    assert [name for name, _ in judged.detail] == ["gloves", "looking"]
    assert judged.detail[0][1] > 0
    assert judged.detail[1][1] == 0


def test_what_it_rests_on_is_told():
    found = run(GLOVES)
    assert "residue.seeps-amount" in found.rests_on
    assert found.defaults == ()
    assert (found.evidence, found.facts) == (EVIDENCE.digest, CATALOGUE.digest)


# ---- set-ups of many kinds, as others will write them ----

GOWN = ["scrubs", "washable-shoes", "gown-impermeable", "respirator-disposable", "face-shield"]
SUIT = ["scrubs", "washable-shoes", "boot-covers-high", "respirator-disposable", "coverall-hooded", "goggles"]
GOWN_STEPS = ["face-shield", "gown-impermeable"]
SUIT_STEPS = ["goggles", "coverall-hooded", "boot-covers-high"]


@pytest.mark.parametrize("gear", ["gown", "suit"])
@pytest.mark.parametrize("pairs", [1, 2])
@pytest.mark.parametrize("agent", ["alcohol-rub", "chlorine-0.5"])
@pytest.mark.sampled(3)
def test_gown_set_or_suit_one_pair_or_two_alcohol_or_chlorine(gear, pairs, agent):
    worn, garments = (GOWN, GOWN_STEPS) if gear == "gown" else (SUIT, SUIT_STEPS)
    worn = [*worn[:2], *(["inner-gloves-standard"] if pairs == 2 else []), *worn[2:], "gloves-standard"]
    off = ["gloves-standard", *garments, "inner-gloves-standard"] if pairs == 2 else [*garments, "gloves-standard"]
    steps = "".join(f'{{ act = "disinfect-gloves" }}, {{ act = "doff", item = "{item}" }}, ' for item in off)
    steps += '{ act = "hand-hygiene" }, { act = "doff", item = "respirator-disposable" }, { act = "hand-hygiene" }'
    arms = "".join(
        f'[[arm]]\nid = "{virus}-{lapses}"\nvirus-class = "{virus}"\nlapses = "{lapses}"\n'
        for virus in ("enveloped", "non-enveloped")
        for lapses in ("none", "drawn")
    )
    text = f"""{HEAD}
[setup]
worn = {worn}
steps = [{steps}]
presentation = "wet"
agent = "{agent}"
marker = "phage"
unit = "pfu"
amounts = {{ high = 1e8, low = 1e6 }}
{arms}
[[outcome]]
id = "on-skin"
measure = "amount"
sites = ["body.*"]
statistic = "mean"
[[check]]
id = "lapses-bring-more"
compare = "ratio"
arm = "non-enveloped-drawn"
against = "non-enveloped-none"
outcome = "on-skin"
tolerance = {{ above = 1.0 }}
[[check]]
id = "the-harder-marker-stays"
compare = "ratio"
arm = "non-enveloped-none"
against = "enveloped-none"
outcome = "on-skin"
tolerance = {{ above = 1.0 }}
""".replace("'", '"')
    found = run(text, draws=500)
    assert found.defaults == ()
    assert [one.met for one in found.judged] == [True, True]


def test_arms_are_the_orders_that_they_say():
    experiment = read_experiment(GLOVES, "x.toml", CATALOGUE, EVIDENCE)
    program = compile_order(order_of(experiment.whole("one"), CATALOGUE, "x"), CATALOGUE)
    assert program.steps == ("doff:gloves-standard:glove-in-glove",)

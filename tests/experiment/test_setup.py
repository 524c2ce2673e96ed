"""A set-up says all that an experiment needs, and what means nothing in it is told with its line."""

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

from vestry.contact.compiler import compile_order
from vestry.experiment import packaged_experiments, read_experiment
from vestry.experiment.protocol import loaded, order_of
from vestry.experiment.setup import Setup, Tolerance
from vestry.trade import BadFacts, Step, load_catalogue, load_evidence

CATALOGUE, EVIDENCE = load_catalogue(), load_evidence()
SHIPPED = packaged_experiments()


def read(text, name="mine.toml"):
    return read_experiment(text, name, CATALOGUE, EVIDENCE)


GOOD = """format-version = 1
id = "one-item"
title = "One pair of gloves alone"
based-on = [{ source = "invented", certainty = "invented" }]

[setup]
worn = ["scrubs", "gloves-standard"]
steps = [{ act = "doff", item = "gloves-standard" }]
loads = { "gloves-standard.palm-l" = 100 }

[[arm]]
id = "as-taught"
lapses = "none"

[[arm]]
id = "lapses"
forced = ["*:finger-outside@*"]

[[outcome]]
id = "hands"
measure = "any"
sites = ["body.hand-*"]

[[check]]
id = "worse"
compare = "ratio"
arm = "lapses"
against = "as-taught"
outcome = "hands"
tolerance = { above = 1.0 }
"""


# ---- what is shipped ----


def test_all_seventeen_open_checks_are_there():
    ids = [check.id for name, text in SHIPPED.items() for check in read(text, name).check]
    assert {one.split("-")[0] for one in ids} == {f"r{number}" for number in range(1, 18)}


@pytest.mark.parametrize("name", SHIPPED)
def test_every_arm_with_steps_compiles_and_loads_what_exists(name):
    experiment = read(SHIPPED[name], name)
    assert name == f"{experiment.id}.toml"
    for arm in experiment.arm:
        whole = experiment.whole(arm.id)
        if whole.steps or whole.protocol:
            order = order_of(whole, CATALOGUE, experiment.title)
            program = compile_order(order, CATALOGUE)
            assert program.start
            if whole.loads is not None:
                assert {program.surfaces[number] for number, _ in program.start} == set(
                    loaded(whole, order.worn, CATALOGUE)
                )


# ---- arms ----


def test_an_arm_takes_what_it_leaves_out_from_the_shared_set_up():
    experiment = read(GOOD)
    assert experiment.whole("lapses").worn == ("scrubs", "gloves-standard")
    assert (experiment.whole("lapses").lapses, experiment.whole("as-taught").lapses) == (None, "none")
    assert experiment.whole("as-taught").forced is None


def test_the_agent_goes_to_the_hygiene_steps_that_it_can_do():
    steps = (
        Step(act="disinfect-gloves"),
        Step(act="disinfect-gloves", agent="alcohol-rub"),
        Step(act="doff", item="gloves-standard"),
        Step(act="hand-hygiene"),
    )
    order = order_of(Setup(worn=("gloves-standard",), steps=steps, agent="chlorine-0.5"), CATALOGUE, "x")
    assert [step.agent for step in order.steps] == ["chlorine-0.5", "alcohol-rub", None, None]


def test_a_pattern_loads_every_face_that_it_meets_and_a_name_of_its_own_goes_before():
    arm = Setup(worn=("gloves-standard",), loads={"gloves-standard.palm-*": 5.0, "gloves-standard.palm-l": 7.0})
    assert loaded(arm, ("gloves-standard",), CATALOGUE) == {
        "gloves-standard.palm-l": 7.0,
        "gloves-standard.palm-r": 5.0,
    }


# ---- tolerances ----


@pytest.mark.parametrize(
    ("tolerance", "meets", "misses"),
    [
        ({"low": 0.1, "high": 0.4}, (0.1, 0.25, 0.4), (0.0999, 0.4001, float("nan"))),
        ({"high": 0.05}, (-1, 0.05), (0.051, float("nan"))),
        ({"above": 0.0}, (1e-9,), (0.0, -1, float("nan"))),
    ],
)
def test_an_answer_meets_a_tolerance_or_misses_it(tolerance, meets, misses):
    limits = Tolerance(**tolerance)
    assert all(limits.holds(answer) for answer in meets)
    assert not any(limits.holds(answer) for answer in misses)


# ---- what means nothing ----


@pytest.mark.parametrize(
    ("right", "wrong", "line", "said"),
    [
        ('"gloves-standard"]', '"gloves"]', 7, "setup.worn: no item is called gloves"),
        ('item = "gloves-standard"', 'item = "gloves-standart"', 8, "did you mean gloves-standard?"),
        ('"gloves-standard.palm-l" = 100', '"gloves-standard.palm" = 100', 9, "no surface is called"),
        ('"gloves-standard.palm-l" = 100', '"gloves-standard.palm-l" = -1', 9, "greater than or equal to 0"),
        ('"gloves-standard.palm-l" = 100', '"gloves-standard.palm-l" = nan', 9, "finite number"),
        ('"body.hand-*"', '"body.paw-*"', 22, "outcome.0.sites: no surface is called body.paw-*"),
        ("sites = [", "site = [", 22, "outcome.0.site: Extra inputs are not permitted"),
        ('measure = "any"', 'measure = "all"', 21, "outcome.0.measure: Input should be 'any'"),
        ('arm = "lapses"', 'arm = "lapse"', 27, "check.0.arm: no arm is called lapse; did you mean lapses?"),
        ('against = "as-taught"', 'against = "taught"', 28, "no arm is called taught"),
        ("tolerance = { above = 1.0 }", "tolerance = { low = 2, high = 1 }", 30, "low must not lie above high"),
        ("tolerance = { above = 1.0 }", "", 24, "a ratio has outcome and tolerance"),
        ('against = "as-taught"', "", 24, "a ratio is against another arm or against another outcome"),
        ('"invented", certainty = "invented"', '"smith", certainty = "seen"', 4, "no source is called smith"),
        ('lapses = "none"', 'lapses = "some"', 13, "Input should be 'drawn' or 'none'"),
        ('lapses = "none"', 'edge = { donor = "hard", recipient = "skin" }', 11, "exactly one of protocol, steps"),
        ('id = "lapses"', 'id = "as-taught"', 16, "as-taught stands twice"),
    ],
)
def test_one_thing_wrong_is_told_with_its_line(right, wrong, line, said):
    assert right in GOOD
    with pytest.raises(BadFacts) as caught:
        read(GOOD.replace(right, wrong, 1))
    problems = [str(one) for one in caught.value.problems]
    assert any(one.startswith(f"mine.toml:{line}: ") and said in one for one in problems), problems


def test_the_example_of_the_page_is_an_experiment():
    text = (Path(__file__).parents[2] / "docs/reference/examples/experiment.toml").read_text("utf-8")
    experiment = read(text, "experiment.toml")
    assert [arm.id for arm in experiment.arm] == ["one-pair", "two-pairs"]
    jsonschema.validate(
        json.loads(json.dumps(tomllib.loads(text))),
        json.loads((Path(__file__).parents[2] / "docs/reference/schemas/experiment.json").read_text("utf-8")),
    )

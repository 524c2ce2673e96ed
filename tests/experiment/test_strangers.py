"""Files as a stranger would write them from docs/reference/experiment-file.md alone, all invented: they run.

Single or double gloves, alcohol or chlorine on gloves, enveloped or not, gown set or hooded suit, one item alone, with
and without lapses. And what is said to a stranger who writes trade words where ids are wanted.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from vestry.experiment import read_experiment, validate
from vestry.trade import BadFacts, load_catalogue, load_evidence

FILES = sorted((Path(__file__).parent / "strangers").iterdir())
AS_THEY_SHOULD = {
    "single-or-double": {"double-helps": True},
    "alcohol-or-chlorine": {"c1": True},
    "one-item": {"wrong-is-more": True},
    "lapses": {"taught-few": True, "short-between": True},
    "enveloped-or-not": {"not-enveloped-leaves-more": True},
    "gown-or-suit": {},
}


@pytest.mark.slow
@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_strangers_file_runs_and_no_quantity_lacks_evidence(path: Path):
    text = path.read_text("utf-8")
    assert "nvented" in text
    catalogue, evidence = load_catalogue(), load_evidence()
    found = validate(read_experiment(text, path.name, catalogue, evidence), catalogue, evidence, draws=1500, seed=2)
    met = {one.check.id: one.met for one in found.judged}
    assert met | AS_THEY_SHOULD[path.stem] == met
    assert found.defaults == ()


HEAD = """format-version = 1
id = "strange"
title = "strange"
based-on = [{ source = "invented", certainty = "invented" }]
[[arm]]
id = "a"
worn = ["scrubs", "WORN"]
steps = [{ act = "doff", item = "gown-isolation" }, { act = "hand-hygiene", agent = "AGENT" }]
loads = { "gown-isolation.front" = LOAD }
forced = ["FORCED"]
[[outcome]]
id = "o"
measure = "any"
sites = ["body.hand-l"]
[[check]]
id = "c"
compare = "value"
arm = "a"
outcome = "o"
tolerance = { low = 0.1 }
"""
RIGHT = {"WORN": "gown-isolation", "AGENT": "alcohol-rub", "LOAD": "5", "FORCED": "*"}


def refused(**wrong: str) -> list[str]:
    text = HEAD
    for word, value in (RIGHT | wrong).items():
        text = text.replace(word, value)
    catalogue, evidence = load_catalogue(), load_evidence()
    with pytest.raises(BadFacts) as caught:
        validate(read_experiment(text, "s.toml", catalogue, evidence), catalogue, evidence, draws=100, file="s.toml")
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (
            {"WORN": "gown"},
            "s.toml:7: arm.0.worn: no item is called gown; in the catalogue that is gown-im",
        ),
        (
            {"WORN": "n95"},
            "no item is called n95; in the catalogue that is respirator-disposable",
        ),
        ({"WORN": "shoe-covers"}, "in the catalogue that is foot-covers-low"),
        ({"AGENT": "abhr"}, "no agent is called abhr; there are alcohol-rub,"),
        ({"LOAD": "-1"}, "s.toml:9: arm.0.loads.gown-isolation.front: Input should be greater than"),
        ({"LOAD": '"plenty"'}, "wanted is an amount of 0 or more, a distribution as"),
        ({"LOAD": '{ kind = "normal", mean = 3 }'}, "a normal law has mean, sd (and may have low, high): sd missing"),
        ({"FORCED": "*:zipped@*"}, "no event fits *:zipped@*; what can go wrong in this arm is called"),
    ],
)
def test_trade_words_and_slips_of_the_pen_are_told_with_what_would_be_right(wrong: dict[str, str], said: str):
    problems = refused(**wrong)
    assert len(problems) == 1
    assert said in problems[0]


def test_a_ratio_to_nothing_is_no_number(capsys: pytest.CaptureFixture[str]):
    from vestry.cli import main

    lapses = next(path for path in FILES if path.stem == "lapses")
    main(["validate", str(lapses), "--draws", "400"])
    assert "no number: nothing in the other arm" in capsys.readouterr().out

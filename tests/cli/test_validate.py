"""`vestry validate`: met is 0, missed is 1, a bad file is 2; what is printed says both numbers side by side."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from tools import make_reference

from vestry.cli.main import main

EXAMPLE = make_reference.PLACE / "examples/experiment.toml"
FEW = ("--draws", "800")


def written(tmp_path: Path, right: str = "", wrong: str = "") -> str:
    text = EXAMPLE.read_text("utf-8")
    assert right in text
    place = tmp_path / "mine.toml"
    place.write_text(text.replace(right, wrong) if right else text, "utf-8")
    return str(place)


def test_the_example_is_met_and_fits_its_schema(capsys):
    assert main(["validate", str(EXAMPLE), *FEW, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)

    jsonschema.validate(document, json.loads((make_reference.PLACE / "schemas/validated.json").read_text("utf-8")))
    (one,) = document["experiments"]
    assert document["met"]
    assert [check["id"] for check in one["checks"]] == ["one-pair-often", "two-pairs-carry-less"]
    assert one["defaults"] == []


def test_a_miss_is_said_and_is_exit_status_one(capsys, tmp_path):
    assert main(["validate", written(tmp_path, "{ high = 0.5 }", "{ high = 1e-9 }"), *FEW]) == 1
    text = capsys.readouterr().out
    assert "two-pairs-carry-less  MISSED" in text
    assert "1 of 2 checks met, in 1 experiments." in text


@pytest.mark.parametrize(
    ("right", "wrong", "said"),
    [
        ('"gloves-standard"]', '"glove-standard"]', "no item is called glove-standard"),
        ("finger-outside", "finger-outsid", "no event fits"),
        ("observed = 0.9", "observed = nan", "finite number"),
        ("[setup]", "[set-up]", "Extra inputs are not permitted"),
    ],
)
def test_a_bad_file_is_told_with_its_name_and_is_exit_status_two(capsys, tmp_path, right, wrong, said):
    name = written(tmp_path, right, wrong)
    assert main(["validate", name, *FEW]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert name in printed.err
    assert said in printed.err


@pytest.mark.parametrize(
    "arguments", [(), ("--shipped", "--draws", "10"), ("--shipped", "--seed", "-1"), ("nowhere.toml",)]
)
def test_wrong_use_is_exit_status_two(capsys, arguments):
    assert main(["validate", *arguments]) == 2
    assert capsys.readouterr().err


def test_a_hospitals_estimates_change_what_is_predicted(capsys):
    evidence = str(make_reference.PLACE / "examples/evidence.toml")

    def digest(*more: str) -> str:
        main(["validate", str(EXAMPLE), *FEW, *more, "--json"])
        return json.loads(capsys.readouterr().out)["experiments"][0]["evidence"]

    assert digest() != digest("--evidence", evidence)

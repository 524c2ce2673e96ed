"""`vestry evidence`: every estimate can be opened to its source, and a hospital's own is seen to lie over ours."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema
import pytest
from tools import make_reference

from vestry.cli.main import main
from vestry.trade.evidence import load_evidence

EXAMPLE = str(make_reference.PLACE / "examples/evidence.toml")
PAGE = (make_reference.PLACE / "evidence.md").read_text("utf-8")


def printed(capsys, *arguments: str) -> dict:
    assert main(["evidence", *arguments, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    schema = json.loads((make_reference.PLACE / "schemas/evidence-listed.json").read_text("utf-8"))
    jsonschema.validate(document, schema)
    return document


def test_all_records_are_listed_with_source_certainty_and_trust(capsys):
    document = printed(capsys)
    assert {one["id"] for one in document["records"]} == set(load_evidence().records)
    sources = {one["id"] for one in document["sources"]}
    for one in document["records"]:
        assert one["source"] in sources or one["source"] == "judgement"
        assert one["certainty"]
        assert one["trust"]


def test_one_record_comes_with_what_it_rests_on(capsys):
    document = printed(capsys, "transfer.filter-hand")
    assert [one["id"] for one in document["measurements"]] == ["t17", "t18"]
    assert [one["url"] for one in document["sources"]] == ["https://doi.org/10.1080/15459624.2017.1346799"]

    assert main(["evidence", "transfer.filter-hand"]) == 0
    text = capsys.readouterr().out
    assert "alpha 3.5, beta 28" in text
    assert "rests on t17" in text
    assert "trust high" in text


def test_only_one_quantity(capsys):
    document = printed(capsys, "--quantity", "run-spread")
    assert [one["id"] for one in document["records"]] == ["run-spread"]


def test_a_hospitals_own_lies_over_ours_and_says_why(capsys):
    document = printed(capsys, "--evidence", EXAMPLE)
    assert document["shadowed"] == ["short-rub", "reduction.own-rub-gloves"]
    assert main(["evidence", "--evidence", EXAMPLE]) == 0
    text = capsys.readouterr().out
    assert "short-rub: laid over ours. 240 rubs seen in drills" in text
    assert "reduction.own-rub-gloves: added." in text


def test_an_unknown_record_is_wrong_use_with_a_guess(capsys):
    assert main(["evidence", "short-rup"]) == 2
    assert "no record is called short-rup; did you mean short-rub?" in capsys.readouterr().err


def test_a_hostile_file_is_told_with_file_and_line(capsys, tmp_path):
    bad = tmp_path / "bad.toml"
    bad.write_text(Path(EXAMPLE).read_text("utf-8").replace("beta = 209", "beta = nan"), "utf-8")
    assert main(["evidence", "--evidence", str(bad)]) == 2
    assert re.search(r"bad\.toml:9: evidence\.0\.law\.beta: Input should be a finite number", capsys.readouterr().err)


@pytest.mark.parametrize("name", ["Quantity", "Material", "Kind"])
def test_the_page_names_every_word_of_the_closed_lists(name):
    from typing import get_args

    from vestry.trade import evidence_values, law

    words = get_args(getattr(evidence_values, name, None) or getattr(law, name))
    assert [word for word in words if f"`{word}`" not in PAGE] == []


def test_the_page_shows_a_record_as_it_is_shipped():
    shown = re.search(r"```toml\n(.*?)```", PAGE, re.S)
    shipped = load_evidence().records["transfer.hard-glove-wet"]
    assert shown
    for line in shown[1].splitlines():
        key, _, value = line.partition(" = ")
        if key in ("unit", "source", "trust", "note"):
            assert json.loads(value) == getattr(shipped, key)

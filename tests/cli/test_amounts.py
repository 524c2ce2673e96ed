"""Amounts and what-if at the command line: what they print, and what they refuse."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from vestry.cli import main

ORDER = "cdc-covid-doff-2020--respirator-shield"
FEW = ("--draws", "400")
SCHEMAS = Path(__file__).parents[2] / "docs" / "reference" / "schemas"


def told(capsys: Any, *arguments: str) -> tuple[int, str, str]:
    status = main(list(arguments))
    said = capsys.readouterr()
    return status, said.out, said.err


@pytest.mark.parametrize(
    ("schema", "arguments"),
    [
        ("amounts", ("amounts", ORDER)),
        ("amounts-differ", ("amounts", ORDER, "--against", "cdc-covid-doff-2020--respirator-goggles")),
        ("whatif", ("whatif", ORDER)),
    ],
)
def test_what_is_printed_fits_its_schema(capsys: Any, schema: str, arguments: tuple[str, ...]) -> None:
    status, out, _ = told(capsys, *arguments, *FEW, "--json")

    assert status == 0
    jsonschema.validate(json.loads(out), json.loads((SCHEMAS / f"{schema}.json").read_text("utf-8")))


def test_the_same_seed_gives_the_same_answer_and_another_seed_another(capsys: Any) -> None:
    one, again, other = (
        told(capsys, "amounts", ORDER, *FEW, "--seed", seed, "--json")[1] for seed in ("7", "7", "8")
    )
    assert one == again
    assert one != other


def test_nothing_that_is_told_is_a_probability_of_infection(capsys: Any) -> None:
    _, out, _ = told(capsys, "amounts", ORDER, *FEW)

    said = " ".join(out.split())
    assert "They say nothing of infection, and permit nothing." in said
    assert "alarm load" in said
    assert "local procedure" in said


def test_observer_and_second_person_are_never_offered_for_removal(capsys: Any) -> None:
    _, out, _ = told(capsys, "whatif", ORDER, "--draws", "200", "--json")
    found = json.loads(out)

    assert not [one for one in found["changes"] if one["kind"] == "drop-hygiene" and one["at"] is None]
    assert {one["what"] for one in found["kept"]} >= {"observer", "second-person"}


@pytest.mark.parametrize(
    "wrong",
    [("--draws", "0"), ("--draws", "-5"), ("--months", "-1"), ("--minutes", "nan"), ("--seed", "x"), ("--soil", "mud")],
)
def test_wrong_use_is_told_and_ends_with_2(capsys: Any, wrong: tuple[str, str]) -> None:
    try:
        status = main(["amounts", ORDER, *wrong])
    except SystemExit as left:
        status = int(left.code or 0)
    assert status == 2


def test_an_unknown_order_is_told(capsys: Any) -> None:
    assert told(capsys, "amounts", "no-such-order")[0] == 2

"""Amounts and what-if at the command line: what they print, and what they refuse."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from vestry.cli import main
from vestry.cli.sequences import read_subject
from vestry.sequence import Case, Policy, plan_case, subject_of_plan
from vestry.sequence.amounts_found import ContributionRow
from vestry.sequence.amounts_telling import of_contribution
from vestry.trade import load_catalogue
from vestry.trade.words import load_words

ORDER = "cdc-covid-doff-2020--respirator-shield"
FEW = ("--draws", "400")
SCHEMAS = Path(__file__).parents[2] / "docs" / "reference" / "schemas"


def told(capsys: Any, *arguments: str) -> tuple[int, str, str]:
    status = main(list(arguments))
    said = capsys.readouterr()
    return status, said.out, said.err


@pytest.mark.slow
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


@pytest.mark.slow
def test_the_same_seed_gives_the_same_answer_and_another_seed_another(capsys: Any) -> None:
    one, again, other = (told(capsys, "amounts", ORDER, *FEW, "--seed", seed, "--json")[1] for seed in ("7", "7", "8"))
    assert one == again
    assert one != other


def test_nothing_that_is_told_is_a_probability_of_infection(capsys: Any) -> None:
    _, out, _ = told(capsys, "amounts", ORDER, *FEW)

    said = " ".join(out.split())
    assert "They say nothing of infection, and permit nothing." in said
    assert "alarm load" in said
    assert "local procedure" in said


@pytest.mark.slow
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


@pytest.mark.parametrize("command", ["amounts", "whatif"])
def test_steps_are_said_in_words_and_never_by_their_id(capsys: Any, command: str) -> None:
    subject = read_subject(ORDER, load_catalogue(), load_words("en"), None)

    _, out, _ = told(capsys, command, ORDER, "--draws", "200")

    assert not [step.id for step in subject.steps if step.id in out]
    assert "step 6, Respirator off" in out


def test_a_step_of_a_plan_has_the_number_that_it_has_in_the_plan() -> None:
    catalogue, words = load_catalogue(), load_words("en")
    plan = plan_case(Case(hazard="mers", presentation="dry"), Policy(), catalogue)
    subject = subject_of_plan(plan, "plan", "plan", catalogue)
    number, step = next((n, s) for n, s in enumerate(plan.steps, 1) if s.act == "doff")
    row = ContributionRow(kind="step", id=step.id, step=step.id, number=1, happened=0.5, falls={}, share_of_mean={})

    assert of_contribution(row, subject, words).startswith(f"step {number}, ")

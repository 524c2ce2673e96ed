"""What each command prints: JSON by its schema, exit status, and readable text with the cautions and no promise."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from tools.make_reference import PLACE

from vestry.cli.main import COMMANDS, main
from vestry.trade.words import load_words

PLAN = str(PLACE / "examples" / "plan.json")
ORDER = str(PLACE / "examples" / "order.toml")
STEP = "doff:face-shield:rear-strap"
CONDITION = {"if", "when", "unless"}

# argv, exit status, the schema of what is printed
JSON = {
    "plan": (["plan", "--hazard", "lassa"], 0, "planned"),
    "plan-wet": (["plan", "--hazard", "ebola", "--presentation", "wet", "--respirator", "belt-blower"], 0, "planned"),
    "plan-none": (["plan", "--hazard", "ebola", "--gear", "scrubs"], 1, "no-plan"),
    "plan-own-order-stuck": (
        ["plan", "--hazard", "mers", "--own-order", "hair-cover", "shield", "gown", "foot-covers", "respirator"],
        1,
        "no-plan",
    ),
    "check": (["check", ORDER, "--errors", "1"], 0, "assurance"),
    "check-reached": (["check", ORDER, "--errors", "1", "--without", "cleaning-clears"], 1, "assurance"),
    "recover": (["recover", PLAN, "--at", STEP], 0, "recovery"),
    "recover-event": (["recover", PLAN, "--at", STEP, "--event", "latent:inner-gloves-long:hole-l"], 0, "recovery"),
    "catalog": (["catalog"], 0, "catalog"),
    "catalog-kind": (["catalog", "--kind", "gown"], 0, "catalog"),
    "compare": (["compare", ORDER, "practice-haemorrhagic-respirator"], 0, "comparison"),
    "compare-other-ensemble": (["compare", PLAN, "practice-haemorrhagic-mask"], 1, "comparison"),
    "substitute": (["substitute", PLAN, "--without", "face-shield", "--with", "goggles"], 0, "substitution"),
    "substitute-none": (["substitute", PLAN, "--without", "scrubs"], 1, "no-plan"),
    "rules": (["rules", "--hazard", "mers", "--respirator", "belt-blower"], 0, "weighing"),
    "rules-none": (["rules", "--hazard", "ebola", "--gear", "scrubs"], 1, "no-plan"),
    "explain": (["explain", ORDER, "--surface", "body.eyes"], 0, "explanation"),
    "explain-step": (["explain", PLAN, "--step", STEP], 0, "explanation"),
    "explain-reached": (["explain", "cdc-ebola-2014oct-papr-doff--gown-external-with-apron"], 1, "explanation"),
    "orders": (["orders"], 0, "orders"),
    "orders-one": (["orders", "practice-haemorrhagic-respirator"], 0, "order"),
}
READABLE = {name: argv for name, (argv, _, _) in JSON.items() if not name.startswith(("catalog", "orders"))}


def schema(name: str) -> dict[str, Any]:
    return dict(json.loads((PLACE / "schemas" / f"{name}.json").read_text("utf-8")))


def printed(capsys: pytest.CaptureFixture[str], argv: list[str]) -> tuple[int, str]:
    status = main(argv)
    return status, capsys.readouterr().out


def strict(text: str) -> Any:
    """JSON without the numbers that are none."""

    def refuse(word: str) -> None:
        raise ValueError(word)

    return json.loads(text, parse_constant=refuse)


@pytest.mark.parametrize("name", JSON)
@pytest.mark.sampled(10)
def test_json_fits_its_schema_and_status_says_yes_or_no(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    argv, expected, form = JSON[name]
    status, out = printed(capsys, [*argv, "--json"])
    document = strict(out)

    jsonschema.validate(document, schema(form))
    assert status == expected
    if form == "planned":
        jsonschema.validate(document["plan"], schema("plan"))
        jsonschema.validate(document["assurance"], schema("assurance"))
        assert not CONDITION & {key for step in document["plan"]["steps"] for key in step}


@pytest.mark.slow
def test_every_order_checked_fits_its_schema(capsys: pytest.CaptureFixture[str]) -> None:
    status, out = printed(capsys, ["orders", "--check", "--json"])
    rows = strict(out)

    jsonschema.validate(rows, schema("orders-checked"))
    assert status == int(any(row["verdict"] != "clean" for row in rows))
    status, out = printed(capsys, ["orders", "--check"])
    assert " safe" not in out.lower()


@pytest.mark.slow
def test_a_written_sheet_is_told_as_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out = printed(capsys, ["sheet", PLAN, "--out", str(tmp_path / "sheet.pdf"), "--json"])

    jsonschema.validate(strict(out), schema("written"))
    assert (status, strict(out)["bytes"]) == (0, (tmp_path / "sheet.pdf").stat().st_size)


@pytest.mark.parametrize("name", READABLE)
@pytest.mark.sampled(8)
def test_readable_output_says_the_cautions_and_never_safe(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    status, out = printed(capsys, READABLE[name])
    told = re.sub(r"\s+", " ", out)

    assert status == JSON[name][1]
    assert not re.search(r"\bsafe(ly|ty|r)?\b", told, re.IGNORECASE)
    assert not re.search(r"\b(proven|guaranteed|no risk)\b", told, re.IGNORECASE)
    for caution in load_words("en").cautions:
        assert caution in told


def test_a_plan_names_itself_and_is_unapproved(capsys: pytest.CaptureFixture[str]) -> None:
    _, document = printed(capsys, [*READABLE["plan"], "--json"])
    _, text = printed(capsys, READABLE["plan"])

    assert f"Plan {strict(document)['hash'][:16]}" in text
    assert "Unapproved" in text


def test_what_is_written_is_what_is_printed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "plan.json"
    _, text = printed(capsys, [*READABLE["plan"], "--out", str(out), "--json"])

    assert strict(out.read_text("utf-8")) == strict(text)
    assert [path.name for path in tmp_path.iterdir()] == ["plan.json"]
    status, _ = printed(capsys, ["recover", str(out), "--at", STEP, "--json"])
    assert status in (0, 1)


def test_a_case_and_a_policy_from_files_give_the_plan_of_the_example(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case, policy = (str(PLACE / "examples" / f"{name}.json") for name in ("case", "policy"))
    _, out = printed(capsys, ["plan", "--case", case, "--policy", policy, "--json"])
    assert strict(out)["plan"] == json.loads(Path(PLAN).read_text("utf-8"))


def test_without_a_convention_the_verdict_may_turn(capsys: pytest.CaptureFixture[str]) -> None:
    _, out = printed(capsys, ["check", ORDER, "--errors", "1", "--json"])
    flips = strict(out)["flips"]
    assert "cleaning-clears" in flips


@pytest.mark.parametrize("command", [module.__name__.rpartition(".")[2].replace("_", "-") for module in COMMANDS])
def test_help_of_each_command_is_documented(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    status, out = printed(capsys, [command, "--help"])
    page = (PLACE / "commands.md").read_text("utf-8")

    assert status == 0
    assert f"## vestry {command}\n" in page
    for option in re.findall(r"^ +(--[a-z-]+)", out, re.MULTILINE):
        assert option in page
    assert "Exit status" in re.sub(r"\s+", " ", out)


def test_help_of_all_commands_and_the_version(capsys: pytest.CaptureFixture[str]) -> None:
    status, out = printed(capsys, ["--help"])
    assert status == 0
    assert all(module.__name__.rpartition(".")[2].replace("_", "-") in out for module in COMMANDS)
    assert printed(capsys, ["--version"])[0] == 0

"""Compare, substitute, explain and rules from a terminal: what they are asked about, and what is refused."""

from __future__ import annotations

import json

import pytest
from tools.make_reference import PLACE

from vestry.cli.main import main

PLAN = str(PLACE / "examples" / "plan.json")
EX1, COVID = "cdc-standard-doff-ex1--respirator-shield", "cdc-covid-doff-2020--respirator-shield"
HEAD = "format-version = 1\ntitle = 'x'\nworn = ['gown-isolation', 'gloves-standard']\n"


def told(capsys: pytest.CaptureFixture[str], *argv: str) -> tuple[int, str, str]:
    status = main(list(argv))
    out, err = capsys.readouterr()
    return status, out, err


def test_the_same_file_twice_is_equal(capsys, tmp_path):
    file = tmp_path / "order.toml"
    file.write_text(f"{HEAD}steps = [{{ act = 'doff', item = 'gown-isolation' }}]")

    status, out, _ = told(capsys, "compare", str(file), str(file))

    assert status == 0
    assert "The two are the same in ensemble, case and steps." in out


def test_a_plan_compares_with_itself_out_of_what_plan_prints(capsys, tmp_path):
    _, out, _ = told(capsys, "plan", "--hazard", "mers", "--json")
    file = tmp_path / "planned.json"
    file.write_text(out)

    status, out, _ = told(capsys, "compare", str(file), str(file), "--json")

    assert (status, json.loads(out)["equal"]) == (0, True)


@pytest.mark.slow
def test_an_order_of_four_hundred_steps_is_compared(capsys, tmp_path):
    file = tmp_path / "long.toml"
    rub = "{ act = 'disinfect-gloves' }, "
    file.write_text(f"{HEAD}steps = [{rub * 400}]")

    status, out, _ = told(capsys, "compare", str(file), str(file), "--json")

    assert status == 0
    assert len(json.loads(out)["steps"]) == 400


def test_an_order_that_cannot_be_done_is_refused_with_file_and_line(capsys, tmp_path):
    file = tmp_path / "order.toml"
    steps = "\n".join(f"  {{ act = 'doff', item = '{item}' }}," for item in ("gown-isolation", "face-shield"))
    file.write_text(f"{HEAD}steps = [\n{steps}\n]")

    for argv in (["compare", EX1, str(file)], ["explain", str(file)]):
        status, _, err = told(capsys, *argv)
        assert status == 2
        assert f"{file}:6: steps.1.item: face-shield is not worn at this step" in err


@pytest.mark.parametrize(
    ("argv", "says"),
    [
        (["compare", EX1, "cdc-covid-doff-2020--respirator-sheild"], f"did you mean {COVID}?"),
        (["compare", "nothing-at-all-like-it", EX1], "`vestry orders` lists the published ones"),
        (["explain", EX1, "--surface", "body.eye"], "did you mean body.eyes?"),
        (["explain", EX1, "--step", "doff:x"], "no step is called doff:x"),
        (["substitute", PLAN, "--without", "goggles"], "goggles is not worn in this plan"),
        (["substitute", PLAN, "--without", "face-shield", "--with", "gogles"], "did you mean goggles?"),
        (["substitute", EX1, "--without", "face-shield"], "no such file"),
        (["rules", PLAN, "--hazard", "lassa"], "the plan says its case and policy"),
        (["rules", "--hazard", "lasa"], "did you mean lassa?"),
        (["rules", "--hazard", "lassa", "--rule-on", "shield-before-garmen"], "did you mean shield-before-garment?"),
        (["compare", EX1], "the following arguments are required: B"),
    ],
)
def test_what_is_unknown_is_named_with_the_nearest(capsys, argv, says):
    status, out, err = told(capsys, *argv)

    assert (status, out) == (2, "")
    assert says in err


def test_a_sheet_that_cannot_be_written_is_said_before_the_work(capsys, tmp_path):
    place = str(tmp_path / "no-such-folder" / "x.pdf")

    for argv in (
        ["explain", EX1, "--sheet", place],
        ["substitute", PLAN, "--without", "face-shield", "--sheet", place],
    ):
        status, _, err = told(capsys, *argv)
        assert status == 2
        assert "does not exist" in err


@pytest.mark.slow
def test_sheets_and_the_new_plan_are_written_whole(capsys, tmp_path):
    why, differences, plan = (tmp_path / name for name in ("why.pdf", "differences.pdf", "plan.json"))

    assert told(capsys, "explain", EX1, "--surface", "body.eyes", "--sheet", str(why))[0] == 0
    status, _, _ = told(
        capsys,
        "substitute",
        PLAN,
        "--without",
        "face-shield",
        "--with",
        "goggles",
        "--sheet",
        str(differences),
        "--out",
        str(plan),
    )
    assert status == 0
    assert why.read_bytes().startswith(b"%PDF-")
    assert differences.read_bytes().startswith(b"%PDF-")
    status, out, _ = told(capsys, "substitute", str(plan), "--without", "goggles", "--with", "face-shield", "--json")
    assert status == 0
    assert json.loads(out)["comparison"]["added"] == ["face-shield"]

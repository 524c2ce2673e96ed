"""The commands from a terminal: exit status, JSON, readable text, and errors that name the field."""

from __future__ import annotations

import json
import subprocess
import sys

import jsonschema
import pytest
from tools.make_reference import PLACE

from vestry.cli.main import main

CLEAN_ORDER = (PLACE / "examples" / "order.toml").read_text("utf-8")
PLAN = PLACE / "examples" / "plan.json"
SHIELD_OFF = "doff:face-shield:rear-strap"
HEAD = b"format-version = 1\ntitle = 'x'\n"


def schema(name: str) -> object:
    return json.loads((PLACE / "schemas" / f"{name}.json").read_text("utf-8"))


def told(capsys, *argv: str) -> tuple[int, str, str]:
    status = main(list(argv))
    out, err = capsys.readouterr()
    return status, out, err


# ---- yes and no ----


def test_plan_is_clean_and_says_so_in_json(capsys):
    status, out, _ = told(capsys, "plan", "--hazard", "mers", "--json")
    document = json.loads(out)

    jsonschema.validate(document["plan"], schema("plan"))
    jsonschema.validate(document["assurance"], schema("assurance"))
    assert (status, document["assurance"]["verdict"]) == (0, "clean")
    assert document["assurance"]["plan"] == document["hash"]


def test_plan_that_the_gear_cannot_give_is_no_with_the_ways_on(capsys):
    status, out, _ = told(capsys, "plan", "--hazard", "mers", "--gear", "scrubs", "gloves-long", "--json")
    document = json.loads(out)

    assert status == 1
    assert {"eyes", "nose-mouth", "torso"} <= {one["site"] for one in document["reasons"]}
    assert all(one["would"] for one in document["reasons"] if one["site"] == "eyes")
    assert document["what-now"] == ["do-not-enter", "divert", "named-override"]


def test_check_of_a_clean_order_is_yes(capsys, tmp_path):
    file = tmp_path / "order.toml"
    file.write_text(CLEAN_ORDER)

    status, out, _ = told(capsys, "check", str(file), "--json")

    jsonschema.validate(json.loads(out), schema("assurance"))
    assert (status, json.loads(out)["verdict"]) == (0, "clean")


def tutorial_order() -> str:
    """The order with a mistake that the tutorial has its reader check."""
    page = (PLACE.parent / "tutorial" / "first-plan.md").read_text("utf-8")
    return page.split("```toml\n")[1].split("```")[0]


def test_check_of_the_tutorials_mistake_is_no_and_shows_the_route(capsys, tmp_path):
    file = tmp_path / "order.toml"
    file.write_text(tutorial_order())

    status, out, _ = told(capsys, "check", str(file))

    assert status == 1
    assert "left inner glove, hand touched strap of the shield" in out
    assert "strap of the shield passed over hair and ears" in out


def test_check_of_the_tutorials_correction_is_yes(capsys, tmp_path):
    gown = '{ act = "doff", item = "gown-impermeable" },'
    file = tmp_path / "order.toml"
    file.write_text(tutorial_order().replace(gown, gown + ' { act = "disinfect-gloves" },'))

    status, _, _ = told(capsys, "check", str(file))

    assert status == 0


def test_recover_says_what_may_be_exposed_and_fits_its_schema(capsys):
    status, out, _ = told(capsys, "recover", str(PLAN), "--at", "doff:face-shield:rear-strap", "--json")
    document = json.loads(out)

    jsonschema.validate(document, schema("recovery"))
    assert status == 0
    assert "body.face" in document["exposed"]
    assert document["steps"][0]["act"] == "disinfect-gloves"


def test_catalog_fits_its_schema_and_holds_aliases(capsys):
    status, out, _ = told(capsys, "catalog", "--json")
    document = json.loads(out)

    jsonschema.validate(document, schema("catalog"))
    assert status == 0
    assert all(item["aliases"] for item in document["items"])


def test_orders_are_listed_with_their_certainty(capsys):
    status, out, _ = told(capsys, "orders", "--json")

    assert status == 0
    assert {"seen-secondary", "from-memory", "common-practice"} <= {one["certainty"] for one in json.loads(out)}


def test_sheet_is_written_whole(capsys, tmp_path):
    file = tmp_path / "sheet.pdf"

    status, out, _ = told(capsys, "sheet", str(PLAN), "--out", str(file))

    assert (status, file.read_bytes()[:5]) == (0, b"%PDF-")
    assert "unapproved" in out


@pytest.mark.parametrize(
    "argv", [("plan", "--hazard", "lassa"), ("recover", str(PLAN), "--at", "doff:face-shield:rear-strap")]
)
def test_readable_output_has_the_cautions_and_promises_nothing(capsys, argv):
    _, out, _ = told(capsys, *argv)

    assert "replaces neither local procedure, nor licensed practice" in out
    assert " safe" not in out.lower()


# ---- wrong use and bad input: status 2, the field named, nothing half-written ----


@pytest.mark.parametrize(
    ("argv", "says"),
    [
        (("plan", "--hazard", "ebla"), "case.hazard: no hazard is called ebla; did you mean ebola?"),
        (("plan",), "hazard: name a hazard"),
        (("plan", "--hazard", "mers", "--gear", "gwon-isolation"), "case.gear: no item is called gwon-isolation"),
        (("plan", "--hazard", "mers", "--gear", "scrubs", "scrubs"), "case.gear: scrubs stands twice"),
        (("plan", "--hazard", "mers", "--own-order", "gwon"), "policy.doffing-order: no kind of item is called gwon"),
        (("plan", "--hazard", "mers", "--rule-off", "x"), "policy.switched-off: no rule is called x"),
        (("recover", str(PLAN), "--at", "doff:hat:x"), "at: no step of the way out is called doff:hat:x"),
        (
            ("recover", str(PLAN), "--at", SHIELD_OFF, "--event", "x"),
            "happened: nothing here is called x",
        ),
        (("orders", "nowhere"), "id: no order is called nowhere"),
        (("check", "no-such-file.toml"), "no-such-file.toml: no such file"),
        (("sheet", str(PLAN), "--out", "no-such-folder/sheet.pdf"), "does not exist"),
        (("sheet", "no-such-plan.json", "--out", "x.pdf"), "no such file"),
    ],
)
def test_wrong_use_names_what_is_wrong(capsys, argv, says):
    status, out, err = told(capsys, *argv)

    assert (status, out) == (2, "")
    assert says in err


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "steps: Field required"),
        (HEAD + b"worn = []\nsteps = []\n", "order.toml:4: steps"),
        (HEAD + b"worn = 3\nsteps = [{act='doff'}]\n", "order.toml:3: worn"),
        (HEAD + b"worn = ['hat']\nsteps = [{act='inspect'}]\n", "no item is called hat"),
        (HEAD + b"worn = []\nsteps = [{act='jump'}]\n", "order.toml:4: steps.0.act"),
        (
            b"format-version = 1\ntitle = 'x'\nworn = []\nsteps = [{act='doff', item='face-shield'}]\n",
            "face-shield is not worn",
        ),
        (
            b"format-version = 1\ntitle = 'x'\nworn = []\nsteps = [{act='inspect', if='soiled'}]\n",
            "order.toml:4: steps.0.if",
        ),
        (HEAD + b"worn = []\nsteps = [{act='inspect', seconds=nan}]\n", "steps.0.seconds"),
        (
            b"format-version = 1\ntitle = 'x'\nsteps = [{act='inspect'}]\nworn = ['scrubs', 'scrubs']\n",
            "scrubs is worn twice",
        ),
        (b"\xff\xfe\x00title", "not UTF-8"),
        (b"[" * 5000, "nested"),
        (b"a = 1\na = 2\n", "not TOML"),
    ],
)
def test_bad_order_is_refused_with_line_and_field(capsys, tmp_path, content, says):
    file = tmp_path / "order.toml"
    file.write_bytes(content)

    status, out, err = told(capsys, "check", str(file))

    assert (status, out) == (2, "")
    assert says in err


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"[1, 2]", "the file must hold one object"),
        (b'{"title": "a", "title": "b"}', "the key stands twice"),
        (b'{"fresh-pairs": NaN}', "fresh-pairs"),
        (b"{", "not JSON"),
        (b'{"plan": {"steps": [{"if": "wet"}]}}', "steps.0.if"),
    ],
)
def test_bad_json_is_refused(capsys, tmp_path, content, says):
    file = tmp_path / "plan.json"
    file.write_bytes(content)

    status, _, err = told(capsys, "recover", str(file), "--at", "x")

    assert status == 2
    assert says in err


def test_fifty_megabytes_are_refused_without_reading_them_all(capsys, tmp_path):
    file = tmp_path / "order.toml"
    with file.open("wb") as handle:
        handle.truncate(50_000_000)

    status, _, err = told(capsys, "check", str(file))

    assert status == 2
    assert "too large" in err


def test_a_folder_is_refused(capsys, tmp_path):
    status, _, err = told(capsys, "check", str(tmp_path))

    assert status == 2
    assert "a folder; a file is wanted" in err


def test_nothing_is_half_written_when_a_sheet_cannot_be(capsys, tmp_path):
    bad = tmp_path / "plan.json"
    bad.write_text('{"plan": 3}')

    status, _, _ = told(capsys, "sheet", str(bad), "--out", str(tmp_path / "sheet.pdf"))

    assert status == 2
    assert [path.name for path in tmp_path.iterdir()] == ["plan.json"]


@pytest.mark.slow
def test_wrong_options_end_with_two_in_a_real_process():
    run = subprocess.run(
        [sys.executable, "-m", "vestry.cli", "plan", "--presentation", "damp"], capture_output=True, text=True
    )

    assert run.returncode == 2
    assert "invalid choice: 'damp'" in run.stderr
    assert "Traceback" not in run.stderr


@pytest.mark.slow
def test_an_order_is_read_from_standard_input():
    run = subprocess.run(
        [sys.executable, "-m", "vestry.cli", "check", "-", "--errors", "1"],
        input=CLEAN_ORDER,
        capture_output=True,
        text=True,
    )

    assert (run.returncode, run.stderr) == (0, "")

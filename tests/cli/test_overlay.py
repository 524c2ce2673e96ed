"""`vestry overlay check`, and `--facts` on the commands that use facts."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest
from tools import make_reference

from vestry.cli.main import main
from vestry.trade import load_catalogue

EXAMPLE = str(make_reference.PLACE / "examples/overlay.toml")
ORDER = str(make_reference.PLACE / "examples/order.toml")


def schema(name: str) -> dict[str, object]:
    found: dict[str, object] = json.loads((make_reference.PLACE / f"schemas/{name}.json").read_text("utf-8"))
    return found


def test_the_example_is_an_overlay_and_fits_its_schema():
    document = json.loads(json.dumps(tomllib.loads(Path(EXAMPLE).read_text("utf-8")), default=str))

    jsonschema.validate(document, schema("overlay"))
    del document["item"][0]["because"]
    with pytest.raises(jsonschema.ValidationError, match="because"):
        jsonschema.validate(document, schema("overlay"))


def test_check_lists_what_is_shadowed(capsys: pytest.CaptureFixture[str]):
    assert main(["overlay", "check", EXAMPLE, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)

    jsonschema.validate(document, schema("overlay-checked"))
    assert [(one["kind"], one["id"], one["change"]) for one in document["shadowed"]] == [
        ("item", "goggles", "laid-over"),
        ("item", "papr-helmet", "retired"),
        ("item", "papr-shroud", "retired"),
    ]
    assert document["ours"] == load_catalogue().digest != document["facts"]

    assert main(["overlay", "check", EXAMPLE]) == 0
    assert "  reusable: yes -> no\n" in capsys.readouterr().out


def test_bad_files_are_told_together_and_nothing_is_laid(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    bad = tmp_path / "bad.toml"
    bad.write_text('format-version = 1\n[[retire]]\nkind = "item"\nid = "aprons"\n', "utf-8")

    assert main(["overlay", "check", str(bad), str(tmp_path / "none.toml")]) == 2
    assert "none.toml: no such file" in capsys.readouterr().err
    assert main(["overlay", "check", str(bad)]) == 2
    assert f"{bad}:2: retire.0.because: Field required" in capsys.readouterr().err


def test_a_command_runs_on_the_facts_that_it_is_given(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["check", ORDER, "--json", "--facts", EXAMPLE]) == 0
    assert json.loads(capsys.readouterr().out)["facts"] != load_catalogue().digest

    assert main(["plan", "--hazard", "mers", "--respirator", "helmet-blower", "--json", "--facts", EXAMPLE]) == 0
    worn = [one["item"] for one in json.loads(capsys.readouterr().out)["plan"]["ensemble"]]
    assert "papr-helmet" not in worn

    assert main(["catalog", "--json", "--facts", EXAMPLE]) == 0
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, schema("catalog"))
    assert {one["id"] for one in document["shadowed"]} == {"goggles", "papr-helmet", "papr-shroud"}
    assert "papr-helmet" not in {one["id"] for one in document["items"]}

"""vestry ready: what it prints fits its schema, and what it refuses it says all at once."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

from vestry.cli import main
from vestry.hospital.demo import CASE_TABLE
from vestry.trade import load_catalogue

PLACE = Path(__file__).parents[2] / "docs/reference"


def schema() -> object:
    return json.loads((PLACE / "schemas/ready.json").read_text("utf-8"))


def test_the_example_fits_its_schema():
    jsonschema.validate(json.loads((PLACE / "examples/ready.json").read_text("utf-8")), schema())


def test_everything_wrong_is_told_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    asked = ["--hazard", "no-such", "--hours", "0", "--on", "31.12.2026", "--data", str(tmp_path)]

    assert main(["ready", *asked]) == 2
    told = capsys.readouterr().err
    for part in ("no hazard is called no-such", "from 1 to 720 hours", "31.12.2026 is no day", "holds no record yet"):
        assert part in told, part


@pytest.mark.slow
def test_the_demonstration_is_asked_in_a_real_process(tmp_path: Path, demonstration: Path):
    def vestry(*words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "vestry.cli", *words], capture_output=True, text=True, timeout=300, check=False
        )

    shutil.copytree(demonstration, tmp_path, dirs_exist_ok=True)
    one = vestry("ready", "--data", str(tmp_path), "--hazard", "lassa", "--hours", "12", "--json")
    many = vestry("ready", "--data", str(tmp_path))

    document = json.loads(one.stdout)
    jsonschema.validate(document, schema())
    (answer,) = document["answers"]
    assert answer["cover"]["asked"] == 12
    assert one.returncode == (0 if answer["state"] != "not-ready" else 1)
    assert many.returncode == 1  # four hazards are not ready, each for another reason
    assert "the table names no procedure" in many.stdout
    assert "what it wears is not enough" in many.stdout
    ready = [line for line in many.stdout.splitlines() if line.endswith((": ready", ": to be looked at"))]
    assert len(ready) == len(load_catalogue().hazards) - 4


def test_the_demonstration_has_a_line_for_every_hazard_and_says_why_one_is_not_named():
    told = [hazard for hazards in CASE_TABLE.values() for hazard in hazards]

    assert sorted(told) == sorted(load_catalogue().hazards)
    assert all(why for dry, wet, why in CASE_TABLE if "none" in (dry, wet) or "" in (dry, wet))

"""vestry verify-record: holds, does not hold, cannot be read; what is printed fits its schema."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from vestry.cli import main

PLACE = Path(__file__).parents[2] / "docs/reference"
EXAMPLE = PLACE / "examples/record-export.json"


def example() -> Any:
    return json.loads(EXAMPLE.read_text("utf-8"))


def schema(name: str) -> Any:
    return json.loads((PLACE / f"schemas/{name}.json").read_text("utf-8"))


def verified(capsys: pytest.CaptureFixture[str], file: Path, *more: str) -> tuple[int, Any]:
    status = main(["verify-record", str(file), "--json", *more])
    said = json.loads(capsys.readouterr().out)
    jsonschema.validate(said, schema("verified"))
    return status, said


def test_the_example_fits_its_schema_and_holds(capsys: pytest.CaptureFixture[str]):
    jsonschema.validate(example(), schema("record-export"))
    status, said = verified(capsys, EXAMPLE, "--anchor", example()["events"][-1]["hash"])

    assert (status, said["holds"], said["events"], said["withheld"], said["unchained"]) == (0, True, 4, 1, 1)
    assert said["anchored"] == 5


def test_a_word_that_was_changed_is_found_and_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    changed = example()
    changed["events"][2]["said"]["clock"] = "2026-11-25T02:03:01.000+00:00"
    file = tmp_path / "changed.json"
    file.write_text(json.dumps(changed), "utf-8")
    status, said = verified(capsys, file)

    assert (status, [(one["what"], one["sequence"]) for one in said["findings"]]) == (1, [("changed", 3)])
    assert main(["verify-record", str(file)]) == 1
    told = capsys.readouterr().out
    assert "do not hold" in told
    assert "A chain alone cannot find" in told


def test_an_anchor_that_is_not_there_is_a_no(capsys: pytest.CaptureFixture[str]):
    status, said = verified(capsys, EXAMPLE, "--anchor", "ab" * 32)
    assert (status, said["findings"][0]["what"]) == (1, "anchor")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("{", "JSON"), ("[]", "format-version"), ('{"format-version": 1}', "events and heads"), ("\udcff", "JSON"),
        ('{"format-version": 1, "events": [], "events": [], "heads": {}}', "stands twice"),
        ("[" * 100_000, "JSON"),
    ],
)  # fmt: skip
def test_what_is_no_record_is_bad_input(tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, says: str):
    file = tmp_path / "none.json"
    file.write_bytes(text.encode("utf-8", "surrogateescape"))

    assert main(["verify-record", str(file)]) == 2
    assert says in capsys.readouterr().err


def test_wrong_use_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["verify-record", str(tmp_path / "no.json")]) == 2
    assert main(["verify-record", str(EXAMPLE), "--anchor", "12"]) == 2
    assert main(["verify-record", "--data", str(tmp_path)]) == 2
    assert main(["verify-record"]) == 2
    assert "is no head" in capsys.readouterr().err

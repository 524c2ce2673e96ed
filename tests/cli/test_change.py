"""`vestry change` from a terminal: what it answers, what it prints on paper, what it refuses."""

from __future__ import annotations

import io
import json

import pytest
from pypdf import PdfReader
from tools.make_reference import PLACE

from vestry.cli.main import main

PLAN = str(PLACE / "examples" / "plan.json")


def told(capsys: pytest.CaptureFixture[str], *argv: str) -> tuple[int, str, str]:
    status = main(["change", "--from", PLAN, *argv])
    out, err = capsys.readouterr()
    return status, out, err


@pytest.mark.slow
def test_the_same_case_is_enough_and_says_so(capsys):
    status, out, _ = told(capsys)

    assert status == 0
    assert "The case is the same as the one they were dressed for." in out
    assert "What they wear is enough." in out


def test_a_patient_who_turns_wet_leaves_someone_with_too_little(capsys):
    status, out, _ = told(capsys, "--presentation", "wet")

    assert status == 1
    assert "Not enough is worn by 1 of 1." in out
    assert "UNAPPROVED" in out
    assert "Vestry supports trained people." in out


def test_who_is_inside_is_read_from_a_file_and_printed_as_json(capsys):
    status, out, _ = told(
        capsys, "--presentation", "wet", "--inside", str(PLACE / "examples" / "inside.json"), "--json"
    )

    document = json.loads(out)
    assert status == 1
    assert [one["code"] for one in document["order"]] == ["doctor", "nurse-1"]
    assert document["approved"] is False


@pytest.mark.slow
def test_an_exit_and_the_papers_are_printed(capsys, tmp_path):
    sheet, papers = tmp_path / "exit.pdf", tmp_path / "papers.pdf"

    status, _, _ = told(capsys, "--ruled-out", "--sheet", "one", str(sheet), "--all-clear", str(papers))

    assert status == 0
    assert "UNAPPROVED" in PdfReader(io.BytesIO(sheet.read_bytes())).pages[0].extract_text().upper()
    text = PdfReader(io.BytesIO(papers.read_bytes())).pages[0].extract_text()
    assert "Ebola disease: ruled out" in text
    assert "Not valid until both lines are filled in by hand." in text


@pytest.mark.parametrize(
    ("argv", "says"),
    [
        (["--hazard", "lasa"], "did you mean lassa?"),
        (["--presentation", "damp"], "invalid choice"),
        (["--inside", "no-such-file"], "no such file"),
        (["--ruled-out", "--hazard", "ebola"], "cannot be ruled out and be the hazard at once"),
        (["--all-clear", "papers.pdf"], "nothing is ruled out"),
        (["--sheet", "two", "exit.pdf"], "no exit of two; there is one of one"),
    ],
)
def test_wrong_use_is_refused_with_what_would_be_right(capsys, tmp_path, monkeypatch, argv, says):
    monkeypatch.chdir(tmp_path)

    status, out, err = told(capsys, *argv)

    assert status == 2
    assert says in err
    assert out == ""
    assert list(tmp_path.iterdir()) == []


def test_everything_wrong_with_a_file_is_told_at_once_with_its_line(capsys, tmp_path):
    file = tmp_path / "inside.toml"
    file.write_text(
        'format-version = 1\n[[inside]]\ncode = "a"\nworn = ["gwon"]\n[[inside]]\ncode = "a"\nat = "doff:nothing"\n'
    )

    status, _, err = told(capsys, "--inside", str(file))

    assert status == 2
    assert f"{file}:4: inside.0.worn.0: no item is called gwon" in err
    assert f"{file}:6: inside.1.code: a stands twice" in err
    assert f"{file}:7: inside.1.at: no step of the way out is called doff:nothing" in err

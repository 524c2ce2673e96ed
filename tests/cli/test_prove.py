"""`vestry prove`: filters, the report, interruption and resumption, and a state that cannot be relied on."""

from __future__ import annotations

import json

import jsonschema
import pytest
from tests.cli.test_commands import schema, told

from vestry.cli import proving_state
from vestry.cli.commands import prove
from vestry.sequence.proving import Outcome
from vestry.trade import load_catalogue

FEW = (
    "--workers", "1",
    "--only", "mers", "dry", "care", "belt-blower", "gown", "no-hair-cover", "shield", "no-apron", "change-none",
    "respirator-when-stable",
)  # fmt: skip


def test_a_few_cases_are_proved_and_the_report_fits_its_schema(capsys):
    status, out, err = told(capsys, "prove", *FEW, "--json")
    found = json.loads(out)

    jsonschema.validate(found, schema("proved"))
    assert status == 0
    assert found["cases"] == found["planned"] == found["clean"] == 3
    assert found["of"].startswith("with mers dry care belt-blower gown no-hair-cover shield no-apron")
    assert found["facts"] == load_catalogue().digest
    assert "3 cases in" in err


def test_the_report_is_readable_and_promises_nothing(capsys):
    status, out, _ = told(capsys, "prove", *FEW)

    assert status == 0
    assert "Every case that has a plan has a clean order." in out
    assert "What is not found is not promised." in out
    assert "safe" not in out.replace("safety", "")
    assert "doff:" not in out


@pytest.mark.slow
def test_two_workers_give_the_same_report_as_one(capsys):
    few = ("--only", "mers", "dry", "care", "belt-blower", "gown", "no-hair-cover", "--json")

    one, two = (told(capsys, "prove", *few, "--workers", number)[1] for number in ("1", "2"))

    assert one == two


# ---- interrupted and resumed ----


@pytest.fixture
def stopping(monkeypatch):
    """Let the run be stopped from the keyboard after so many ways out."""
    done = prove._one

    def stop_after(number: int) -> None:
        left = [number]

        def one(work):
            if not left[0]:
                raise KeyboardInterrupt
            left[0] -= 1
            return done(work)

        monkeypatch.setattr(prove, "_one", one)

    return stop_after


@pytest.mark.slow
def test_interrupted_and_resumed_gives_the_same_report(capsys, tmp_path, stopping):
    whole = told(capsys, "prove", *FEW, "--json")[1]
    state = str(tmp_path / "state")

    stopping(1)
    status, out, err = told(capsys, "prove", *FEW, "--json", "--state", state)
    assert (status, out) == (1, "")
    assert "stopped; 1 kept in" in err
    assert len(proving_state.read(state, load_catalogue().digest)) == 1
    stopping(1_000)
    assert told(capsys, "prove", *FEW, "--json", "--state", state)[1] == whole
    stopping(0)  # nothing is left to do
    assert told(capsys, "prove", *FEW, "--json", "--state", state)[:2] == (0, whole)


def test_stopped_without_a_state_says_that_nothing_is_kept(capsys, stopping):
    stopping(0)

    status, _, err = told(capsys, "prove", *FEW)

    assert status == 1
    assert "nothing kept" in err


# ---- a state that cannot be relied on ----


@pytest.fixture
def state(tmp_path):
    path = tmp_path / "state"
    proving_state.write(str(path), load_catalogue().digest, {"0" * 64: Outcome(program="1" * 64, clean=True)})
    return path


def changed(path, change) -> str:
    document = json.loads(path.read_text())
    change(document)
    path.write_text(json.dumps(document))
    return str(path)


def test_a_state_reads_as_it_was_written(state):
    assert proving_state.read(str(state), load_catalogue().digest) == {"0" * 64: Outcome(program="1" * 64, clean=True)}


def test_a_state_that_was_cut_short_is_refused(capsys, state):
    state.write_bytes(state.read_bytes()[:-20])

    status, out, err = told(capsys, "prove", *FEW, "--state", str(state))

    assert (status, out, err) == (2, "", f"{state}: not JSON; remove it to start anew\n")


def test_a_state_in_which_an_outcome_was_changed_is_refused(capsys, state):
    def turn(document):
        next(iter(document["outcomes"].values()))["clean"] = False

    status, _, err = told(capsys, "prove", *FEW, "--state", changed(state, turn))

    assert status == 2
    assert "cut short or changed since it was written" in err


@pytest.mark.parametrize("field", ["facts", "model"])
def test_a_state_of_other_facts_or_another_model_is_refused(capsys, state, field):
    status, _, err = told(capsys, "prove", *FEW, "--state", changed(state, lambda d: d.update({field: "other"})))

    assert status == 2
    assert f"of other {field} (other; here " in err


@pytest.mark.parametrize("text", ["[]", "{}", '"text"', "nonsense", "[" * 100_000])
def test_what_is_no_state_is_refused(capsys, tmp_path, text):
    path = tmp_path / "state"
    path.write_text(text)

    status, _, err = told(capsys, "prove", *FEW, "--state", str(path))

    assert status == 2
    assert "remove it to start anew" in err


# ---- wrong use ----


@pytest.mark.parametrize(
    ("given", "told_so"),
    [
        (("--only", "ebolla"), "prove: only: no choice is called ebolla; there are ebola, lassa"),
        (("--only", "ebola", "mers"), "prove: only: no case has all of these words"),
        (("--sample", "0"), "prove: sample: at least 1 (got 0)"),
        (("--workers", "0"), "prove: workers: at least 1 (got 0)"),
        (("--state", "/nowhere/at/all"), "the folder /nowhere/at does not exist"),
    ],
)
def test_wrong_use_is_told(capsys, given, told_so):
    status, out, err = told(capsys, "prove", *given)

    assert (status, out) == (2, "")
    assert told_so in err

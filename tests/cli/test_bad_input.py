"""Bad input to every command: status 2, the field named on one line each, no traceback, nothing half-written."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from tools.make_reference import PLACE

from vestry.cli.main import main
from vestry.trade.reading import MAX_CHARACTERS

EXAMPLES = PLACE / "examples"
STEP = "doff:face-shield:rear-strap"

# How each command takes a file. What it writes must not be there after bad input.
TAKES: dict[str, Callable[[str, Path], list[str]]] = {
    "check": lambda file, _: ["check", file],
    "plan-case": lambda file, folder: ["plan", "--case", file, "--out", str(folder / "out.json")],
    "plan-policy": lambda file, folder: [
        "plan", "--hazard", "mers", "--policy", file, "--out", str(folder / "out.json"),
    ],
    "recover": lambda file, _: ["recover", file, "--at", STEP],
    "sheet": lambda file, folder: ["sheet", file, "--out", str(folder / "out.pdf")],
}  # fmt: skip
EXAMPLE = {"check": "order", "plan-case": "case", "plan-policy": "policy", "recover": "plan", "sheet": "plan"}
each_command = pytest.mark.parametrize("command", TAKES)


def example(command: str) -> dict[str, Any]:
    return dict(json.loads((EXAMPLES / f"{EXAMPLE[command]}.json").read_text("utf-8")))


@pytest.fixture
def refused(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Callable[[str, bytes, str], str]:
    """Hands bytes to a command; what it says. Holds everything that holds for every refusal."""

    def hand_in(command: str, content: bytes, name: str = "in.json") -> str:
        file = tmp_path / name
        file.write_bytes(content)
        status = main(TAKES[command](str(file), tmp_path))
        out, err = capsys.readouterr()
        assert (status, out) == (2, "")
        assert_plainly_said(err)
        assert [path.name for path in tmp_path.iterdir()] == [name], "something was left behind"
        assert err.startswith(str(file))
        return err.replace(str(file), "FILE")

    return hand_in


def assert_plainly_said(err: str) -> None:
    assert err.strip()
    assert "Traceback" not in err
    assert len(err) < 30_000
    for line in err.splitlines():
        assert line.isprintable()
        assert len(line) < 600


# ---- files that no command can take ----

NEVER = {
    "list": (b"[1, 2]", "one object"),
    "text": (b'"order"', "FILE"),
    "cut-off": (b'{"title": "a"', "not JSON"),
    "twice": (b'{"title": "a", "title": "b"}', "title: the key stands twice"),
    "deep": (b'{"a":' * 3000 + b"1" + b"}" * 3000, "nested 3000 deep; at most"),
    "deep-list": (b'{"a": ' + b"[" * 3000 + b"]" * 3000 + b"}", "nested"),
    "utf-16": ('{"title": "a"}'.encode("utf-16"), "not UTF-8"),
    "latin-1": (b'{\n"title": "caf\xe9"}', "FILE:2: not UTF-8"),
    "nothing-but-nul": (b"\x00" * 64, "FILE"),
    "control-character": (b'{"title": "a\x01b"}', "FILE:1: not JSON"),
    "control-in-key": (b'{"\\u001b[2J": 1}', "\\x1b[2J"),
    "long-key": (b'{"' + b"k" * 90_000 + b'": 1}', "kkk"),
    "nan": (b'{"format-version": NaN}', "format-version"),
    "infinite": (b'{"format-version": 1e999}', "format-version"),
    "endless-number": (b'{"format-version": ' + b"9" * 6000 + b"}", "FILE"),
    "condition": (b'{"if": "visibly soiled"}', "if: Extra inputs are not permitted"),
    "version": (b'{"format-version": 2}', "format-version"),
    "too-large": (b"{" + b" " * MAX_CHARACTERS + b"}", "too large"),
}
TOML = {
    "not-toml": (b"title = \n", "FILE:1"),
    "twice": (b"title = 'a'\ntitle = 'b'\n", "FILE:2"),
    "deep": (b"a = " + b"[" * 3000, "nested 3000 deep"),
    "nan": (b"format-version = nan\n", "FILE:1: format-version"),
    "table-twice": (b"[case]\n[case]\n", "FILE:2"),
    "control-character": (b"title = 'a\x02b'\n", "FILE"),
    "date": (b"format-version = 2020-01-01\n", "FILE:1: format-version"),
    "condition": (b"format-version = 1\nunless = 'soiled'\n", "FILE:2: unless"),
}


@each_command
@pytest.mark.parametrize("sort", NEVER)
@pytest.mark.sampled(30)
def test_json_that_no_command_takes(command: str, sort: str, refused: Callable[..., str]) -> None:
    content, says = NEVER[sort]
    assert says in refused(command, content)


@each_command
@pytest.mark.parametrize("sort", TOML)
def test_toml_that_no_command_takes(command: str, sort: str, refused: Callable[..., str]) -> None:
    content, says = TOML[sort]
    assert says in refused(command, content, "in.toml")


@each_command
def test_a_file_of_fifty_megabytes(command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "in.json"
    with file.open("wb") as handle:
        handle.truncate(50_000_000)

    assert main(TAKES[command](str(file), tmp_path)) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "too large" in err
    assert [path.name for path in tmp_path.iterdir()] == ["in.json"]


@each_command
@pytest.mark.parametrize(("sort", "says"), [("folder", "a folder; a file is wanted"), ("missing", "no such file")])
def test_a_folder_or_nothing_in_place_of_a_file(
    command: str, sort: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = tmp_path / "in.json"
    if sort == "folder":
        place.mkdir()
    assert main(TAKES[command](str(place), tmp_path)) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert says in err
    assert {path.name for path in tmp_path.iterdir()} <= {"in.json"}


@each_command
def test_standard_input_that_is_not_text(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"{\xff\xfe")))
    assert main(TAKES[command]("-", tmp_path)) == 2
    assert "standard input:1: not UTF-8" in capsys.readouterr().err


# ---- one thing wrong in a file that is right otherwise ----

WRONG: dict[str, list[tuple[tuple[str | int, ...], object, str]]] = {
    "check": [
        (("worn",), "scrubs", "worn"),
        (("worn",), ["scrubs", "scrubs"], "worn.1: scrubs is worn twice"),
        (("worn",), ["gown-of-gold"], "worn.0: no item is called gown-of-gold"),
        (("worn",), [], "is not worn at this step"),
        (("worn",), ["scrubs"] * 41, "worn"),
        (("steps",), [], "steps"),
        (("steps",), {"act": "doff"}, "steps"),
        (("steps", 0, "act"), "jump", "steps.0.act"),
        (("steps", 1, "agent"), "holy-water", "steps.1.agent: no hygiene agent is called holy-water"),
        (("steps", 1, "agent"), "chlorine-0.05", "steps.1.agent: chlorine-0.05 is not for gloves"),
        (("steps", 2, "item"), "apron", "steps.2.item: apron is not worn at this step"),
        (("steps", 2, "technique"), "tear-off", "steps.2.technique: no technique tear-off for this act"),
        (("steps", 2, "items"), ["outer-gloves-long"], "steps.2"),
        (("steps", 2, "seconds"), -1, "steps.2.seconds"),
        (("steps", 0, "who"), "nobody", "steps.0.who"),
        (("case", "hazard"), "ebolla", "case.hazard: no hazard is called ebolla"),
        (("case", "presentation"), "damp", "case.presentation"),
        (("zone",), "moon", "zone"),
        (("loads",), {"face-shield.visor": "heavy"}, "loads.face-shield.visor"),
        (("title",), "", "title"),
        (("title",), 7, "title"),
        (("format-version",), "one", "format-version"),
    ],
    "plan-case": [
        (("hazard",), "ebolla", "case.hazard: no hazard is called ebolla; did you mean ebola?"),
        (("hazard",), "Ebola Disease", "hazard"),
        (("hazard",), None, "hazard"),
        (("presentation",), "damp", "presentation"),
        (("tasks",), [], "tasks"),
        (("tasks",), ["dancing"], "tasks.0"),
        (("gear",), ["gown-of-gold"], "case.gear: no item is called gown-of-gold"),
        (("gear",), ["apron", "apron"], "case.gear: apron stands twice"),
        (("gear",), "apron", "gear"),
        (("code",), "Mrs Smith, 42", "code"),
    ],
    "plan-policy": [
        (("respirator",), "scarf", "respirator"),
        (("with-apron",), "perhaps", "with-apron"),
        (("doffing-order",), ["trousers"], "policy.doffing-order: no kind of item is called trousers"),
        (("doffing-order",), ["gown", "gown"], "policy.doffing-order: gown stands twice"),
        (("doffing-order",), "gown", "doffing-order"),
        (("switched-off",), ["no-such-rule"], "policy.switched-off: no rule is called no-such-rule"),
        (("glove-agent",), "holy-water", "policy.glove-agent: no hygiene agent is called holy-water"),
        (("hand-agent",), "disinfectant-wipe", "policy.hand-agent: disinfectant-wipe is not for hands"),
        (("limit-minutes",), 0, "limit-minutes"),
        (("limit-minutes",), 1e9, "limit-minutes"),
        (("doffing-zone",), "clean-side", "doffing-zone"),
    ],
}
WRONG["recover"] = WRONG["sheet"] = [
    (("case", "hazard"), "ebolla", "case.hazard: no hazard is called ebolla"),
    (("policy", "glove-agent"), "holy-water", "policy.glove-agent"),
    (("ensemble",), [], "is not worn at this step"),
    (("ensemble", 0, "item"), "gown-of-gold", "ensemble: no item is called gown-of-gold"),
    (("ensemble", 0, "reasons"), [{"why": "because", "source": "hospital"}], "ensemble.0.reasons: no words for"),
    (("ensemble", 0, "reasons"), [{"why": "policy-mask", "source": "a-friend"}], "no source is called a-friend"),
    (("steps",), [], "steps: a plan needs steps of the way out"),
    (("steps", 0, "topic"), "ebola", "steps.0.topic: no words for topic"),
    (("steps", 0, "if"), "wet", "steps.0.if"),
    (("steps", 0, "id"), "donning.inspect:gear", "steps: donning.inspect:gear stands twice"),
    (("steps", 21, "id"), "first-of-all", "steps.21.id: first-of-all stands where"),
    (("steps", 23, "waste"), "river", "steps.23.waste: no waste stream is called river"),
    (("steps", 23, "technique"), "tear-off", "technique: no technique tear-off for this act"),
    (("steps", 23, "items"), [], "steps.23.items: doff needs an item"),
    (("steps", 23, "items"), ["apron"], "apron is not worn at this step"),
    (("fresh-pairs",), "three", "fresh-pairs"),
    (("origin",), "dream", "origin"),
]
CASES = [(command, *wrong) for command, list_ in WRONG.items() for wrong in list_]


@pytest.mark.parametrize(("command", "path", "value", "says"), CASES)
@pytest.mark.sampled(30)
def test_one_wrong_field_is_named(
    command: str, path: tuple[str | int, ...], value: object, says: str, refused: Callable[..., str]
) -> None:
    document = deepcopy(example(command))
    inner: Any = document
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = value
    assert says in refused(command, json.dumps(document).encode())


def test_what_is_found_out_late_is_told_with_its_line_too(refused: Callable[..., str]) -> None:
    order = (EXAMPLES / "order.toml").read_text("utf-8")
    line = next(n for n, text in enumerate(order.splitlines(), 1) if 'item = "hair-cover"' in text)
    said = refused("check", order.replace('item = "hair-cover"', 'item = "apron"').encode(), "in.toml")
    assert f"FILE:{line}: steps." in said
    said = refused("plan-policy", b"format-version = 1\nglove-agent = 'holy-water'\n", "in.toml")
    assert said.startswith("FILE:2: policy.glove-agent")


@each_command
def test_every_problem_is_said_at_once(command: str, refused: Callable[..., str]) -> None:
    document = {**example(command), "unless": 1, "when": 2, "format-version": 9}
    said = refused(command, json.dumps(document).encode())
    assert {"unless", "when", "format-version"} <= {line.split(": ")[1] for line in said.splitlines()}


# ---- wrong options ----


@pytest.mark.parametrize(
    ("argv", "says"),
    [
        ([], "COMMAND"),
        (["dance"], "invalid choice: 'dance'"),
        (["plan", "--hazard"], "--hazard"),
        (["plan", "--hazard", "mers", "--respirator", "scarf"], "--respirator"),
        (["plan", "--hazard", "mers", "--task", "dancing"], "--task"),
        (["plan", "--hazard", "mers", "--own-order", "gown", "gown"], "policy.doffing-order: gown stands twice"),
        (["plan", "--hazard", "MERS!"], "hazard"),
        (["plan", "--hazard", "mers\x1b[2J"], "hazard"),
        (["check", "x.toml", "--errors", "9"], "--errors"),
        (["check", str(EXAMPLES / "order.toml"), "--without", "gravity"], "without: no convention is called gravity"),
        (["check"], "FILE"),
        (["recover", str(EXAMPLES / "plan.json")], "--at"),
        (["recover", str(EXAMPLES / "plan.json"), "--at", "x"], "at: no step of the way out is called x"),
        (["recover", str(EXAMPLES / "plan.json"), "--at", STEP, "--soiled", "moon.dark-side"], "moon.dark-side"),
        (["catalog", "--kind"], "--kind"),
        (["catalog", "--kind", "gwon"], "kind: no kind of item is called gwon; did you mean gown?"),
        (["orders", "nowhere"], "id: no order is called nowhere"),
        (["sheet", str(EXAMPLES / "plan.json")], "--out"),
        (["sheet", str(EXAMPLES / "plan.json"), "--out", "/no/such/folder/x.pdf"], "does not exist"),
        (["plan", "--hazard", "mers", "--out", "/no/such/folder/x.json"], "does not exist"),
        (["serve", "--port", "many"], "--port"),
        (["demo", "--dance"], "--dance"),
    ],
)
def test_wrong_options_are_named(argv: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(argv) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert says in err
    assert_plainly_said("\n".join(line for line in err.splitlines() if not line.startswith((" ", "usage"))))


# ---- writing ----


@pytest.mark.parametrize(
    "argv", [["plan", "--hazard", "mers", "--out"], ["sheet", str(EXAMPLES / "plan.json"), "--out"]]
)
def test_a_folder_where_the_file_should_go_is_refused_before_the_work(
    argv: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A folder stands where the file should go."""
    place = tmp_path / "out"
    (place / "inside").mkdir(parents=True)

    assert main([*argv, str(place)]) == 2
    assert "out" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_a_file_that_is_there_stays_when_the_new_one_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out, bad = tmp_path / "out.json", tmp_path / "policy.json"
    out.write_text("kept")
    bad.write_text('{"respirator": "scarf"}')

    assert main(["plan", "--hazard", "mers", "--policy", str(bad), "--out", str(out)]) == 2
    assert out.read_text() == "kept"
    assert capsys.readouterr().out == ""


# ---- in real processes ----


def vestry(*argv: str, **how: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "vestry.cli", *argv], capture_output=True, text=True, **how)


@pytest.mark.slow
def test_bad_standard_input_in_a_real_process() -> None:
    run = vestry("check", "-", input='{"title": 3}')
    assert (run.returncode, run.stdout) == (2, "")
    assert "-: title: " in run.stderr
    assert "Traceback" not in run.stderr


@pytest.mark.slow
def test_whoever_stops_reading_gets_no_error() -> None:
    """`vestry catalog --json | head -1`"""
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "w") as closed:
        run = subprocess.run(
            [sys.executable, "-m", "vestry.cli", "catalog", "--json"], stdout=closed, stderr=subprocess.PIPE, text=True
        )
    assert (run.returncode, run.stderr) == (0, "")


def test_what_breaks_off_while_it_is_written_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that is full at the last moment."""

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    kept = tmp_path / "out.json"
    kept.write_text("kept")
    monkeypatch.setattr(Path, "replace", full)
    assert main(["plan", "--hazard", "mers", "--out", str(kept)]) == 2
    assert [path.name for path in tmp_path.iterdir()] == ["out.json"]
    assert kept.read_text() == "kept"

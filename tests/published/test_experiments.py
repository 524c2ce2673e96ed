"""Published experiments: inputs as they were fixed before the first run, and results as they came out.

Sources stand in each file under data/experiments (`based-on`).
"""

from __future__ import annotations

import hashlib
import json
import subprocess
from pathlib import Path

import pytest
from tools import make_experiment_page as pages

from vestry.trade import load_evidence

pytestmark = pytest.mark.published

ROOT = Path(__file__).parents[2]
FROZEN = json.loads(pages.FROZEN.read_text("utf-8"))
DECISION = ROOT / "docs/decisions/0012-experiments-as-found.md"
FOLDERS = ("src/vestry/trade/data/experiments", "src/vestry/trade/data/evidence")


def digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def in_history(name: str) -> bytes | None:
    """A file as it was in the commit that fixed it; None where that commit is not at hand."""
    shown = subprocess.run(
        ["git", "-c", "safe.directory=*", "show", f"{FROZEN['commit']}:{name}"], cwd=ROOT, capture_output=True
    )
    return shown.stdout if shown.returncode == 0 else None


def test_inputs_and_tolerances_are_those_fixed_before_the_first_run():
    now = {path.relative_to(ROOT).as_posix() for folder in FOLDERS for path in (ROOT / folder).glob("*.toml")}
    changed = {name for name in now | set(FROZEN["files"]) if digest_now(name) != FROZEN["files"].get(name)}

    assert changed == set(FROZEN["changed-since"]), (
        "a change after the first run stands in decision 0012 and in frozen.json"
    )


def digest_now(name: str) -> str | None:
    path = ROOT / name
    return digest(path.read_bytes()) if path.exists() else None


SHALLOW = "this copy lacks the history that shows it: fetch all of it (git fetch --unshallow)"


def test_the_fixed_files_are_those_of_that_commit():
    assert in_history("README.md") is not None, SHALLOW
    assert {name: digest(in_history(name) or b"") for name in FROZEN["files"]} == FROZEN["files"]


def test_nothing_that_could_run_them_existed_in_that_commit():
    assert in_history("README.md") is not None, SHALLOW
    assert in_history("src/vestry/experiment/running.py") is None
    assert in_history("src/vestry/contact/amounts/binding.py") is None


def test_every_change_since_is_told_in_the_decision():
    text = DECISION.read_text("utf-8")
    changed = [*FROZEN["changed-since"], *FROZEN["model-changed-since"]]
    assert [name for name in changed if Path(name).name not in text] == []


def test_every_miss_of_the_first_run_is_explained():
    explained = pages.tomllib.loads(pages.EXPLAINED.read_text("utf-8"))
    missed = [name for name, check in pages.first_run().items() if not check["met"]]

    assert missed == ["r7", "r8", "r9", "r10-patches", "r11", "r12-hand", "r12-face", "r15-model"]
    assert [name for name in missed if name not in explained] == []


@pytest.mark.slow
@pytest.mark.timeout(300)
def test_the_page_is_what_the_model_says_today():
    assert pages.PAGE.read_text("utf-8") == pages.page(pages.results(), load_evidence()), (
        "run: python -m tools.make_experiment_page"
    )

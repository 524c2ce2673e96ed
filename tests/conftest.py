"""What holds for every test."""

import fcntl
import os
from collections import defaultdict
from pathlib import Path

import pytest
from hypothesis import settings

from tests.demonstration import fill

# A busy machine is slow, not wrong: pytest-timeout bounds each test instead of a deadline.
# CI draws the same cases each time; at the desk every run looks at new ones.
settings.register_profile("desk", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
# The quick checks (./test without --all) draw fewer of them where a test does not say how many.
settings.register_profile("quick", deadline=None, max_examples=12)
settings.load_profile("ci" if os.environ.get("CI") else "quick" if os.environ.get("VESTRY_QUICK") else "desk")


# Of a test with more cases than this, so many are in ./test unless it says itself how many: `sampled`.
SAMPLED = 5


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Of a test with many cases some stay quick, spread evenly over all that it has; the others are slow."""
    cases: dict[str, list[pytest.Item]] = defaultdict(list)
    for item in items:
        cases[item.nodeid.split("[")[0]].append(item)
    for several in cases.values():
        marker = several[0].get_closest_marker("sampled")
        kept = marker.args[0] if marker else SAMPLED
        quick = {(number * len(several)) // kept for number in range(kept)}
        for place, item in enumerate(several):
            if len(several) > kept and place not in quick:
                item.add_marker("slow")


@pytest.fixture(scope="session")
def demonstration(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that `vestry demo` fills: made once for all workers, to be copied and never written to."""
    base = tmp_path_factory.getbasetemp()
    shared = base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base
    folder, done = shared / "demonstration", shared / "demonstration-made"
    with (shared / "demonstration-lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not done.exists():
            fill(folder)
            done.touch()
    return folder

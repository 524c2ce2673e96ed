"""What holds for every test."""

import os
from collections import defaultdict

import pytest
from hypothesis import settings

# A busy machine is slow, not wrong: pytest-timeout bounds each test instead of a deadline.
# CI draws the same cases each time; at the desk every run looks at new ones.
settings.register_profile("desk", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
# The quick checks (./test without --all) draw fewer of them where a test does not say how many.
settings.register_profile("quick", deadline=None, max_examples=25)
settings.load_profile("ci" if os.environ.get("CI") else "quick" if os.environ.get("VESTRY_QUICK") else "desk")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Of a test with `sampled(n)` n cases stay quick, spread evenly over all that it has; the others are slow."""
    cases: dict[str, list[pytest.Item]] = defaultdict(list)
    for item in items:
        if item.get_closest_marker("sampled"):
            cases[item.nodeid.split("[")[0]].append(item)
    for several in cases.values():
        marker = several[0].get_closest_marker("sampled")
        assert marker
        quick = {(number * len(several)) // marker.args[0] for number in range(marker.args[0])}
        for place, item in enumerate(several):
            if place not in quick:
                item.add_marker("slow")

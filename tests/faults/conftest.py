"""One browser, one filled hospital and one server's process for all runs of a worker."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.browser.conftest import CHROMIUM, QUIET
from tests.faults.hospital import Server, staffed


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory, demonstration: Path) -> Path:
    return staffed(demonstration, tmp_path_factory.mktemp("faults") / "hospital")


@pytest.fixture(scope="module")
def server(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    server = Server(template, tmp_path_factory.mktemp("faults") / "run")
    yield server
    server.end()


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield browser
        browser.close()

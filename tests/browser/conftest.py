"""The real server with the invented hospital in a fresh folder, and Debian's Chromium."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from tools.pseudo_language import lay

CHROMIUM = "/usr/bin/chromium"
QUIET = [
    "--no-sandbox", "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--disable-default-apps", "--no-first-run", "--metrics-recording-only",
]  # fmt: skip


@dataclass(frozen=True)
class Hospital:
    """Where the invented hospital is served, and its sign-in password."""

    address: str
    data: Path
    password: str


@pytest.fixture(scope="session")
def hospital(tmp_path_factory: pytest.TempPathFactory, demonstration: Path) -> Iterator[Hospital]:
    data = tmp_path_factory.mktemp("browsed") / "harrow-point"
    shutil.copytree(demonstration, data)
    environment = {name: value for name, value in os.environ.items() if not name.startswith("DJANGO")}
    vestry = [sys.executable, "-m", "vestry.cli"]
    lay(data / "languages")
    port = _free_port()
    with (data / "server.log").open("w") as log:
        server = subprocess.Popen(
            [*vestry, "serve", "--data", str(data), "--port", str(port)], env=environment, stdout=log, stderr=log
        )
        address = f"http://127.0.0.1:{port}"
        try:
            _wait_for(address, server)
            yield Hospital(address, data, (data / "demo-password").read_text("utf-8").strip())
        finally:
            server.terminate()
            server.wait(30)
    assert "Traceback" not in (data / "server.log").read_text("utf-8")


def _free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


def _wait_for(address: str, server: subprocess.Popen[bytes]) -> None:
    for _ in range(300):
        assert server.poll() is None, "the server ended"
        try:
            with urllib.request.urlopen(f"{address}/sign-in/", timeout=5):
                return
        except (urllib.error.URLError, OSError):
            time.sleep(0.2)
    raise AssertionError("the server did not answer")


# Not for the whole session: while Playwright runs, its thread has an event loop, and Django then refuses to talk to the
# database. Tests of other modules run in the same process.
@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def large_text(chromium: Any) -> Iterator[Any]:
    """A browser whose reader has chosen letters twice as large."""
    browser = chromium.browser_type.launch(
        executable_path=CHROMIUM, args=[*QUIET, "--blink-settings=defaultFontSize=32"]
    )
    yield browser
    browser.close()


def told(message: Any) -> str:
    """What a console complains of, and of which address."""
    return f"{message.text} {message.location.get('url', '')}".strip()


class Visitors:
    """Signs people in, each on a device of their own, and keeps what their consoles complain of."""

    def __init__(self, hospital: Hospital, browser: Any) -> None:
        self.hospital, self.browser = hospital, browser
        self.contexts: list[Any] = []
        self.complaints: list[str] = []

    def __call__(self, name: str, **options: Any) -> Any:
        chosen = {"viewport": {"width": 1280, "height": 800}} | options
        context = self.browser.new_context(base_url=self.hospital.address, **chosen)
        self.contexts.append(context)
        page = context.new_page()
        page.on("console", lambda one: self.complaints.append(told(one)) if one.type == "error" else None)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.goto("/sign-in/")
        page.get_by_label("Sign-in name").fill(name)
        page.get_by_label("Password").fill(self.hospital.password)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url(f"{self.hospital.address}/")
        return page

    def leave(self) -> None:
        for context in self.contexts:
            context.close()
        assert self.complaints == []


@pytest.fixture
def signed_in(hospital: Hospital, chromium: Any) -> Iterator[Visitors]:
    """Sign someone in; what the console of the page complains of fails the test."""
    visitors = Visitors(hospital, chromium)
    yield visitors
    visitors.leave()


@pytest.fixture
def enlarging(hospital: Hospital, large_text: Any) -> Iterator[Visitors]:
    """Sign in someone who reads letters twice as large."""
    visitors = Visitors(hospital, large_text)
    yield visitors
    visitors.leave()

"""One case from the desk to the record, in a real browser against the real server and the demo of a fresh checkout."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is a development dependency")

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(600)]
CHROMIUM = "/usr/bin/chromium"


@dataclass(frozen=True)
class House:
    """The served demo: its address and the password of its invented staff."""

    address: str
    password: str


@pytest.fixture(scope="module")
def house(tmp_path_factory) -> Iterator[House]:
    data = tmp_path_factory.mktemp("house") / "data"
    vestry = [sys.executable, "-m", "vestry.cli"]
    subprocess.run([*vestry, "demo", "--data", str(data)], check=True, capture_output=True, timeout=300)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = subprocess.Popen(
        [*vestry, "serve", "--data", str(data), "--port", str(port)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        address = f"http://127.0.0.1:{port}"
        _wait_for(address)
        yield House(address, Path(data / "demo-password").read_text().strip())
    finally:
        server.terminate()
        server.wait(20)


def _wait_for(address: str) -> None:
    for _ in range(120):
        try:
            urllib.request.urlopen(address + "/sign-in/", timeout=2)
            return
        except OSError:
            time.sleep(0.25)
    raise AssertionError("the server did not answer within 30 s")


@pytest.fixture(scope="module")
def browser():
    with playwright.sync_playwright() as running:
        started = running.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-background-networking", "--disable-quic"]
        )
        yield started
        started.close()


def signed_in(browser, house: House, name: str):
    page = browser.new_context(viewport={"width": 1280, "height": 800}, base_url=house.address).new_page()
    page.goto("/")
    page.fill("input[type=text]", name)
    page.fill("input[type=password]", house.password)
    page.keyboard.press("Enter")
    page.wait_for_url(house.address + "/")
    return page


def press(page, words: str) -> None:
    """Press the button with these words and wait for the screen to change."""
    _act(page, lambda: page.get_by_role("button", name=words).first.click())


def pedal(page) -> None:
    """The foot switch: it sends a key."""
    _act(page, lambda: page.keyboard.press("Enter"))


def _act(page, act) -> None:
    """Act once; again only when the screen took it for a bounce of the press before (it then stays as it was)."""
    before = page.locator("main").inner_text()
    for _ in range(3):
        page.wait_for_timeout(450)
        act()
        for _ in range(25):
            page.wait_for_timeout(100)
            page.wait_for_load_state()
            if page.locator("main").inner_text() != before:
                return
    raise AssertionError(f"nothing changed on: {before[:200]}")


def test_from_a_new_case_to_the_record_of_an_entry_with_a_deviation(browser, house):
    lead = signed_in(browser, house, "ingrid")
    lead.goto("/cases/new/")
    lead.get_by_text("Ebola disease").click()
    lead.get_by_text("stable, without bleeding").click()
    lead.fill("input[name=code]", "test-night")
    lead.get_by_role("button", name="Plan this case").click()
    lead.wait_for_url(re.compile(r"/cases/[0-9a-f-]{36}/"), timeout=60_000)
    lead.get_by_text("Checked against the contact model").first.wait_for(timeout=60_000)
    assert "safe" not in lead.locator("main").inner_text().lower()
    lead.fill("textarea", "Fits what the unit practises; read with the second reader.")
    lead.get_by_role("button", name="Approve").click()
    lead.wait_for_url(re.compile(r"/procedures/[0-9a-f-]{36}/"), timeout=120_000)
    procedure = lead.url

    observer = signed_in(browser, house, "tomas")
    observer.goto(procedure.rstrip("/") + "/start/")
    observer.select_option("select[name=wearer]", "noor")
    observer.select_option("select[name=observer]", "tomas")
    observer.select_option("select[name=assistant]", "ilse")
    observer.get_by_role("main").get_by_role("button").first.click()
    observer.wait_for_url(re.compile(r"/entries/"))
    entry = observer.url
    for _ in range(250):
        if "Lift the shield" in observer.locator("main").inner_text():
            break
        pedal(observer)
    assert "Lift the shield off by its rear strap." in observer.locator("main").inner_text()

    press(observer, "STOP")
    assert "Hands still." in observer.locator("main").inner_text()
    press(observer, "The visor swings onto the neck")
    assert "the unit's approved answer" in observer.locator("main").inner_text()
    pedal(observer)
    for _ in range(150):
        if not observer.get_by_role("button", name="STOP").count():
            break
        pedal(observer)

    lead.goto(entry.replace("/entries/", "/records/"))
    record = lead.locator("main").inner_text()
    assert "visor swings onto the neck" in record.lower()
    assert len(re.findall(r"\b\d\d:\d\d\b", record)) > 40

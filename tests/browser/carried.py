"""What hands do on an enrolled tablet, and what its page shows."""

from __future__ import annotations

import re
from typing import Any

PIN = "482913"
SETTLE = 370


def set_badge(page: Any, badge: str, password: str) -> None:
    page.goto("/badge/")
    page.get_by_label("Badge code").fill(badge)
    page.get_by_label("PIN, six to twelve digits").fill(PIN)
    page.get_by_label("Your password, once more").fill(password)
    page.get_by_role("button", name="Set badge and PIN").click()
    page.get_by_text("Badge and PIN are set").wait_for()


def new_code(lead: Any, name: str = "Anteroom 1") -> str:
    lead.goto("/tablets/")
    lead.get_by_label("Name of the tablet").fill(name)
    lead.get_by_role("button", name="Give a code").click()
    return str(lead.locator(".code").inner_text())


def enrol(page: Any, code: str) -> None:
    page.goto("/tablet/")
    page.get_by_label(re.compile("Code from the lead")).fill(code)
    page.get_by_role("button", name="Enrol it").click()
    page.get_by_label("Badge").wait_for()


def identify(page: Any, badge: str, pin: str = PIN) -> None:
    page.get_by_label("Badge").fill(badge)
    page.get_by_label("PIN").fill(pin)
    page.get_by_role("button", name="Go on").click()


def take(page: Any, entry: str, how: str = "lead") -> None:
    page.locator(f'[data-entry="{entry}"] [data-take="{how}"]').click()
    page.locator("#screen[data-kind]").wait_for(timeout=60_000)


def kind(page: Any) -> str:
    return str(page.locator("#screen").get_attribute("data-kind"))


def press(page: Any, selector: str) -> None:
    """One press, and wait until the page shows it as taken."""
    page.wait_for_timeout(SETTLE)
    before = page.locator("#screen").get_attribute("data-said")
    page.locator(selector).first.click()
    taken = "#screen[data-said]" + (f':not([data-said="{before}"])' if before else "")
    page.locator(taken).wait_for(state="attached", timeout=10_000)


def primary(page: Any) -> None:
    press(page, "button[data-primary]")


def past_the_checks(page: Any) -> None:
    """What is confirmed before anyone goes in, each in order; then the first step to be led."""
    while kind(page) == "before":
        primary(page)


def unsent(page: Any) -> int:
    return int(page.locator("#unsent").get_attribute("data-unsent") or -1)


def all_sent(page: Any, timeout: int = 20_000) -> None:
    page.locator('#unsent[data-unsent="0"]').wait_for(timeout=timeout)


def marked(page: Any, but: str = ".nothing") -> set[str]:
    """The surfaces that the figure shows as perhaps contaminated: hatched, or with a lozenge. `but`: marks left out."""
    sort = '.whole [data-mark="hatch"], .whole [data-mark^="lozenge"]'
    nodes = page.locator(f":is({sort}):not({but})").all()
    return {str(node.get_attribute("data-surface")) for node in nodes}

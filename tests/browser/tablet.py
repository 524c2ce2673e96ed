"""What an observer's hands do on the tablet."""

from __future__ import annotations

from typing import Any

SETTLE = 360  # milliseconds of a page's age; press.js takes no press before


def start(page: Any, drill: bool = True) -> None:
    """Open an entry of the first procedure in force, Noor going in."""
    page.get_by_role("link", name="Start an entry").first.click()
    page.get_by_label("Wearer").select_option("noor")
    page.get_by_label("Doffing assistant").select_option("petra")
    if drill:
        page.get_by_text("This is a drill").click()
    page.get_by_role("button", name="Open the entry").click()
    page.wait_for_url("**/entries/*/")


def settle(page: Any) -> None:
    """Wait until the page takes a press."""
    page.wait_for_timeout(max(0.0, SETTLE - page.evaluate("performance.now()")))


def press(page: Any, selector: str) -> None:
    """One press, as a finger does it: after the page has settled."""
    settle(page)
    with page.expect_navigation():
        page.locator(selector).click()


def primary(page: Any) -> None:
    press(page, "[data-primary]")


def pedal(page: Any) -> None:
    """The foot switch: a key."""
    settle(page)
    with page.expect_navigation():
        page.keyboard.press("Enter")


def heading(page: Any) -> str:
    return str(page.locator("h1").inner_text())


ASKED = {"resultTypes": ["violations"], "rules": {"target-size": {"enabled": True}}}
"""What axe is asked: its rules as they come, which is WCAG 2.0 to 2.2 of levels A and AA and its best practice, and the
size of targets (2.2, AA), which it leaves out unless it is told. Of level AAA nothing."""
NOT_OURS: dict[str, str] = {}
"""Rules of axe that are wrong for these pages, each with the reason."""


def by_axe(page: Any) -> list[str]:
    """What axe finds on a page as it stands, whatever the impact, with where."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page, options=ASKED).response["violations"]
    return [
        f"{one['id']} ({one['impact']}), {len(one['nodes'])} times: {one['nodes'][0]['html'][:160]}"
        for one in found
        if one["id"] not in NOT_OURS
    ]

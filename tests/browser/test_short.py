"""The fast look in a real browser: an entry opens, a double tap is one press, STOP holds, the record says so."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.browser.tablet import by_axe, heading, pedal, press, start

pytestmark = [pytest.mark.browser, pytest.mark.timeout(180)]


def test_an_entry_is_begun_held_and_ended(signed_in: Callable[..., Any]):
    page = signed_in("tomas")
    assert by_axe(page) == []
    start(page)
    assert heading(page).startswith("Is the doffing area ready?")
    assert by_axe(page) == []

    page.wait_for_timeout(400)
    with page.expect_navigation():
        page.locator("[data-primary]").dblclick()
    assert page.get_by_role("button", name="Done and seen").is_visible()
    pedal(page)
    assert heading(page).startswith("Cleared to go in today?")

    press(page, "[data-stop]")
    assert heading(page) == "Hands still.\nAway from the face."
    assert by_axe(page) == []
    press(page, "button:has-text('Something else')")
    page.get_by_label("Reason").fill("The browser test ends here")
    press(page, "button:has-text('End it')")
    page.get_by_role("link", name="Read the record").click()

    kinds = page.locator(".timeline b").all_inner_texts()
    assert kinds == [
        "Entry opened", "Read", "Done and seen", "Doffing area confirmed", "STOP", "Deviation", "Abandoned",
    ]  # fmt: skip
    assert by_axe(page) == []


@pytest.mark.slow
def test_without_script_the_pages_work_too(signed_in: Callable[..., Any]):
    page = signed_in("ilse", java_script_enabled=False)
    start(page)
    page.locator("[data-primary]").click()
    page.locator("[data-primary]").click()

    assert page.get_by_text("Cleared to go in today?").is_visible()


@pytest.mark.slow
def test_a_bounce_onto_the_next_page_is_no_press_but_stop_always_is(signed_in: Callable[..., Any]):
    page = signed_in("ilse")
    start(page)
    page.add_init_script("performance.now = () => 100")
    page.reload()
    page.locator("[data-primary]").click()
    page.keyboard.press("Enter")
    assert page.locator("[data-primary][value=read]").is_visible()
    with page.expect_navigation():
        page.keyboard.press("Escape")
    assert heading(page) == "Hands still.\nAway from the face."

"""The bar holds every page that a lead may see, on one line, by keyboard, without a script."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.browser.tablet import by_axe

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(180)]

ONE_LINE = 90


def height(page: Any) -> float:
    return float(page.locator("nav.bar").bounding_box()["height"])


def test_a_lead_finds_every_page_on_one_line_with_the_keyboard_alone(signed_in: Callable[..., Any]):
    lead = signed_in("ingrid", viewport={"width": 1280, "height": 800})
    lead.goto("/stock/")
    assert height(lead) < ONE_LINE
    menus = lead.locator("nav.bar .menu")
    for menu in menus.all():
        button, pages = menu.locator("> button"), menu.locator("> .pages")
        assert not pages.is_visible()
        button.focus()
        lead.keyboard.press("Enter")
        assert pages.is_visible()
        assert by_axe(lead) == []
        lead.keyboard.press("Tab")
        first = pages.locator("a, button").first
        assert first.evaluate("one => one === document.activeElement")
        box, above = pages.bounding_box(), button.bounding_box()
        assert above["y"] + above["height"] <= box["y"]
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= 1280
        lead.keyboard.press("Escape")
        assert not pages.is_visible()
    assert lead.locator("nav.bar [aria-current=page]").inner_text() == "Stock"


def test_the_bar_needs_no_script_and_no_page_lies_beyond_a_narrow_screen(signed_in: Callable[..., Any]):
    lead = signed_in("ingrid", java_script_enabled=False, viewport={"width": 400, "height": 700})
    lead.locator("nav.bar").get_by_role("button", name="Unit").click()
    lead.locator("nav.bar").get_by_role("link", name="Rooms").click()
    assert lead.url.endswith("/rooms/")

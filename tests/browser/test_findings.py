"""The lead at the desk: from the list of published orders to why, and a plan without one of its items."""

from __future__ import annotations

from typing import Any

import pytest
from tests.browser.bar import to
from tests.browser.tablet import by_axe

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(240)]
SIZES = ({"width": 1280, "height": 800}, {"width": 800, "height": 1280})


def looks_right(page: Any) -> None:
    """Nothing cut off at either size, nothing that axe finds."""
    assert by_axe(page) == []
    for size in SIZES:
        page.set_viewport_size(size)
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    page.set_viewport_size(SIZES[0])


def test_from_the_published_orders_to_why_and_to_a_plan_without_an_item(signed_in: Any):
    lead = signed_in("ingrid")
    to(lead, "Procedures", "Orders")
    lead.get_by_role("link", name="Sequence for removing PPE, example 1; respirator, face shield").click()
    looks_right(lead)
    lead.get_by_role("link", name="Compare with COVID-19 PPE: one example of doffing; respirator, face shield").click()
    assert lead.get_by_text("A is weaker on eyes, nose or mouth").is_visible()
    assert lead.locator("tr.moved").count() == 1
    looks_right(lead)

    lead.goto("/orders/")
    lead.get_by_role("link", name="Sequence for removing PPE, example 1; respirator, face shield").click()
    lead.get_by_role("link", name="Why this verdict").click()
    lead.get_by_label("One endpoint").select_option("body.eyes")
    lead.get_by_role("button", name="Ask why").press("Enter")
    assert lead.locator(".strip svg").first.is_visible()
    assert lead.locator("[data-mark=passing]").count() > 0
    looks_right(lead)

    lead.goto("/")
    lead.locator("section", has_text="Cases planned").get_by_role("link", name="Open").first.click()
    lead.get_by_role("link", name="Without an item").click()
    lead.get_by_label("Without").select_option("face-shield")
    lead.get_by_label("With", exact=True).select_option("goggles")
    lead.get_by_role("button", name="Work it out").click()
    assert lead.get_by_text("Practised by 0 of those on shift").is_visible()
    assert lead.get_by_text("Worn in its place: goggles.").is_visible()
    looks_right(lead)


def test_the_rules_by_keyboard_and_by_mouse_one_switched_and_searched_again(signed_in: Any):
    lead = signed_in("ingrid")
    lead.locator("section", has_text="Cases planned").get_by_role("link", name="Open").first.click()
    lead.get_by_role("link", name="What each rule does").click()
    lead.get_by_role("heading", name="Rules that can be switched").wait_for(timeout=120_000)
    looks_right(lead)
    assert lead.get_by_role("heading", name="The best order as the policy stands").is_visible()

    box = lead.get_by_label("Garment before foot covers")
    assert box.is_checked()
    box.press("Space")
    lead.get_by_role("button", name="Search again with these").press("Enter")
    lead.get_by_role("heading", name="The best order with these rules").wait_for(timeout=120_000)
    assert not lead.get_by_label("Garment before foot covers").is_checked()
    looks_right(lead)

    paper = lead.get_by_role("link", name="This on paper").get_attribute("href")
    answer = lead.request.get(lead.url.split("/rules/")[0] + paper)
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.body().startswith(b"%PDF-")
    lead.get_by_role("link", name="As the policy stands").click()
    lead.get_by_role("heading", name="The best order as the policy stands").wait_for(timeout=120_000)
    assert lead.get_by_label("Garment before foot covers").is_checked()

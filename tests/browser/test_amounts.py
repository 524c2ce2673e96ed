"""The lead asks how much reaches where: the panel of a procedure, other circumstances, and what a change buys."""

from __future__ import annotations

from typing import Any

import pytest
from tests.browser.test_findings import looks_right

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(240)]


def test_from_a_procedure_to_amounts_and_to_what_a_change_buys(signed_in: Any):
    lead = signed_in("ingrid")
    lead.goto("/procedures/")
    lead.get_by_role("link", name="Read it").first.click()
    lead.get_by_role("link", name="How much reaches where").click()
    lead.locator("#contributions").wait_for(timeout=60_000)
    assert lead.get_by_text("Never a probability of infection.").is_visible()
    assert lead.locator("svg.line").count() > 30
    looks_right(lead)

    lead.get_by_text("Circumstances and runs").click()
    lead.get_by_label("Somebody watches every step").select_option("no")
    lead.get_by_label("Months since practice").fill("8")
    lead.get_by_role("button", name="Ask with these").press("Enter")
    lead.locator("#contributions").wait_for(timeout=60_000)
    lead.get_by_text("In these circumstances").click()
    assert lead.get_by_text("Months since practice").last.is_visible()
    assert "observer=no" in lead.url

    lead.get_by_role("link", name="What would a change buy").click()
    lead.get_by_role("heading", name="Never offered for removal").wait_for(timeout=120_000)
    assert lead.get_by_text("Somebody watches every step").last.is_visible()
    looks_right(lead)

    observer = signed_in("tomas")
    observer.goto("/procedures/")
    assert observer.get_by_role("link", name="How much reaches where").count() == 0

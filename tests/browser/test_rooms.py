"""A lead at the desk: a reading outside its limit, disinfectant made up, a bag let go, air, turnaround."""

from __future__ import annotations

from typing import Any

import pytest
from tests.browser.bar import to
from tests.browser.tablet import by_axe

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(240)]
SIZES = ({"width": 1280, "height": 800}, {"width": 800, "height": 1280}, {"width": 640, "height": 400})


def looks_right(page: Any) -> None:
    """Nothing cut off at either size and at 200 %, nothing that axe finds."""
    assert by_axe(page) == []
    for size in SIZES:
        page.set_viewport_size(size)
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    page.set_viewport_size(SIZES[0])


def test_from_the_register_to_a_room_that_is_ready(signed_in: Any):
    lead = signed_in("ingrid")
    to(lead, "Unit", "Rooms")
    lead.get_by_text("outside the limit").wait_for()
    looks_right(lead)

    lead.get_by_role("link", name="Checks").click()
    lead.get_by_label("Room", exact=True).select_option("room-1")
    lead.get_by_label("pressure against the corridor").check()
    lead.get_by_label("Reading", exact=True).fill("-0.03 inwg")
    lead.get_by_role("button", name="Write it under my name").press("Enter")
    lead.get_by_text("written -0.03 inwg").wait_for()
    looks_right(lead)

    lead.get_by_role("link", name="Disinfectant").click()
    lead.get_by_label("For", exact=True).select_option("room-1")
    lead.get_by_label("calcium hypochlorite powder (HTH)").check()
    lead.get_by_label("How much in the end").fill("20")
    lead.get_by_role("button", name="Work it out").click()
    lead.get_by_text("142.9 g of powder in 20 litres of water").wait_for()
    looks_right(lead)
    lead.get_by_role("button", name="Made up: write it in the log").click()
    lead.locator("#log").get_by_text("20 litres, 0.5 %").wait_for()

    lead.get_by_role("link", name="Waste on hold").click()
    lead.get_by_text("The result of a case is there").click()
    opened = lead.locator("details[open]")
    opened.get_by_label("Case code").fill("practice-ward")
    opened.get_by_label("negative").check()
    opened.get_by_label("Told by whom, and how").fill("by telephone, read back")
    opened.get_by_role("button", name="Write the result").click()
    lead.get_by_text("Let a bag go").click()
    opened.get_by_label("Number on the bag").fill("HP-0002")
    opened.get_by_label("release it, in its stream").check()
    opened.get_by_label("Reason", exact=True).fill("ruled out")
    opened.get_by_role("button", name="Let it go under my name").click()
    lead.get_by_text("ruled out").wait_for()
    lead.get_by_text("1 bag on hold").wait_for()
    looks_right(lead)

    lead.get_by_role("link", name="Air", exact=True).click()
    lead.get_by_label("Room", exact=True).select_option("room-1")
    lead.get_by_label("Hazard", exact=True).select_option("lassa")
    lead.get_by_role("button", name="Work it out").click()
    lead.get_by_text("Beside the point for this hazard").wait_for()
    looks_right(lead)

    lead.get_by_role("link", name="Turnaround").click()
    lead.get_by_label("Room", exact=True).select_option("room-1")
    lead.get_by_label("Hazard", exact=True).select_option("mers")
    lead.get_by_role("button", name="Work it out").click()
    lead.get_by_text("Ready about").wait_for()
    looks_right(lead)

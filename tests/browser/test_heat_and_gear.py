"""Heat at the desk, an entry opened in a room that was read, and what is put on scanned with the keyboard."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.browser.bar import to
from tests.browser.test_rooms import looks_right

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(300)]


def test_a_reading_screening_and_the_clock_of_an_entry(signed_in: Callable[..., Any]) -> None:
    lead = signed_in("ingrid")
    to(lead, "Unit", "Heat")
    lead.get_by_text("120 minutes").first.wait_for()
    lead.get_by_label("Room", exact=True).select_option("room-1")
    lead.get_by_label("Air temperature").fill("NaN")
    lead.get_by_label("Relative humidity").fill("55")
    lead.get_by_role("button", name="Write it under my name").press("Enter")
    lead.get_by_text("'NaN' is no number").first.wait_for()
    looks_right(lead)
    lead.get_by_label("Air temperature").fill("75 F")
    lead.get_by_role("button", name="Write it under my name").press("Enter")
    lead.get_by_text("75 F, 55 %, 0.1 m/s").wait_for()
    looks_right(lead)

    lead.get_by_role("link", name="Heat index").click()
    lead.get_by_label("Heat index WBGT").fill("27")
    lead.get_by_label("Clothing", exact=True).select_option("vapour-barrier-hood")
    lead.get_by_role("button", name="Work it out").click()
    lead.get_by_text("Above a reference value: look closer.").wait_for()
    looks_right(lead)

    lead.get_by_role("link", name="Predicted strain").click()
    lead.get_by_label("Air temperature").fill("33")
    lead.get_by_label("Relative humidity").fill("60")
    lead.get_by_label("The suit lets no vapour through").check()
    lead.get_by_role("button", name="Work it out").click()
    lead.get_by_text("What was measured on people in protective suits instead").wait_for()
    looks_right(lead)

    lead.get_by_role("link", name="Work and clothing").click()
    lead.get_by_text("lets no vapour through", exact=True).first.wait_for()
    looks_right(lead)
    signed_in.complaints[:] = [one for one in signed_in.complaints if "422" not in one]


def test_an_observer_opens_an_entry_and_scans_what_is_put_on(signed_in: Callable[..., Any]) -> None:
    page = signed_in("tomas")
    page.goto("/procedures/")
    page.locator("li", has_text="wet patient").get_by_role("link", name="Start an entry").first.click()
    page.get_by_label("Wearer").select_option("noor")
    page.get_by_label("Trained observer").select_option("tomas")
    page.get_by_label("Doffing assistant").select_option("petra")
    page.get_by_label("Room").select_option("room-1")
    page.get_by_role("button", name="Open it and scan what is put on").click()
    page.get_by_role("heading", name="What is put on, by lot and unit").wait_for()
    looks_right(page)

    # The scanner types and ends with Enter; the cursor stands in the field.
    page.keyboard.type("GW-0310")
    page.keyboard.press("Enter")
    page.get_by_text("Taken: Impermeable gown").wait_for()

    page.keyboard.type("GW-0311")
    page.keyboard.press("Enter")
    page.get_by_text("Not their size; theirs is: M").wait_for()
    looks_right(page)
    page.get_by_label("Decided by").fill("Sander Brook")
    page.get_by_label("Reason").fill("the other tore")
    page.get_by_role("button", name="Put it on all the same").press("Enter")
    page.get_by_text("decided by Sander Brook: the other tore").wait_for()
    page.get_by_role("button", name="Take back lot GW-0311, L").press("Enter")
    page.get_by_text("decided by Sander Brook").wait_for(state="detached")
    looks_right(page)
    page.get_by_role("link", name="To the entry").click()
    page.get_by_role("button", name="STOP").wait_for()
    signed_in.complaints[:] = [one for one in signed_in.complaints if "422" not in one]

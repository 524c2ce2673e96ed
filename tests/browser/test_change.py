"""The case changes while someone is inside: a real entry led in, then the shift lead's page and its papers."""

from __future__ import annotations

import re
from typing import Any

import pytest
from tests.browser.conftest import Visitors
from tests.browser.tablet import by_axe, heading, primary, start

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(240)]
SIZES = ({"width": 1280, "height": 800}, {"width": 800, "height": 1280})


def looks_right(page: Any) -> None:
    """Nothing cut off at either size, nothing that axe finds."""
    assert by_axe(page) == []
    for size in SIZES:
        page.set_viewport_size(size)
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    page.set_viewport_size(SIZES[0])


def lead_in(tablet: Any) -> None:
    """Noor is led in, and as far as the first look of the way out."""
    start(tablet)
    for _ in range(120):
        if "Arms out" in heading(tablet):
            return
        primary(tablet)
    raise AssertionError("the way out was not reached")


def test_a_patient_turns_wet_while_somebody_is_inside(signed_in: Any):
    tablet = signed_in("tomas")
    lead_in(tablet)

    lead = signed_in("sander")
    lead.get_by_role("link", name="Change of case").click()
    lead.get_by_label("Dressed by").select_option(label="Suspected case, wet patient, version 1")
    lead.get_by_role("button", name=re.compile("Go on|Take this one instead")).press("Enter")
    noor = lead.locator(".person-row", has_text="Noor Hadley").last
    assert noor.get_by_text("By the record:").is_visible()
    assert not noor.get_by_label("Count them in").is_checked()  # a drill
    noor.get_by_label("Count them in").press("Space")
    lead.get_by_label("Hazard").select_option("lassa")
    looks_right(lead)
    lead.get_by_role("button", name="Work it out").press("Enter")

    assert lead.get_by_text("It is Lassa fever now").is_visible()
    assert lead.get_by_text("as practised, Suspected case, wet patient, version 1").first.is_visible()
    assert lead.locator(".change-person svg").first.is_visible()
    looks_right(lead)
    assert lead.get_by_role("button", name="The computed exit on paper").first.is_visible()


def test_by_hand_half_way_out_and_ruled_out_with_the_papers(signed_in: Any):
    lead = signed_in("ingrid")
    lead.goto("/change/")
    lead.get_by_label("Dressed by").select_option(label="Suspected respiratory infection, stable patient, version 1")
    lead.get_by_role("button", name=re.compile("Go on|Take this one instead")).click()
    lead.get_by_role("button", name="One more person").click()
    row = lead.locator(".person-row").last
    row.get_by_label("Code").fill("nurse-2")
    row.get_by_label("Minutes inside").fill("50")
    row.get_by_label("Last step of the way out that was done").select_option(index=5)
    lead.get_by_label("Presentation").select_option("wet")
    lead.get_by_label("Hazard").select_option("lassa")
    lead.get_by_role("button", name="Work it out").click()
    assert lead.locator("ol.turns li").first.inner_text().startswith("nurse-2")
    looks_right(lead)

    lead.get_by_label("Hazard").select_option("")
    lead.get_by_text("Ruled out", exact=True).click()
    lead.get_by_role("button", name="Work it out").click()
    assert lead.get_by_text("No way out for a high-consequence disease is asked for any more.").is_visible()
    with lead.expect_response("**/change/all-clear.pdf") as answer:
        lead.get_by_role("button", name="A paper for each of them").click()
    assert answer.value.status == 200
    assert answer.value.headers["content-type"] == "application/pdf"


def test_letters_twice_as_large_cut_nothing_off(hospital: Any, large_text: Any):
    visitors = Visitors(hospital, large_text)
    lead = visitors("ingrid")
    lead.goto("/change/")
    lead.get_by_label("Dressed by").select_option(label="Suspected case, wet patient, version 1")
    lead.get_by_role("button", name=re.compile("Go on|Take this one instead")).click()
    lead.get_by_role("button", name="Work it out").click()
    for size in SIZES:
        lead.set_viewport_size(size)
        assert lead.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    visitors.leave()

"""The whole way in a real browser: case, plan, approval, entry, STOP, the approved answer, the record with times."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from typing import Any

import pytest
from tests.browser.tablet import heading, press, primary

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(400)]


def test_from_the_case_to_the_record(signed_in: Callable[..., Any]):
    title = approve_a_new_plan(signed_in("ingrid"))

    tablet = signed_in("tomas")
    tablet.goto("/procedures/")
    start_from(tablet, title)
    screen = signed_in("noor", viewport={"width": 1920, "height": 1080})
    screen.goto(f"{tablet.url}wearer/")
    assert "Is the doffing area ready?" not in screen.content()
    read = 0
    while "Lift the shield off" not in heading(tablet) or not reading(tablet):
        read += reading(tablet)
        primary(tablet)
    deviate_and_take_the_answer(tablet, screen)
    while heading(tablet) != "Every step is done.":
        read += reading(tablet)
        primary(tablet)  # also into the own ways out of assistant and observer
    primary(tablet)
    assert heading(tablet) == "The entry is closed."

    tablet.get_by_role("link", name="Read the record").click()
    look_at_the_record(tablet, read)


def reading(tablet: Any) -> bool:
    return tablet.locator("[data-primary][value=read]").count() == 1


def approve_a_new_plan(lead: Any) -> str:
    lead.get_by_role("link", name="Take a new case").click()
    lead.get_by_text("Ebola disease").click()
    lead.get_by_label("Case code").fill("browser-walk")
    lead.get_by_role("button", name="Plan this case").click()
    # The practised procedure comes first; a new order is asked for.
    lead.get_by_text("Approved and practised").wait_for()
    lead.get_by_role("button", name="Plan this case afresh").click()
    lead.locator(".plan-grid").wait_for(timeout=60_000)
    assert "Checked against the contact model" in lead.locator(".lead").inner_text()
    assert lead.locator("svg.wall rect").count() > 20
    title = f"Walked in a browser {time.monotonic_ns() % 10**6}"
    lead.get_by_label("Name of the new procedure").fill(title)
    lead.get_by_label("Reason").fill("Practised in the browser")
    lead.get_by_role("button", name="Approve").click()
    lead.wait_for_url("**/procedures/*/")
    assert lead.locator("h1").inner_text() == title
    return title


def start_from(tablet: Any, title: str) -> None:
    tablet.locator("li", has_text=title).get_by_role("link", name="Start an entry").click()
    tablet.get_by_label("Wearer").select_option("noor")
    tablet.get_by_label("Doffing assistant").select_option("petra")
    tablet.get_by_role("button", name="Open the entry").click()
    tablet.wait_for_url("**/entries/*/")


def deviate_and_take_the_answer(tablet: Any, screen: Any) -> None:
    primary(tablet)
    screen.get_by_text("by its rear strap").wait_for(timeout=10_000)
    press(tablet, "[value=prompted]")
    press(tablet, "[data-stop]")
    screen.get_by_text("Away from the face.").wait_for(timeout=10_000)
    press(tablet, "button:has-text('The visor swings onto the face')")
    assert tablet.get_by_text("May have been reached").is_visible()
    assert tablet.get_by_text("Lift the shield off by its rear strap").is_visible()
    press(tablet, "button:has-text('Lead the answer')")
    assert "the approved answer" in tablet.locator(".strip").inner_text()
    assert tablet.locator(".who .step").inner_text().startswith("step 1 of ")


def look_at_the_record(page: Any, read: int) -> None:
    content, rows, kinds = "", [], []
    while True:  # a long record has several pages
        content += page.content()
        rows += page.locator(".timeline li").all_inner_texts()
        kinds += page.locator(".timeline b").all_inner_texts()
        following = page.locator('#timeline a[rel="next"]').first
        if not following.count():
            break
        with page.expect_navigation():
            following.click()

    assert all(re.match(r"\d\d:\d\d:\d\d\n", row) for row in rows)
    assert kinds[0] == "Entry opened"
    assert kinds[-1] == "Entry closed"
    assert kinds.count("Read") == read + 1
    assert kinds.count("Done and seen") == kinds.count("Read")
    went = ["Prompted just in time", "STOP", "Deviation", "Approved answer taken"]
    assert [kind for kind in kinds if kind in went] == went
    assert kinds.count("Stop spoken") >= 3
    assert "Went in" in kinds
    assert "Came out" in kinds
    assert "The visor swings onto the face" in content
    assert "To look at" not in content

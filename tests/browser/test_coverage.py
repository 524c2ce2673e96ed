"""The lead asks how long a stay lasts; the staffing office takes a roster, changes a cell, and is refused one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.browser.bar import to
from tests.browser.tablet import by_axe
from tests.browser.test_layout import faults, sideways

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(300)]


def test_a_lead_asks_how_long_a_stay_lasts_and_what_a_delivery_changes(signed_in: Callable[..., Any]):
    lead = signed_in("ingrid")
    to(lead, "Tonight", "Forecast")
    lead.locator("svg.fan").first.wait_for(timeout=90_000)
    assert faults(lead, "forecast") == []
    figure = lead.locator("figure.fan-figure").first
    name = figure.locator("b").inner_text()
    figure.locator("summary").click()
    assert figure.locator("tbody tr").count() > 3

    lead.locator("#ask summary", has_text="Deliveries").click()
    row = lead.locator("fieldset.delivery").first
    item = row.locator("select option", has_text=name.split(", ")[0]).first.get_attribute("value")
    row.locator("select").select_option(item)
    row.get_by_label("Size").fill(name.rpartition(", ")[2].lower() if ", " in name else "one-size")
    row.get_by_label("Pieces").fill("400")
    row.get_by_label("Comes after, hours").fill("2")
    lead.get_by_role("button", name="Play the stays").click()
    lead.locator(".forecast-answer").wait_for(timeout=90_000)
    assert "d-0-count=400" in lead.url
    assert by_axe(lead) == []


def test_a_staffing_office_takes_a_roster_and_changes_cells(signed_in: Any):
    office = signed_in("sander")
    to(office, "Tonight", "Coverage")
    assert "Taken" in office.locator("main").inner_text()
    assert faults(office, "coverage") == []
    office.get_by_role("link", name="Ask for another rota").click()
    office.get_by_label("Days", exact=True).fill("7")
    office.get_by_label("Reason").first.fill("A week, for a test")
    assert faults(office, "a new rota") == []
    office.get_by_role("button", name="Ask", exact=True).click()
    office.get_by_role("button", name="Take this roster").wait_for(timeout=90_000)
    assert faults(office, "a proposal") == []
    office.get_by_role("button", name="Take this roster").click()
    office.locator(".note", has_text="Taken").wait_for()

    cell = office.locator("#people td a:has(b)").first
    cell.click()
    assert faults(office, "a change") == []
    was = office.get_by_label("On this day").input_value()
    office.get_by_label("On this day").select_option("none")
    office.get_by_label("Reason").fill("Called away")
    office.get_by_role("button", name="Change it").click()
    office.locator("td.gap", has_text="nobody").first.wait_for()
    assert "Called away" in office.locator("main").inner_text()

    unqualified = office.locator("#people tr", has_text="inside").filter(has_not_text="assisting").first
    unqualified.locator("td a").nth(1).click()
    office.get_by_label("On this day").select_option(was.partition("/")[0] + "/assisting")
    office.get_by_label("Reason").fill("To see what is said")
    office.get_by_role("button", name="Change it").click()
    assert "is not qualified for this on that day" in office.locator("[role=alert]").inner_text()
    assert [one for one in signed_in.complaints if "422" not in one] == []
    signed_in.complaints.clear()  # that it was refused is what is looked at


def test_twice_as_large_both_pages_can_still_be_read(signed_in: Callable[..., Any]):
    lead = signed_in("ingrid", viewport={"width": 640, "height": 400}, device_scale_factor=2)
    cut = {}
    for address in ("/coverage/", "/coverage/new/", "/coverage/mine/", "/forecast/"):
        lead.goto(address, wait_until="commit")
        lead.locator("h1").wait_for()
        cut[address] = sideways(lead)

    assert {where: pixels for where, pixels in cut.items() if pixels > 0} == {}

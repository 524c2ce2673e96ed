"""The registers walked with the real server: a list taken, someone asked for, a box scanned and held."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.browser.bar import to
from tests.browser.test_layout import faults, sideways

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(300)]

LIST = "code,name,parts,height-mm,hand-mm,gown\nH-901,Runa Ostrow,wearer,1680,190,M\n"
BAD = "code,name\nH-902,Ann Lee\nH-902,Ben Lee\n"
CODE = "(01)51022222233336(17)310131(10)Z900"


def test_a_list_is_refused_by_row_then_another_is_taken_and_the_person_can_be_asked_for(signed_in: Callable[..., Any]):
    page = signed_in("ingrid")
    to(page, "Unit", "People")
    page.get_by_role("link", name="Import").click()
    page.locator("#id_file").set_input_files({"name": "bad.csv", "mimeType": "text/csv", "buffer": BAD.encode()})
    # A refused form is a 422, of which the browser's console complains.
    page.get_by_role("button", name="Look at it").click()
    page.get_by_text("Line 3, code: H-902 stands on line 2 already").wait_for()

    page.locator("#id_file").set_input_files({"name": "new.csv", "mimeType": "text/csv", "buffer": LIST.encode()})
    page.get_by_role("button", name="Look at it").click()
    page.get_by_text("It would add 1 person, 2 notes.").wait_for()
    page.get_by_role("button", name="Take all of it").click()
    page.get_by_role("link", name="Runa Ostrow").click()
    page.get_by_role("heading", name="Runa Ostrow").wait_for()
    assert page.get_by_text("S (7)").is_visible() or page.get_by_text("M (8)").is_visible()

    page.goto("/people/able/")
    page.get_by_role("button", name="Ask").click()
    row = page.locator("tr", has_text="Runa Ostrow")
    assert "not found able" in row.inner_text()
    signed_in.complaints[:] = [one for one in signed_in.complaints if "422" not in one]


def test_a_box_is_scanned_with_the_keyboard_received_and_put_on_hold(signed_in: Callable[..., Any]):
    page = signed_in("sander")
    page.goto("/stock/receive/")
    page.get_by_label("Code", exact=True).focus()
    page.keyboard.type(CODE)
    page.keyboard.press("Enter")
    page.get_by_text("Item 51022222233336, lot Z900, expiry 31 January 2031").wait_for()
    assert page.get_by_label("Lot", exact=True).input_value() == "Z900"
    page.get_by_label("Item", exact=True).select_option("face-shield")
    page.get_by_label("Size", exact=True).fill("one-size")
    page.get_by_label("How many").fill("12")
    page.get_by_role("button", name="Receive").click()

    page.get_by_text("store: 12 pieces").wait_for()
    page.locator("#hold-why").fill("Cracks, invented.")
    page.get_by_role("button", name="Put it on hold").click()
    page.get_by_text("None of it is picked or counted as usable.").wait_for()
    page.goto("/stock/")
    assert "12" in page.locator("tr", has_text="Full face shield").inner_text()


def test_every_page_of_the_registers_fits_both_ways_round(signed_in: Callable[..., Any]):
    page = signed_in("ingrid")
    found = []
    for address in ("/people/", "/people/able/", "/people/import/", "/stock/", "/stock/receive/", "/stock/picking/",
                    "/stock/units/", "/stock/reserves/", "/stock/lead-times/"):  # fmt: skip
        page.goto(address)
        if page.locator("form.finder button").count() and address != "/people/":
            page.locator("form.finder button").click()
        found += faults(page, address)
    for start, address in (("table a", "/people/"), ("#lots table a", "/stock/?item=gown-impermeable"),
                           ("table a", "/stock/units/")):  # fmt: skip
        page.goto(address)
        page.locator(start).first.click()
        found += faults(page, f"from {address}")

    assert found == []


def test_with_letters_twice_as_large_nothing_is_cut_off(enlarging: Callable[..., Any]):
    page = enlarging("ingrid")
    cut = {}
    for address in ("/people/", "/people/able/", "/stock/", "/stock/receive/", "/stock/picking/"):
        page.goto(address)
        cut[address] = sideways(page)

    assert all(pixels <= 0 for pixels in cut.values()), cut

"""After a breach: two presses to the unit's own text, without a network too; then the record, as each role sees it."""

from __future__ import annotations

import subprocess
import sys
from typing import Any

import pytest
from tests.browser import carried
from tests.browser.tablet import by_axe, start

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(300)]


def vestry(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "vestry.cli", *words], capture_output=True, text=True, timeout=120, check=False
    )


def test_from_the_breach_to_occupational_health_the_record_and_a_restored_copy(
    signed_in: Any, hospital: Any, tmp_path: Any
):
    observer = signed_in("tomas")
    carried.set_badge(observer, "HP-tomas-b", hospital.password)
    observer.goto("/procedures/")
    start(observer)
    entry = observer.url.split("/")[-2]
    context = signed_in.browser.new_context(base_url=hospital.address, viewport={"width": 1280, "height": 800})
    signed_in.contexts.append(context)
    page = context.new_page()
    page.on("pageerror", lambda error: signed_in.complaints.append(str(error)))
    carried.enrol(page, carried.new_code(signed_in("ingrid"), "Breach tablet"))
    carried.identify(page, "HP-tomas-b")
    carried.take(page, entry)

    # Without a network: two presses, and the unit's own words are there. The pedal does not move the step beneath.
    context.set_offline(True)
    shown = carried.kind(page)
    page.locator("[data-breach]").click()
    assert by_axe(page) == []
    page.keyboard.press("PageDown")
    page.locator("[data-kind=splash]").click()
    assert "eyewash" in page.locator(".breach-aid").first.inner_text()
    assert "not to be followed" in page.locator(".breach-aid").first.inner_text()
    assert by_axe(page) == []
    before = carried.unsent(page)
    page.locator("[data-press=exposure]").click()
    assert "Say where first" in page.locator(".breach [role=alert]").inner_text()
    page.locator("[data-value=eyes]").click()
    page.locator("[data-press=exposure]").click()
    page.locator("#breach").wait_for(state="detached")
    assert (carried.unsent(page), carried.kind(page)) == (before + 2, shown)
    context.set_offline(False)
    carried.all_sent(page)

    # Occupational health sees whom and where, and takes it up; the lead sees that it was.
    health = signed_in("oona")
    health.goto("/exposures/")
    assert "Noor Hadley" in health.locator("main").inner_text()
    assert by_axe(health) == []
    health.get_by_role("button", name="Take it up").first.click()
    health.wait_for_selector("text=taken up")
    lead = signed_in("ingrid")
    lead.goto("/exposures/")
    told = lead.locator("main").inner_text()
    assert "taken up" in told
    assert "eyes" not in told

    # The auditor reads the record, replays it by keyboard, and takes it away; it verifies with its anchors.
    auditor = signed_in("anselm")
    auditor.goto(f"/records/{entry}/")
    assert by_axe(auditor) == []
    auditor.locator("[data-to='0']").click()
    auditor.wait_for_selector("text=Before anything was said")
    auditor.locator("[data-slider]").focus()
    auditor.keyboard.press("ArrowRight")
    auditor.wait_for_selector("text=Entry opened")
    heads = [one for one in auditor.locator("dd.hash").all_inner_texts() if len(one) == 64]
    file = tmp_path / "record.json"
    file.write_bytes(auditor.request.get(f"{hospital.address}/records/{entry}/record.json").body())
    anchors = [word for head in heads[2:] for word in ("--anchor", head)]
    assert len(anchors) >= 4, "the server's head and the tablet's own"
    done = vestry("verify-record", str(file), *anchors)
    assert done.returncode == 0, done.stdout
    auditor.goto("/entry-log/?drills=on&since=2020-01-01")
    assert "Noor Hadley" in auditor.locator("table").inner_text()
    assert by_axe(auditor) == []

    # A copy while it is served, restored and walked.
    copy, fresh = tmp_path / "copy.zip", tmp_path / "fresh"
    assert vestry("backup", "--data", str(hospital.data), "--to", str(copy)).returncode == 0
    assert vestry("restore", str(copy), "--data", str(fresh)).returncode == 0
    assert vestry("verify-record", "--data", str(fresh), *anchors).returncode == 0


def test_the_pages_beside_the_record_are_clean_at_both_sizes(signed_in: Any):
    for width, height in ((1280, 800), (800, 1280)):
        lead = signed_in("ingrid", viewport={"width": width, "height": height})
        for address in ("/records/", "/first-aid/", "/records/transcribe/", "/records/contradictions/", "/entry-log/"):
            lead.goto(address)
            assert by_axe(lead) == [], address
            assert lead.evaluate("document.documentElement.scrollWidth <= innerWidth"), address

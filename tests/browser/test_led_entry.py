"""The tablet leads a whole entry by pedal alone without a network; what stands beside the steps; the dark room.

One entry, walked once: each part of it is seen where it belongs.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from tests.browser import carried
from tests.browser.tablet import by_axe, start
from tests.browser.test_offline import record_of

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(300)]


def put_in_force(lead: Any, lines: str, reason: str) -> None:
    lead.goto("/own-texts/hold-card/")
    assert by_axe(lead) == []
    lead.get_by_label("Sentences, one a line").fill(lines)
    lead.get_by_label("Reason").fill(reason)
    lead.get_by_role("button", name="Put it in force").click()


@pytest.fixture
def own_hold_card(signed_in: Any) -> Iterator[Any]:
    """The unit's own hold card, written at the desk before the entry is opened, and taken back for other tests."""
    lead = signed_in("ingrid")
    put_in_force(lead, "Arms out, and wait.\nWe call the shift lead together.", "As practised here")
    lead.get_by_text("The unit's own text, version").wait_for()
    yield lead
    put_in_force(lead, "", "The exercise is over")
    lead.get_by_text("taken back").first.wait_for()


@pytest.fixture
def tablet(signed_in: Any, hospital: Any, own_hold_card: Any) -> tuple[Any, str]:
    """A tablet that carries an open entry, and may be relieved by Ilse."""
    observer = signed_in("tomas")
    carried.set_badge(observer, "HP-tomas", hospital.password)
    carried.set_badge(signed_in("ilse"), "HP-ilse", hospital.password)
    lead = own_hold_card
    observer.goto("/procedures/")
    start(observer)
    entry = observer.url.split("/")[-2]
    context = signed_in.browser.new_context(base_url=hospital.address, viewport={"width": 1280, "height": 800})
    signed_in.contexts.append(context)
    page = context.new_page()
    page.on("pageerror", lambda error: signed_in.complaints.append(str(error)))
    carried.enrol(page, carried.new_code(lead, "Anteroom 2"))
    carried.identify(page, "HP-tomas")
    carried.take(page, entry)
    return page, entry


def pedal(page: Any) -> None:
    """The foot switch: a key, and nothing else."""
    page.wait_for_timeout(carried.SETTLE)
    before = page.locator("#screen").get_attribute("data-said")
    page.keyboard.press("PageDown")
    page.locator(f'#screen[data-said]:not([data-said="{before}"])').wait_for(state="attached", timeout=10_000)


def until(page: Any, seen: Any) -> None:
    for _ in range(150):
        if seen():
            return
        pedal(page)
    raise AssertionError(f"never seen; at {page.locator('h1').inner_text()!r}")


def click(page: Any, selector: str) -> None:
    """A key that opens something and says nothing yet."""
    page.wait_for_timeout(carried.SETTLE)
    page.locator(selector).first.click()


def readable(page: Any) -> None:
    """Nothing by axe, in the light and in the dark room."""
    for room in ("light", "dark"):
        page.evaluate("(room) => { document.documentElement.dataset.room = room; }", room)
        assert by_axe(page) == [], room


def test_an_entry_by_pedal_alone_with_what_stands_beside_the_steps(tablet: Any, hospital: Any):
    page, entry = tablet
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    carried.all_sent(page)
    page.context.set_offline(True)
    stops = set()

    def at(kind: str, text: str = "") -> bool:
        if carried.kind(page) == "stop-point":
            stops.add(page.locator(".who .step").inner_text())
        return carried.kind(page) == kind and (not text or text in page.locator("h1").inner_text())

    # A rub: the clock runs, large; ended early it is recorded as short, and begun again.
    until(page, lambda: page.locator("[data-clock=rub]").count() == 1)
    page.locator("[data-clock=rub]", has_text="0:02").wait_for(timeout=6_000)
    carried.press(page, "[data-press=ended-early]")
    page.get_by_text("Ended early, and recorded. Begin it again.").wait_for()
    assert page.locator("[data-clock=rub]").inner_text() in ("0:00", "0:01")
    readable(page)

    # Inside: a specimen crosses the door.
    until(page, lambda: at("inside"))
    readable(page)
    click(page, "[data-view=crossing]")
    readable(page)
    click(page, "[data-item=specimen]")
    readable(page)
    page.locator("[data-wiped]").click()
    page.get_by_label("Label").fill("17")
    carried.press(page, "[data-press=item-crossed]")
    page.get_by_text("Specimen, out, wiped, 17").wait_for()
    click(page, "[data-view=gloves]")
    carried.press(page, "[data-press=glove-changed]")

    # The air is lost: two presses from here, and out.
    page.locator("[data-view=trouble]").click()
    readable(page)
    carried.press(page, "[data-press=lost-air]")
    assert carried.kind(page) == "trouble"
    page.get_by_text("Keep the hood on.").wait_for()
    page.get_by_text("A default text").wait_for()
    frozen = page.locator(".strip [data-clock=inside]").inner_text()
    page.wait_for_timeout(1_500)
    assert page.locator(".strip [data-clock=inside]").inner_text() == frozen
    readable(page)
    carried.press(page, "[data-press=out-of-trouble]")
    assert carried.kind(page) == "step"

    # Soiled: touched on the figure, and the figure shows it.
    until(page, lambda: at("step", "Lift the shield off"))
    carried.press(page, "[data-stop]")
    click(page, "[data-view=marking]")
    readable(page)
    page.wait_for_timeout(carried.SETTLE)
    page.locator('.touch [data-mark="hatch"]').first.click(force=True)
    page.wait_for_timeout(carried.SETTLE)
    keys = page.locator("[data-surface-key]")
    if keys.count():
        keys.first.click()
        page.wait_for_timeout(carried.SETTLE)
    readable(page)
    page.get_by_label("Or choose it by name").select_option("body.neck")
    page.get_by_role("button", name="Choose").click()
    carried.press(page, "[data-press=soiling]")
    assert carried.kind(page) == "hold-card"
    assert page.locator("h1").inner_text() == "Arms out, and wait."
    page.get_by_text("We call the shift lead together.").wait_for()
    assert "Ingrid Vell" in page.locator("[data-own=true]").inner_text()
    readable(page)
    assert "body.neck" in carried.marked(page)
    page.get_by_label("Who decided").fill("Sander Brook")
    page.get_by_label("What was decided").fill("Wiped, go on")
    carried.press(page, "[data-press=resumed]")

    # Another observer: step and items are spoken, badge and PIN are checked here.
    page.locator("summary").click()
    click(page, "[data-view=hand-over]")
    readable(page)
    page.get_by_text("Worn now").wait_for()
    page.get_by_label("Badge").fill("HP-ilse")
    page.get_by_label("PIN", exact=True).fill("111222")
    page.locator("[data-press=observer-handed-over]").click()
    page.get_by_text("fit nobody who may lead").wait_for()
    page.get_by_label("PIN", exact=True).fill(carried.PIN)
    carried.press(page, "[data-press=observer-handed-over]")

    until(page, lambda: at("walked"))
    assert len(stops) == 4
    page.context.set_offline(False)
    carried.all_sent(page)
    state = record_of(hospital, entry)["state"]
    assert state["observer"] == "ilse"
    assert [(one["item"], one["wiped"], one["label"]) for one in state["crossings"]] == [("specimen", True, "17")]
    assert [one["what"] for one in state["noted"] if one["kind"] == "unwell"] == ["lost-air"]
    short = [one for one in state["noted"] if one["kind"] == "hygiene-timed" and one["note"] == "short"]
    assert len(short) == 1
    assert 2 <= int(short[0]["what"]) < 60
    assert [one["touched"] for one in state["deviations"]] == ["body.neck"]
    assert [flag["what"] for flag in state["flags"]] == ["resumed after a deviation on the word of Sander Brook"]


def test_a_bounce_is_said_and_a_jump_of_the_clock_moves_no_time(tablet: Any):
    page, _ = tablet
    carried.primary(page)
    page.evaluate("() => { const b = () => document.querySelector('button[data-primary]').click(); b(); b(); }")
    page.get_by_text("Too soon after the last press: not taken.").wait_for()
    carried.primary(page)
    assert page.locator("#bounce p").count() == 0

    page.evaluate("() => { const real = Date.now; Date.now = () => real() + 3_600_000; }")
    page.get_by_text("clock jumped 60 min forward").wait_for(timeout=5_000)
    shown = page.locator(".strip [data-clock=total]").inner_text()
    assert shown.startswith(("0:", "1:"))
    assert shown.count(":") == 1


def test_the_chosen_room_stays_on_the_device(tablet: Any):
    page, _ = tablet
    page.emulate_media(color_scheme="dark")
    dark = page.evaluate("() => getComputedStyle(document.body).backgroundColor")
    page.locator("summary").click()
    page.locator("[data-room-key]").click()
    light = page.evaluate("() => getComputedStyle(document.documentElement).backgroundColor")
    assert dark != light
    page.reload()
    page.locator("#screen[data-kind]").wait_for()
    assert page.evaluate("() => document.documentElement.dataset.room") == "light"

"""The wearer's screen by its link, the board on its wall, the lane and the own ways out: real server, real tablet."""

from __future__ import annotations

import statistics
from collections.abc import Callable
from typing import Any

import pytest
from tests.browser import carried
from tests.browser.tablet import by_axe, start

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(300)]
WATCHED = """() => { window.seen = [];
  new MutationObserver(() => window.seen.push([document.body.dataset.kind, Date.now()]))
  .observe(document.getElementById('view'), { childList: true }); }"""
PRESSED = "() => { document.addEventListener('click', () => { window.pressed = Date.now(); }, true); }"


@pytest.fixture
def led(signed_in: Any, hospital: Any) -> Callable[[], tuple[Any, str]]:
    """A tablet that leads an open entry: (page, entry)."""

    def make() -> tuple[Any, str]:
        observer = signed_in("ilse")
        carried.set_badge(observer, "HP-ilse", hospital.password)
        observer.goto("/procedures/")
        start(observer)
        entry = observer.url.split("/")[-2]
        context = signed_in.browser.new_context(base_url=hospital.address, viewport={"width": 1280, "height": 800})
        signed_in.contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: signed_in.complaints.append(str(error)))
        carried.enrol(page, carried.new_code(signed_in("ingrid")))
        carried.identify(page, "HP-ilse")
        carried.take(page, entry)
        carried.past_the_checks(page)
        return page, entry

    return make


def screen_of(tablet: Any, browser: Any, hospital: Any, **options: Any) -> Any:
    """The wearer's screen, opened by the address that the tablet shows; nobody is signed in there."""
    tablet.locator("summary").click()
    tablet.locator("[data-wearer-link]").click()
    tablet.locator(".wearer-link .code").wait_for()
    address = tablet.locator(".wearer-link .address").inner_text()
    tablet.locator("summary").click()
    page = browser.new_context(**({"viewport": {"width": 1920, "height": 1080}} | options)).new_page()
    page.goto(address)
    page.locator("body[data-kind=wait]").wait_for()
    return page


def test_the_wearers_screen_follows_within_a_second_and_never_shows_what_may_be_old(
    led: Callable[[], tuple[Any, str]], chromium: Any, hospital: Any, record_property: Any
):
    tablet, _ = led()
    page = screen_of(tablet, chromium, hospital)
    assert by_axe(page) == []
    page.evaluate(WATCHED)
    tablet.evaluate(PRESSED)
    first = tablet.locator("h1").inner_text()
    took = []
    for _ in range(6):
        assert page.locator("h1").inner_text() != tablet.locator("h1").inner_text()
        carried.primary(tablet)  # read
        page.locator("body[data-kind=step]").wait_for()
        took.append(page.evaluate("window.seen.at(-1)[1]") - tablet.evaluate("window.pressed"))
        assert page.locator("h1").inner_text().split() == tablet.locator("h1").inner_text().split()
        carried.primary(tablet)  # done and seen: blank until the next one is read
        page.locator("body[data-kind=wait]").wait_for()
    record_property("milliseconds from press to wearer's screen", took)
    print("from press to wearer's screen, ms:", sorted(took))
    assert statistics.median(took) < 1000
    assert first not in page.content()

    carried.press(tablet, "[data-stop]")
    page.locator("body[data-kind=held]").get_by_text("Away from the face.").wait_for()
    carried.press(tablet, "[data-press=pressed-wrongly]")
    carried.primary(tablet)
    page.locator("body[data-kind=step]").wait_for()
    tablet.context.set_offline(True)  # the server cannot know any more what is current
    page.locator("body[data-kind=tablet-lost]").wait_for(timeout=8_000)
    assert page.get_by_text("The tablet is not connected.").is_visible()
    tablet.context.set_offline(False)
    page.locator("body[data-kind=step]").wait_for(timeout=8_000)
    page.context.set_offline(True)
    page.locator("body[data-kind=lost]").wait_for(timeout=8_000)
    assert page.get_by_text("Listen to the observer.").is_visible()
    assert by_axe(page) == []
    page.context.set_offline(False)
    page.locator("body[data-kind=step]").wait_for(timeout=8_000)
    page.context.close()


@pytest.mark.parametrize("size", [(1920, 1080), (390, 844)], ids=["wall", "phone"])
def test_the_wearers_screen_fits_a_wall_and_a_phone(
    led: Callable[[], tuple[Any, str]], chromium: Any, hospital: Any, size: tuple[int, int]
):
    tablet, _ = led()
    page = screen_of(tablet, chromium, hospital, viewport={"width": size[0], "height": size[1]})
    carried.primary(tablet)
    page.locator("body[data-kind=step]").wait_for()

    assert by_axe(page) == []
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    # A capital letter is then some 15 mm high on a screen half a metre wide: about what is read at three metres.
    assert float(page.locator("h1").evaluate("(one) => parseFloat(getComputedStyle(one).fontSize)")) >= size[0] / 25
    page.context.close()


def test_the_board_follows_says_how_old_it_is_and_keeps_its_clock(
    led: Callable[[], tuple[Any, str]], signed_in: Any, hospital: Any
):
    wall = signed_in("sander", viewport={"width": 1920, "height": 1080})
    wall.goto("/board/", wait_until="commit")
    tablet, _ = led()
    row = wall.locator("[data-drill=yes] .row.donning").last
    row.wait_for(timeout=15_000)
    assert wall.locator(".band").get_by_text("Drill").is_visible()
    assert by_axe(wall) == []
    assert wall.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    while tablet.locator("#strip").get_by_text("inside").count() == 0:
        carried.primary(tablet)
    carried.all_sent(tablet)
    wall.locator("[data-drill=yes] .row.dressed, [data-drill=yes] .row.inside").last.wait_for(timeout=15_000)

    wall.context.set_offline(True)
    wall.locator("#late").wait_for(timeout=30_000)
    assert "No connection. What stands here is from" in wall.locator("#late").inner_text()
    assert by_axe(wall) == []
    wall.context.set_offline(False)
    wall.locator("#late").wait_for(state="hidden", timeout=20_000)
    signed_in.complaints[:] = [one for one in signed_in.complaints if "ERR_INTERNET_DISCONNECTED" not in one]


def test_assistant_and_observer_go_out_and_the_lane_is_cleared_on_the_tablet(led: Callable[[], tuple[Any, str]]):
    tablet, _ = led()
    while carried.kind(tablet) != "walked":
        carried.primary(tablet)
    assert tablet.locator("[data-press=closed]").count() == 0
    assert by_axe(tablet) == []
    carried.primary(tablet)
    assert "Petra's own way out" in tablet.locator("#strip").inner_text()
    carried.press(tablet, "[data-stop]")
    assert "Wait until Petra is still" in tablet.content()
    carried.press(tablet, "[data-press=pressed-wrongly]")
    while carried.kind(tablet) != "walked":
        carried.primary(tablet)
    carried.press(tablet, "[data-press=undressing-left-out]")
    for task in ("seat", "floor", "bins"):
        carried.press(tablet, f"[data-task={task}]")
    carried.press(tablet, "[data-task=floor]")
    assert tablet.locator("[data-task=floor]").get_attribute("aria-pressed") == "false"
    carried.primary(tablet)
    assert carried.kind(tablet) == "over"
    for task in ("floor", "restock"):
        assert tablet.locator("[data-lane]").get_attribute("data-lane") == "to-clear"
        carried.press(tablet, f"[data-task={task}]")
    assert tablet.locator("[data-lane]").get_attribute("data-lane") == "clear"
    assert by_axe(tablet) == []

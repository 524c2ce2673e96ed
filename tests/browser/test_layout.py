"""Every page, on the tablet both ways round and with text at 200 %: nothing cut off, nothing that axe finds."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.browser.tablet import by_axe, press, primary, start

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(300)]

SIZES = {"across": {"width": 1280, "height": 800}, "upright": {"width": 800, "height": 1280}}
TALLEST_PRESS = 64


def sideways(page: Any) -> int:
    """How many pixels of the page lie beyond its right edge."""
    return int(page.evaluate("document.documentElement.scrollWidth - innerWidth"))


def faults(page: Any, where: str) -> list[str]:
    """What is wrong with this page, at both sizes."""
    found = [f"{where}: {one}" for one in by_axe(page)]
    for name, size in SIZES.items():
        page.set_viewport_size(size)
        if sideways(page) > 0:
            found.append(f"{where}, {name}: {sideways(page)} px cut off")
    page.set_viewport_size(SIZES["across"])
    if page.locator("html").get_attribute("lang") != "en":
        found.append(f"{where}: says no language")
    return found


def small_presses(page: Any) -> list[str]:
    """What can be pressed on a tablet page and is smaller than a gloved finger needs."""
    boxes = [(one.inner_text(), one.bounding_box()) for one in page.locator("button, a.key").all() if one.is_visible()]
    return [text for text, box in boxes if box["height"] < TALLEST_PRESS or box["width"] < TALLEST_PRESS]


def test_the_pages_of_the_desk(signed_in: Callable[..., Any]):
    page = signed_in("ingrid")
    found = faults(page, "home")
    pages = ("/cases/new/", "/procedures/", "/records/", "/people/", "/stock/", "/ready/", "/rooms/", "/tablets/")
    for address in pages:
        page.goto(address)
        found += faults(page, address)
    page.goto("/")
    page.get_by_role("link", name="Read it").first.click()
    found += faults(page, "a procedure")
    page.goto("/")
    page.get_by_role("link", name="Open").first.click()
    page.locator(".plan-grid").wait_for()
    found += faults(page, "a plan")

    assert found == []


def test_the_pages_of_the_tablet(signed_in: Callable[..., Any]):
    page = signed_in("ilse")
    start(page)
    found, small = faults(page, "step, not read"), small_presses(page)
    primary(page)
    found, small = found + faults(page, "step, read"), small + small_presses(page)
    press(page, "[data-stop]")
    found, small = found + faults(page, "held"), small + small_presses(page)
    press(page, "button:has-text('Not sure')")
    found, small = found + faults(page, "hold card"), small + small_presses(page)
    page.goto(f"{page.url}wearer/")
    found += faults(page, "wearer's screen")

    assert (found, small) == ([], [])


@pytest.fixture(params=["zoomed to 200 %", "text at 200 %"])
def enlarged(request: pytest.FixtureRequest, signed_in: Callable[..., Any], enlarging: Callable[..., Any]) -> Any:
    """The observer's page, for someone who reads at twice the size: either by zooming or by larger text alone."""
    if request.param == "zoomed to 200 %":
        return signed_in("tomas", viewport={"width": 640, "height": 400}, device_scale_factor=2)
    return enlarging("tomas")


def test_twice_as_large_everything_can_still_be_read_and_pressed(enlarged: Any):
    page = enlarged
    cut = {"home": sideways(page)}
    start(page)
    cut["step, not read"] = sideways(page)
    primary(page)
    cut["step, read"] = sideways(page)
    for press_ in page.locator(".keys button").all():
        press_.scroll_into_view_if_needed()
        assert press_.is_visible()
    assert not covered(page, ".act")
    press(page, "[data-stop]")
    cut["held"] = sideways(page)
    page.goto("/records/")
    cut["records"] = sideways(page)

    assert {where: pixels for where, pixels in cut.items() if pixels > 0} == {}


def covered(page: Any, selector: str) -> bool:
    """Whether something lies over the middle of this."""
    return bool(page.evaluate(COVERED, selector))


COVERED = """(selector) => {
  const one = document.querySelector(selector);
  one.scrollIntoView({ block: "start" });
  const box = one.getBoundingClientRect();
  const top = document.elementFromPoint(box.left + 40, Math.max(box.top, 0) + 20);
  return !(top === one || one.contains(top));
}"""


def test_stop_is_always_in_the_same_place_and_the_step_is_read_against_seven_to_one(signed_in: Callable[..., Any]):
    page = signed_in("tomas")
    start(page)
    edge = page.locator(".stop-edge").bounding_box()
    contrast = page.evaluate(CONTRAST)
    for _ in range(6):
        primary(page)
        assert page.locator(".stop-edge").bounding_box() == edge
    press(page, "[data-stop]")

    assert page.locator(".stop-edge").bounding_box() == edge
    assert contrast >= 7


CONTRAST = """() => {
  const light = (colour) => {
    const [r, g, b] = colour.match(/[0-9.]+/g).map((one) => one / 255)
      .map((one) => (one <= 0.03928 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const text = light(getComputedStyle(document.querySelector(".act")).color);
  const ground = light(getComputedStyle(document.documentElement).backgroundColor);
  return (Math.max(text, ground) + 0.05) / (Math.min(text, ground) + 0.05);
}"""

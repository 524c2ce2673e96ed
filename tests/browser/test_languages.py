"""From right to left, and longer by two fifths: nothing cut off, and STOP and the figure keep their sides."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.browser.tablet import start

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(300)]

SIZES = ({"width": 1280, "height": 800}, {"width": 800, "height": 1280})
DESK = ("/", "/procedures/", "/cases/new/", "/stock/", "/rooms/", "/people/", "/tablets/")


def speak(page: Any, tag: str) -> None:
    page.locator(f'button[name="language"][value="{tag}"]').click()
    page.wait_for_load_state()
    assert page.locator("html").get_attribute("lang") == tag


def cut_off(page: Any) -> list[int]:
    """By how much the page is wider than its window, at both sizes; right to left it grows to the left."""
    found = []
    for size in SIZES:
        page.set_viewport_size(size)
        found.append(page.evaluate("document.documentElement.scrollWidth - innerWidth"))
    return [one for one in found if one > 0]


def test_the_desk_holds_from_right_to_left(signed_in: Callable[..., Any]) -> None:
    page = signed_in("ingrid")
    speak(page, "und")
    try:
        assert page.locator("html").get_attribute("dir") == "rtl"
        wrong = {}
        for address in DESK:
            page.goto(address)
            if found := cut_off(page):
                wrong[address] = found
        assert wrong == {}
    finally:
        page.goto("/")
        speak(page, "en")


def test_stop_and_the_figure_keep_their_sides(signed_in: Callable[..., Any]) -> None:
    page = signed_in("tomas")
    start(page)
    there = page.url
    before = {one: page.locator(one).bounding_box()["x"] for one in (".stop-edge",)}
    page.goto("/")
    speak(page, "und")
    try:
        page.goto(there)
        page.set_viewport_size(SIZES[0])
        assert page.locator("html").get_attribute("dir") == "rtl"
        assert page.locator(".stop-edge").bounding_box()["x"] == before[".stop-edge"] == 0
        drawn = page.locator(".whole svg").first
        style = "one => [getComputedStyle(one).direction, getComputedStyle(one).transform]"
        assert drawn.evaluate(style) == ["ltr", "none"]
        assert cut_off(page) == []
    finally:
        page.goto("/")
        speak(page, "en")

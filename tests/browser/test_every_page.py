"""Every page that a link leads to, as each person would find it: nothing that axe finds, nothing cut off, be it
across, upright or zoomed to 200 %, no link that is refused, and no page that nobody can reach."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Error as PlaywrightError
from tests.browser.tablet import by_axe, start

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(900)]

WHO = ("ingrid", "sander", "oona", "anselm", "ada", "noor")
SIZES = {"across": {"width": 1280, "height": 800}, "upright": {"width": 800, "height": 1280},
         "zoomed to 200 %": {"width": 640, "height": 400}}  # fmt: skip
NO_PAGES = (".pdf", ".json", ".csv", ".xlsx", ".ics", ".js", ".svg")
LEFT_OUT = {"sign-out/"}
SIDEWAYS = "document.documentElement.scrollWidth - innerWidth"
LINKS = "[...document.querySelectorAll('a[href]')].map((one) => one.getAttribute('href'))"


def routes() -> dict[str, str]:
    """The route of each page that answers with HTML to GET, and the action that opens it."""
    from vestry.hospital.access.checks import patterns
    from vestry.hospital.access.door import doors_of

    return {route: (doors_of(one.callback) or {}).get("GET", "") for route, one in patterns()}


def route_of(address: str) -> str | None:
    from django.urls import Resolver404, resolve

    try:
        return resolve(urlsplit(address).path).route
    except Resolver404:
        return None


def faults(page: Any, where: str) -> list[str]:
    found = [f"{where}: {one}" for one in by_axe(page)]
    for name, size in SIZES.items():
        page.set_viewport_size(size)
        if (over := page.evaluate(SIDEWAYS)) > 0:
            found.append(f"{where}, {name}: {over} px cut off")
    page.set_viewport_size(SIZES["across"])
    return found


def open_page(page: Any, address: str) -> Any:
    """Go there, and wait while its answer is worked out: until then it loads itself anew."""
    answer = None
    for _ in range(120):
        try:
            answer = page.goto(address, wait_until="domcontentloaded")
            if not page.locator("head > meta[http-equiv=refresh]").count():
                return answer
        except PlaywrightError as problem:  # it loaded itself anew just now
            if "ERR_ABORTED" not in str(problem) and "navigation" not in str(problem):
                raise
        page.wait_for_timeout(500)
    raise AssertionError(f"{address} is still at work")


def crawl(page: Any, looked_at: dict[str, str], begin: tuple[str, ...] = ("/",)) -> list[str]:
    """Follow every link that this person is shown, one address of each route; look at what nobody before was shown."""
    found: list[str] = []
    followed: set[str] = set()
    waiting = list(begin)
    while waiting:
        address = waiting.pop(0)
        route = route_of(address)
        if route is None or route in followed or route in LEFT_OUT or route.endswith(NO_PAGES):
            continue
        answer = open_page(page, address)
        followed.add(route)
        if answer.status != 200:
            found.append(f"{address} of a link is answered with {answer.status}")
            continue
        links = page.evaluate(LINKS)
        waiting += [one for one in links if one.startswith("/")]
        waiting += [urlsplit(page.url).path + one for one in links if one.startswith("?")]
        if route not in looked_at:
            looked_at[route] = address
            found += faults(page, address)
    return found


# What the invented hospital has none of, or what only a device or somebody without a sign-in opens.
NOT_BY_LINKS = {
    "coverage/import/<uuid:key>/",
    "entries/<uuid:key>/gear/",
    "keeping/purges/<int:number>/",
    "people/import/<uuid:key>/",
    "procedures/<uuid:key>/compared/",
    "records/<uuid:key>/replay/",
    "stock/import/<uuid:key>/",
    "stock/lots/<uuid:key>/",
    "sign-in/",
    "sign-in/first/",
    "sign-in/hospital/",
    "sign-in/hospital/back/",
    "sign-in/second/",
    "board/now/",
    "entries/<uuid:key>/wearer/now/",
    "tablet/",
    "tablet/entries/",
    "tablet/entries/<uuid:key>/bundle/",
    "tablet/entries/<uuid:key>/events/",
    "tablet/entries/<uuid:key>/wearer-link/",
    "wall/",
    "wall/<str:secret>/",
    "wall/<str:secret>/now/",
    "wearer/<str:secret>/",
    "wearer/<str:secret>/now/",
}


def test_every_page(signed_in: Callable[..., Any]):
    looked_at: dict[str, str] = {}
    page = signed_in("ilse")
    start(page)
    found = crawl(page, looked_at, ("/", urlsplit(page.url).path))
    for who in WHO:
        found += [f"{who}: {one}" for one in crawl(signed_in(who), looked_at)]
    pages = {route for route, action in routes().items() if action and not route.endswith(NO_PAGES)}

    assert found == []
    assert pages - set(looked_at) - NOT_BY_LINKS == set()

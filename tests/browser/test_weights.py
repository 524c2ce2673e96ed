"""What the tablet loads stays small: its page, by the network once and then from its own keeping, and a bundle."""

from __future__ import annotations

from typing import Any

import pytest
from bench.tablet import load_page
from tests.browser import carried
from tests.browser.tablet import start

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(300)]
PAGE, FILES = 230_000, 60
"""Bytes over the wire and files of the tablet's page: 209 kB in 52 files when this was written, packed."""
BUNDLE, BUNDLE_UNPACKED = 110_000, 900_000
"""Of the largest procedure of the invented hospital: 90 kB and 776 kB then."""


def test_the_page_and_a_bundle_stay_small(signed_in: Any, hospital: Any):
    observer = signed_in("tomas")
    carried.set_badge(observer, "HP-tomas", hospital.password)
    observer.goto("/procedures/")
    start(observer)
    entry = observer.url.split("/")[-2]
    context = signed_in.browser.new_context(base_url=hospital.address, viewport={"width": 1280, "height": 800})
    signed_in.contexts.append(context)
    page = context.new_page()
    first = load_page(page)
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_timeout(1_500)
    second = load_page(page)

    assert 0 < first.wire <= PAGE
    assert 0 < first.from_network <= FILES
    assert second.from_network == second.wire == 0
    assert second.from_worker > 0

    carried.enrol(page, carried.new_code(signed_in("ingrid"), "Anteroom 9"))
    carried.identify(page, "HP-tomas")
    with page.expect_response(lambda answer: "/bundle/" in answer.url, timeout=60_000) as told:
        carried.take(page, entry)
    assert 0 < told.value.request.sizes()["responseBodySize"] <= BUNDLE
    assert len(told.value.body()) <= BUNDLE_UNPACKED

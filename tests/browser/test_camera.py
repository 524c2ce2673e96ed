"""A GS1 symbol before the browser's camera: read by the decoder that is shipped, on the one page that may run it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy
import pytest
import zxingcpp
from tests.browser.conftest import CHROMIUM, QUIET, Hospital, Visitors

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(200)]
PRINTED = "(01)51022222233336(17)310131(10)Z901(21)77"
WIDTH, HEIGHT = 640, 480


def film(place: Path, printed: str) -> Path:
    """Two frames of a printed symbol on grey, as a camera would show it (YUV4MPEG2, luma with level chroma)."""
    symbol = zxingcpp.create_barcode(printed, zxingcpp.BarcodeFormat.DataMatrix, gs1=True)
    picture = numpy.array(symbol.to_image(scale=8))
    frame = numpy.full((HEIGHT, WIDTH), 200, numpy.uint8)
    top, left = (HEIGHT - picture.shape[0]) // 2, (WIDTH - picture.shape[1]) // 2
    frame[top : top + picture.shape[0], left : left + picture.shape[1]] = picture
    chroma = numpy.full(WIDTH * HEIGHT // 2, 128, numpy.uint8)
    head = f"YUV4MPEG2 W{WIDTH} H{HEIGHT} F10:1 Ip A1:1 C420jpeg\n".encode()
    place.write_bytes(head + 2 * (b"FRAME\n" + frame.tobytes() + chroma.tobytes()))
    return place


@pytest.fixture
def with_camera(hospital: Hospital, tmp_path: Path) -> Iterator[Visitors]:
    """A browser whose camera sees the symbol."""
    from playwright.sync_api import sync_playwright

    seen = film(tmp_path / "seen.y4m", PRINTED)
    fake = ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream"]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM, args=[*QUIET, *fake, f"--use-file-for-fake-video-capture={seen}"]
        )
        visitors = Visitors(hospital, browser)
        yield visitors
        visitors.leave()
        browser.close()


def test_a_symbol_before_the_camera_fills_the_form(with_camera: Visitors):
    page: Any = with_camera("sander")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto("/stock/camera/")
    page.get_by_role("button", name="Start the camera").click()

    page.get_by_text("Item 51022222233336, lot Z901, expiry 31 January 2031, serial 77").wait_for(timeout=60_000)

    assert any(one.endswith("zxing_reader.wasm") for one in asked)
    assert all(one.startswith(with_camera.hospital.address) for one in asked)


def test_no_other_page_may_run_a_decoder(with_camera: Visitors):
    page: Any = with_camera("sander")
    policies = {
        address: page.goto(address).headers["content-security-policy"]
        for address in ("/stock/camera/", "/stock/receive/")
    }

    assert "'wasm-unsafe-eval'" in policies["/stock/camera/"]
    assert "'wasm-unsafe-eval'" not in policies["/stock/receive/"]

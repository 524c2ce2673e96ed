"""A passkey made and used in Chromium, with its own virtual device, against the real server."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from tests.browser.conftest import Hospital

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture
def page(hospital: Hospital, chromium: Any) -> Iterator[Any]:
    context = chromium.new_context(base_url=hospital.address.replace("127.0.0.1", "localhost"))
    page = context.new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    yield page
    context.close()
    assert complaints == []


def begin(page: Any, password: str) -> None:
    page.goto("/sign-in/")
    page.get_by_label("Sign-in name").fill("petra")
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()


def test_it_is_made_at_the_desk_asked_for_after_the_password_and_refused_without_the_device(
    page: Any, hospital: Hospital
):
    device = page.context.new_cdp_session(page)
    device.send("WebAuthn.enable")
    chosen = {
        "protocol": "ctap2", "transport": "usb", "hasResidentKey": True, "hasUserVerification": True,
        "isUserVerified": True, "automaticPresenceSimulation": True,
    }  # fmt: skip
    key = device.send("WebAuthn.addVirtualAuthenticator", {"options": chosen})["authenticatorId"]
    begin(page, hospital.password)
    page.get_by_role("button", name="Petra Quill").wait_for()
    page.goto("/second-factor/passkeys/")
    page.get_by_label("Name").fill("blue key")
    page.locator("form[data-passkey]").get_by_label("Your password, once more").fill(hospital.password)
    page.get_by_role("button", name="Make a passkey").click()
    page.get_by_text("The passkey is yours.").wait_for()
    assert len(device.send("WebAuthn.getCredentials", {"authenticatorId": key})["credentials"]) == 1

    page.context.clear_cookies()
    begin(page, hospital.password)
    page.wait_for_url("**/sign-in/second/")
    page.get_by_role("button", name="Use a passkey").click()
    page.get_by_role("button", name="Petra Quill").wait_for()

    device.send("WebAuthn.removeVirtualAuthenticator", {"authenticatorId": key})
    device.send("WebAuthn.addVirtualAuthenticator", {"options": chosen})
    page.context.clear_cookies()
    begin(page, hospital.password)
    page.get_by_role("button", name="Use a passkey").click()
    page.get_by_text("No passkey was used").wait_for()
    page.goto("/records/")
    assert "/sign-in/?next=" in page.url

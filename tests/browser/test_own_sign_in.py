"""The hospital's own sign-in in Chromium, with the real server and an issuer on loopback: linked, in, out."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.browser.conftest import Hospital, _free_port, _wait_for
from tests.browser.tablet import by_axe
from tests.hospital.issuer import Issuer

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture
def own(hospital: Hospital, tmp_path: Path) -> Iterator[tuple[str, Issuer]]:
    """A copy of the invented hospital, served with an own sign-in; its address and its issuer."""
    shutil.copy(hospital.data / "secret-key", tmp_path / "secret-key")
    with sqlite3.connect(hospital.data / "db.sqlite3") as whole, sqlite3.connect(tmp_path / "db.sqlite3") as copy:
        whole.backup(copy)
    (tmp_path / "secret").write_text("of this test\n")
    port = _free_port()
    address = f"http://127.0.0.1:{port}"
    with Issuer(secret="of this test", back=f"{address}/sign-in/hospital/back/", shows_a_page=True) as issuer:
        environment = {name: value for name, value in os.environ.items() if not name.startswith("DJANGO")} | {
            "VESTRY_OIDC_ISSUER": issuer.address,
            "VESTRY_OIDC_CLIENT": issuer.client,
            "VESTRY_OIDC_SECRET_FILE": str(tmp_path / "secret"),
        }
        serve = [sys.executable, "-m", "vestry.cli", "serve", "--data", str(tmp_path), "--port", str(port)]
        with (tmp_path / "server.log").open("w") as log:
            server = subprocess.Popen(serve, env=environment, stdout=log, stderr=log)
            try:
                _wait_for(address, server)
                yield address, issuer
            finally:
                server.terminate()
                server.wait(30)
    assert "Traceback" not in (tmp_path / "server.log").read_text("utf-8")


def test_an_account_that_is_linked_comes_to_the_desk_and_goes_out_again_here_and_there(
    own: tuple[str, Issuer], hospital: Hospital, chromium: Any
):
    address, issuer = own
    context = chromium.new_context(base_url=address, viewport={"width": 1280, "height": 800})
    page = context.new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("console", lambda one: complaints.append(one.text) if one.type == "error" else None)
    key = page.get_by_role("link", name="Sign in with the hospital's own account")

    # Not linked yet: told what to read to the administrator, who then links it.
    page.goto("/sign-in/?next=/records/")
    assert by_axe(page) == []
    key.click()
    page.get_by_role("link", name=f"I am {issuer.subject}").click()
    page.get_by_text("Ask the administrator to link it").wait_for()
    told = page.locator(".summary-errors code").inner_text()
    assert by_axe(page) == []
    complaints.clear()  # the browser's own line on the refusal
    page.get_by_label("Sign-in name").fill("ada")
    page.get_by_label("Password").fill(hospital.password)
    page.get_by_role("button", name="Sign in").click()
    page.goto("/people/roles/")
    page.get_by_role("link", name="Petra Quill").click()
    page.get_by_label("What the hospital's own sign-in knows them by").fill(told)
    page.locator("form:has([value=link])").get_by_label("Reason").fill("showed her badge")
    page.get_by_role("button", name="Link it").click()
    page.get_by_text("Stored.").wait_for()
    assert by_axe(page) == []

    context.clear_cookies()
    page.goto("/sign-in/?next=/records/")
    key.click()
    page.get_by_role("link", name=f"I am {issuer.subject}").click()
    page.wait_for_url(f"{address}/records/")
    page.get_by_role("button", name="Petra Quill").click()
    page.get_by_role("button", name="Sign out").click()
    assert by_axe(page) == []
    page.get_by_role("link", name="Sign out there too").click()
    page.get_by_role("heading", name="Signed out there").wait_for()
    page.get_by_role("link", name="Back").click()
    page.wait_for_url(f"{address}/sign-in/")
    page.goto("/records/")
    assert "/sign-in/?next=" in page.url
    assert complaints == []
    context.close()

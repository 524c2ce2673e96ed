"""The real server under several writers at once: nothing is lost, nothing doubled, and the chain holds."""

from __future__ import annotations

import http.cookiejar
import json
import re
import sqlite3
import urllib.parse
import urllib.request
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from vestry.hospital.ids import uuid7

pytestmark = [pytest.mark.slow, pytest.mark.timeout(240)]
DEVICES = 6
UPLOADS = 12


class Desk:
    """A visitor with cookies."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.jar = http.cookiejar.CookieJar()
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(self.jar))

    def get(self, path: str) -> tuple[str, str]:
        with self.opener.open(self.address + path, timeout=60) as answer:
            return answer.url, answer.read().decode()

    def post(self, path: str, said: dict[str, str], page: str) -> tuple[str, str]:
        _, text = self.get(page)
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]*)"', text)[1]
        body = urllib.parse.urlencode(said | {"csrfmiddlewaretoken": token}).encode()
        with self.opener.open(self.address + path, body, timeout=60) as answer:
            return answer.url, answer.read().decode()

    def upload(self, path: str, events: list[dict[str, Any]], token: str) -> dict[str, Any]:
        request = urllib.request.Request(
            self.address + path,
            json.dumps({"events": events}).encode(),
            {"Content-Type": "application/json", "X-CSRFToken": token},
        )
        with self.opener.open(request, timeout=60) as answer:
            return dict(json.load(answer))


def test_many_devices_at_once_lose_nothing_and_double_nothing(hospital: Any):
    desk = Desk(hospital.address)
    desk.post("/sign-in/", {"sign_in": "tomas", "password": hospital.password}, "/sign-in/")
    _, home = desk.get("/")
    begin = re.search(r'href="(/procedures/[^"]*/start/)"', home)[1]
    people = {"wearer": "noor", "observer": "tomas", "assistant": "petra", "drill": "on"}
    entry, page = desk.post(begin, people, begin)
    token = re.search(r'name="csrfmiddlewaretoken" value="([^"]*)"', page)[1]
    path = entry.removeprefix(hospital.address) + "events/"

    def device(number: int) -> list[str]:
        """Uploads of one device, each sent twice, as a device does that missed the answer."""
        sent = []
        for counter in range(UPLOADS):
            event = {
                "id": str(uuid7()), "kind": "prompted", "payload": {"step": "before.confirm:area-confirmed"},
                "device": f"0d5c1a52-5d43-4f0a-9b1a-{number:012x}", "clock": "2026-11-25T02:14:09Z", "counter": counter,
            }  # fmt: skip
            assert desk.upload(path, [event], token) == {"taken": [event["id"]], "known": []}
            assert desk.upload(path, [event], token) == {"taken": [], "known": [event["id"]]}
            sent.append(event["id"])
        return sent

    with ThreadPoolExecutor(DEVICES) as devices:
        sent = [one for own in devices.map(device, range(DEVICES)) for one in own]

    with sqlite3.connect(f"file:{hospital.data / 'db.sqlite3'}?mode=ro", uri=True) as database:
        rows = database.execute(
            "SELECT client_id, sequence, previous, hash FROM record_event ORDER BY sequence"
        ).fetchall()
    stored = {row[0] for row in rows}
    assert {one.replace("-", "") for one in sent} <= stored
    assert len(stored) == len(rows)
    assert [row[1] for row in rows] == list(range(1, len(rows) + 1))
    assert [row[2] for row in rows[1:]] == [row[3] for row in rows[:-1]]


def test_the_secret_key_and_the_demo_password_are_for_their_owner_only(hospital: Any):
    for name in ("secret-key", "demo-password"):
        assert (hospital.data / name).stat().st_mode & 0o777 == 0o600

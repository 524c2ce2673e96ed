"""A breach or exposure: the unit's own text at once, the event bare, site and sort for occupational health alone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from vestry.hospital.ids import uuid7
from vestry.hospital.record.first_aid import KINDS, SITES, for_bundle
from vestry.hospital.record.models import Event, ExposureTaken, FirstAidVersion, RecordRead

pytestmark = pytest.mark.django_db


def write(by: Any, kind: str, text: str) -> None:
    FirstAidVersion.objects.create(kind=kind, text=text, reason="for tests", by=by, at=timezone.now())


def test_the_newest_version_of_a_text_is_in_force_and_the_older_stays(
    staff: dict[str, Any], signed_in: Callable[[str], Client]
):
    client = signed_in("ingrid")
    for text in ("First.", "Second."):
        told = {"kind": "sharps", "text": text, "reason": "agreed"}
        assert client.post("/first-aid/", told).status_code == 302
    assert client.post("/first-aid/", {"kind": "sharps", "text": "", "reason": ""}).status_code == 422
    assert [(one.kind, one.text, one.by) for one in for_bundle()] == [("sharps", "Second.", "Ingrid Vell")]
    page = client.get("/first-aid/").content.decode()
    assert "First." in page
    assert "Not written yet" in page
    assert signed_in("noor").post("/first-aid/", {"kind": "sharps"}).status_code == 403


def test_two_presses_lead_to_the_text_and_without_one_it_is_said(
    entry: Any, staff: dict[str, Any], signed_in: Callable[[str], Client]
):
    write(staff["ingrid"], "splash", "Eyewash, at once.")
    client = signed_in("tomas")
    assert f"/entries/{entry.pk}/breach/" in client.get(f"/entries/{entry.pk}/").content.decode()
    first = client.get(f"/entries/{entry.pk}/breach/").content.decode()
    assert all(f"?kind={kind}" in first for kind in KINDS)
    assert "Eyewash, at once." in client.get(f"/entries/{entry.pk}/breach/?kind=splash").content.decode()
    told = client.get(f"/entries/{entry.pk}/breach/?kind=sharps").content.decode()
    assert "The unit has written no text for this. Call at once." in told


def breach(client: Client, entry: Any, **more: str) -> Any:
    told = {"kind": "splash", "ids": f"{uuid7()},{uuid7()}", "site": "eyes", "who": "assistant", "reached": "yes"}
    return client.post(f"/entries/{entry.pk}/breach/", told | more)


def test_it_is_recorded_bare_and_once(entry: Any, signed_in: Callable[[str], Client]):
    client, ids = signed_in("tomas"), f"{uuid7()},{uuid7()}"
    for _ in range(2):
        assert breach(client, entry, ids=ids).status_code == 302
    assert breach(client, entry, reached="no", who="wearer").status_code == 302

    assert [(row.kind, row.payload) for row in Event.objects.exclude(kind="opened")] == [
        ("breach", {"site": "eyes", "sort": "splash", "who": "assistant"}),
        ("exposure", {"site": "eyes", "sort": "splash", "who": "assistant"}),
        ("breach", {"site": "eyes", "sort": "splash", "who": "wearer"}),
    ]


@pytest.mark.parametrize(
    "more", [{"site": ""}, {"site": "hands"}, {"kind": "other"}, {"ids": "x"}, {"reached": ""}, {"who": "patient"}]
)
def test_what_cannot_be_read_stores_nothing(entry: Any, signed_in: Callable[[str], Client], more: dict[str, str]):
    assert breach(signed_in("tomas"), entry, **more).status_code in (200, 422)
    assert Event.objects.count() == 1


def test_every_kind_has_sites():
    assert set(SITES) == set(KINDS)


def test_occupational_health_sees_whom_and_where_others_the_status(exposed: Any, signed_in: Callable[[str], Client]):
    health = signed_in("oona").get("/exposures/").content.decode()
    assert all(one in health for one in ("Petra Quill", "eyes", "Splash", "Take it up"))
    for name in ("ingrid", "sander", "tomas"):
        page = signed_in(name).get("/exposures/").content.decode()
        assert "open" in page
        assert not any(one in page for one in ("Petra Quill", "eyes", "Splash", "Take it up"))
    assert str(exposed.entry_id) not in signed_in("stranger").get("/exposures/").content.decode()
    assert [(one.what, one.by.sign_in) for one in RecordRead.objects.all()] == [("exposures", "oona")]


def test_it_is_taken_up_once_and_by_occupational_health_alone(exposed: Any, signed_in: Callable[[str], Client]):
    address = f"/exposures/{exposed.pk}/taken/"
    assert signed_in("ingrid").post(address).status_code == 403
    for _ in range(2):
        assert signed_in("oona").post(address).status_code == 302
    assert ExposureTaken.objects.count() == 1
    assert "taken up" in signed_in("sander").get("/exposures/").content.decode()
    assert signed_in("oona").post("/exposures/1/taken/").status_code == 404, "that is no exposure"

"""Whatever is sent to a page: never a failure of the server, the field is named, and nothing is half stored."""

from __future__ import annotations

import datetime
import json
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.utils import timezone

from vestry.hospital.ids import uuid7

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]
CASE = {
    "code": "tonight", "hazard": "ebola", "presentation": "wet", "tasks": ["care"], "respirator": "disposable",
    "garment": "gown", "eye_protection": "shield", "glove_change": "none", "gear": ["scrubs"],
}  # fmt: skip


def rows() -> dict[str, int]:
    """How many rows stand in each table of ours."""
    tables = [name for name in connection.introspection.table_names() if name.split("_")[0] in ("desk", "record")]
    with connection.cursor() as cursor:
        counted = {}
        for table in tables:
            cursor.execute(f"SELECT count(*) FROM {table}")
            counted[table] = cursor.fetchone()[0]
    return counted


@pytest.fixture
def nothing_stored() -> Any:
    """Compares the tables after the test with those at its `begin()`."""

    class Watch:
        before: dict[str, int] | None = None

        def begin(self) -> None:
            self.before = rows()

    watch = Watch()
    yield watch
    assert watch.before is not None
    assert rows() == watch.before


@pytest.mark.parametrize(
    ("changes", "label"),
    [
        ({"hazard": "dragon-pox"}, "Hazard"),
        ({"hazard": ""}, "Hazard"),
        ({"presentation": "moist"}, "Presentation"),
        ({"tasks": []}, "What the team will do"),
        ({"tasks": ["surfing"]}, "What the team will do"),
        ({"gear": []}, "Kinds of gear at hand"),
        ({"gear": ["cardboard-box"]}, "Kinds of gear at hand"),
        ({"respirator": "snorkel"}, "Respirator"),
        ({"garment": ["gown", "cape"]}, "Garment"),
        ({"code": "Jane Doe 1970"}, "Case code"),
        ({"code": ""}, "Case code"),
        ({"code": "a" * 41}, "Case code"),
        ({"code": "a\x00b"}, "Case code"),
        ({"eye_protection": "<script>"}, "Eyes"),
        ({"glove_change": "2"}, "Change of inner gloves on the way out"),
    ],
)
@pytest.mark.sampled(4)
def test_a_case_that_does_not_hold_names_its_field(
    signed_in: Sign, nothing_stored: Any, changes: dict[str, Any], label: str
):
    client = signed_in("ingrid")
    nothing_stored.begin()
    answer = client.post("/cases/new/", CASE | changes)
    page = answer.content.decode()

    assert answer.status_code == 422
    summary = page.split('class="summary-errors"')[1].split("</div>")[0]
    assert f">{label}</a>" in summary
    assert "<script>" not in summary


def test_impossible_gear_is_no_plan_with_site_route_and_what_would_protect(signed_in: Sign):
    client = signed_in("ingrid")
    answer = client.post("/cases/new/", CASE, follow=True)
    page = answer.content.decode()

    assert "The gear at hand does not protect for this case" in page
    assert "nose and mouth" in page
    assert "Disposable respirator" in page
    assert "Do not enter." in page


def test_an_override_needs_reason_and_alternative_and_is_recorded_by_name(signed_in: Sign):
    from vestry.hospital.desk.models import NamedOverride

    client = signed_in("ingrid")
    address = client.post("/cases/new/", CASE)["Location"]

    refused = client.post(f"{address}override/", {"reason": "cannot wait"})
    assert refused.status_code == 422
    assert "The alternative that was offered" in refused.content.decode().split("summary-errors")[1]
    assert not NamedOverride.objects.exists()
    client.post(f"{address}override/", {"reason": "cannot wait", "alternative": "divert"})
    assert NamedOverride.objects.get().by.name == "Ingrid Vell"


APPROVAL = {"title": "New", "reason": "because", "review_on": ""}


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"plan": "0" * 64}, "What you approve is not what this page shows."),
        ({"facts": "0" * 64}, "What you approve is not what this page shows."),
        ({"model": "contact-99"}, "What you approve is not what this page shows."),
        ({"reason": ""}, "Reason</a>"),
        ({"reason": "x" * 2001}, "Reason</a>"),
        ({"title": " "}, "Name of the new procedure</a>"),
        ({"procedure": "no-such"}, "A new version of</a>"),
        ({"review_on": "yesterday"}, "Review on</a>"),
        ({"review_on": "1999-01-01"}, "Review on</a>"),
        ({"review_on": "9999-12-31"}, "Review on</a>"),
    ],
)
@pytest.mark.sampled(3)
def test_an_approval_that_does_not_hold_names_its_field(
    signed_in: Sign, planned: Any, worked_out: Any, nothing_stored: Any, changes: dict[str, Any], says: str
):
    client = signed_in("ingrid")
    nothing_stored.begin()
    whole = APPROVAL | names(worked_out) | changes
    answer = client.post(f"/cases/{planned.pk}/approve/", whole)

    assert answer.status_code == 422
    assert says in answer.content.decode().split("summary-errors")[1].split("</div>")[0]


def names(worked_out: Any) -> dict[str, Any]:
    return {
        "plan": worked_out.plan.hash, "facts": worked_out.assurance.facts, "model": worked_out.assurance.model_version,
        "review_on": (timezone.localdate() + datetime.timedelta(days=90)).isoformat(),
    }  # fmt: skip


def test_facts_that_changed_since_planning_must_be_planned_again(
    signed_in: Sign, planned: Any, worked_out: Any, nothing_stored: Any, monkeypatch: pytest.MonkeyPatch
):
    for module in ("approvals", "procedures"):
        monkeypatch.setattr(f"vestry.hospital.desk.{module}.MODEL_VERSION", "contact-99")
    client = signed_in("ingrid")
    nothing_stored.begin()
    answer = client.post(f"/cases/{planned.pk}/approve/", APPROVAL | names(worked_out))

    assert answer.status_code == 422
    assert "Facts or model have changed since this was planned." in answer.content.decode()


@pytest.mark.parametrize(
    ("people", "says"),
    [
        ({"wearer": "nobody"}, "Wearer: nobody of that name may be chosen here."),
        ({"wearer": "ada"}, "Wearer: nobody of that name may be chosen here."),
        ({"observer": "noor"}, "Trained observer: nobody of that name may be chosen here."),
        ({"wearer": "tomas"}, "One person cannot be two of the three"),
        ({"assistant": ""}, "Doffing assistant</a>"),
        ({"wearer": "\x00"}, "Wearer"),
    ],
)
def test_an_entry_with_the_wrong_people_is_not_opened(
    signed_in: Sign, version: Any, nothing_stored: Any, people: dict[str, str], says: str
):
    client = signed_in("tomas")
    nothing_stored.begin()
    whole = {"wearer": "noor", "observer": "tomas", "assistant": "petra"} | people
    answer = client.post(f"/procedures/{version.pk}/start/", whole)

    assert answer.status_code == 422
    assert says in answer.content.decode()


def press(**changes: Any) -> dict[str, Any]:
    return {
        "press": "read",
        "step": "before.confirm:area-confirmed",
        "ids": str(uuid7()),
        "clock": "",
    } | changes


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"press": "jump"}, "press"),
        ({"press": ""}, "press"),
        ({"step": ""}, "step"),
        ({"step": "x" * 201}, "step"),
        ({"ids": "1,2,3"}, "ids"),
        ({"ids": ""}, "ids"),
        ({"ids": "0d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d90"}, "ids"),
        ({"ids": ",".join(["01936f2e-7c1a-7b52-9d0e-3f6a1c2b4d5e"] * 2)}, "ids"),
        ({"press": "done-seen"}, "ids"),
        ({"clock": "noon"}, "clock"),
        ({"press": "went-otherwise"}, "events"),
        ({"press": "recovery-taken"}, "recovery"),
        ({"press": "abandoned"}, "reason"),
    ],
)
@pytest.mark.sampled(4)
def test_a_press_that_cannot_be_read_names_its_field(
    signed_in: Sign, entry: Any, nothing_stored: Any, changes: dict[str, Any], field: str
):
    client = signed_in("tomas")
    nothing_stored.begin()
    answer = client.post(f"/entries/{entry.pk}/press/", press(**changes))
    page = answer.content.decode()

    assert answer.status_code == 422
    assert f"{field}:" in page.split('class="problem"')[1].split("</p>")[0]
    assert "Read aloud" in page


def deep(depth: int) -> str:
    return '{"in":' * depth + "1" + "}" * depth


GOOD = {
    "id": "01936f2e-7c1a-7b52-9d0e-3f6a1c2b4d5e", "kind": "read", "payload": {"step": "one"},
    "device": "0d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d90", "clock": "2026-11-25T02:14:09Z", "counter": 7,
}  # fmt: skip


@pytest.mark.parametrize(
    "body",
    [
        b"", b"{", b"null", b"[]", b'"events"', b"{}", b'{"events": {}}', b'{"events": []}', b'{"events": [1]}',
        b'{"events": [], "more": 1}', '{"events": "é"}'.encode("utf-16"), b"\xff\xfe\x00", b'{"events": [NaN]}',
        f'{{"events": [{deep(50_000)}]}}'.encode(), b"[" * 100_000,
        json.dumps({"events": [GOOD | {"counter": 10**40}]}).encode(),
        json.dumps({"events": [GOOD, GOOD | {"kind": "done-seen"}]}).encode(),
        json.dumps({"events": [GOOD, {**GOOD, "id": "x"}]}).encode(),
        json.dumps({"events": [GOOD] * 501}).encode(),
        json.dumps({"events": [GOOD | {"kind": "new-kind", "payload": json.loads(deep(20))}]}).encode(),
    ],
)  # fmt: skip
@pytest.mark.sampled(5)
def test_an_upload_that_cannot_be_read_is_refused_whole(signed_in: Sign, entry: Any, nothing_stored: Any, body: bytes):
    client = signed_in("tomas")
    nothing_stored.begin()
    answer = client.post(f"/entries/{entry.pk}/events/", body, content_type="application/json")

    assert answer.status_code == 422
    assert answer.json()["problems"]
    assert all({"field", "what"} == set(problem) for problem in answer.json()["problems"])


def test_an_upload_must_say_that_it_is_json(signed_in: Sign, entry: Any):
    answer = signed_in("tomas").post(f"/entries/{entry.pk}/events/", b"{}", content_type="text/plain")

    assert answer.status_code == 422


POSTED = ["/sign-in/", "/cases/new/", "/cases/{planned}/approve/", "/procedures/{version}/retire/",
          "/procedures/{version}/start/", "/entries/{entry}/press/", "/entries/{entry}/events/",
          "/records/{entry}/correct/"]  # fmt: skip


@pytest.mark.parametrize("page", POSTED)
@pytest.mark.parametrize(
    ("sort", "body"),
    [
        ("application/x-www-form-urlencoded", b"x=" + b"a" * 50_000_000),
        ("application/x-www-form-urlencoded; charset=utf-16", b"x=a"),
        ("application/x-www-form-urlencoded", b"%ff%fe=%00&=&&&==;"),
        ("application/x-www-form-urlencoded", b"&".join(b"a%d=1" % n for n in range(5000))),
        ("multipart/form-data; boundary=b", b"--b\r\nnonsense"),
        ("multipart/form-data", b"no boundary"),
        ("multipart/form-data; boundary=b",
         b'--b\r\nContent-Disposition: form-data; name="f"; filename="f"\r\n\r\n' + b"a" * 50_000_000 + b"\r\n--b--"),
        ("application/json; charset=klingon", b'{"events": [1]}'),
        ("application/json", b'{"events": ["' + b"a" * 50_000_000 + b'"]}'),
    ],
    ids=["50 MB", "utf-16", "not text", "5000 fields", "cut short", "no boundary", "50 MB file", "no such encoding",
         "50 MB of JSON"],
)  # fmt: skip
@pytest.mark.sampled(8)
def test_no_body_is_a_failure_of_the_server(
    signed_in: Sign, planned: Any, version: Any, entry: Any, nothing_stored: Any, page: str, sort: str, body: bytes
):
    who = "ingrid" if "cases" in page or "retire" in page else "tomas"
    client = signed_in(who)
    nothing_stored.begin()
    address = page.format(planned=planned.pk, version=version.pk, entry=entry.pk)
    answer = client.generic("POST", address, body, content_type=sort)

    meant_for_it = page.endswith("/events/") == sort.startswith("application/json")
    refused_unread = meant_for_it and (len(body) > 1_000_000 or body.count(b"&") > 1000)
    assert answer.status_code in ((400,) if refused_unread else (400, 422))
    if answer.status_code == 400:
        assert "Nothing was stored." in answer.content.decode()


@pytest.mark.parametrize(
    "address", ["/cases/%00/", "/cases/" + "0" * 36 + "/", "/entries/../../", "/procedures/x/", "/%ff"]
)
def test_an_address_that_names_nothing_is_not_found(signed_in: Sign, address: str):
    answer = signed_in("ingrid").get(address)

    assert answer.status_code == 404
    assert "There is nothing here" in answer.content.decode()


def test_a_failure_of_the_server_has_its_own_page(signed_in: Sign, monkeypatch: pytest.MonkeyPatch):
    def fail(request: Any) -> Any:
        raise RuntimeError("on purpose")

    monkeypatch.setattr("vestry.hospital.desk.home.visitor", fail)
    answer = signed_in("ingrid").get("/")

    assert answer.status_code == 500
    assert "Something failed here" in answer.content.decode()
    assert "on purpose" not in answer.content.decode()

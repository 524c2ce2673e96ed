"""Tablets: enrolled by a code, known by a token, carrying an entry for whoever was identified; and their events."""

from __future__ import annotations

import gzip
import json
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from django.db import OperationalError
from django.test import Client
from django.utils import timezone

from vestry.hospital.anteroom import tablets
from vestry.hospital.anteroom.models import Badge, EnrolmentCode, Identified, Tablet
from vestry.hospital.ids import uuid7
from vestry.hospital.keeping import WrittenOnce
from vestry.hospital.record.chain import broken_at
from vestry.hospital.record.models import Event
from vestry.hospital.record.store import state_of

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]
PIN = "482913"


@pytest.fixture
def badges(staff: dict[str, Any]) -> None:
    for name in ("tomas", "sander", "stranger", "noor"):
        assert tablets.set_badge(staff[name], f"HP-{name}", PIN, timezone.now())


@pytest.fixture
def at_work(tablet: Any, badges: None) -> Any:
    """The tablet with its observer identified."""
    assert tablet.identify("HP-tomas", PIN).status_code == 200
    return tablet


@pytest.fixture
def carrying(at_work: Any, entry: Any) -> Any:
    assert at_work.get(f"/tablet/entries/{entry.pk}/bundle/").status_code == 200
    return at_work


def said(tablet: Any, number: int, kind: str = "unwell", **more: Any) -> dict[str, Any]:
    return {
        "id": str(uuid7()), "kind": kind, "payload": {}, "actor": "tomas", "device": tablet.id,
        "clock": timezone.now().isoformat(timespec="milliseconds"), "counter": number,
    } | more  # fmt: skip


# ---- enrolment ----


def test_the_lead_is_told_a_code_once_and_it_enrols_one_tablet(signed_in: Sign):
    page = signed_in("ingrid").post("/tablets/", {"name": "Anteroom 1"}).content.decode()
    code = page.split('class="code num">')[1].split("<")[0]
    enrol = lambda: Client().post("/tablet/enrol/", {"code": code.lower()}, content_type="application/json")  # noqa: E731

    told = enrol().json()
    assert told["name"] == "Anteroom 1"
    assert Tablet.objects.get().pk.hex == told["tablet"].replace("-", "")
    assert enrol().status_code == 422
    assert code not in signed_in("ingrid").get("/tablets/").content.decode()


def test_neither_code_nor_token_nor_pin_is_kept(at_work: Any):
    kept = json.dumps(
        [list(model.objects.values()) for model in (EnrolmentCode, Tablet, Badge, Identified)], default=str
    )

    for secret in (at_work.token, at_work.identified, PIN):
        assert secret not in kept


def test_a_code_is_worth_nothing_after_a_quarter_of_an_hour(staff: dict[str, Any]):
    now = timezone.now()
    code = tablets.new_code("Anteroom 1", staff["ingrid"], now - timedelta(minutes=16))

    assert tablets.enrol(code, now) is None
    assert tablets.enrol(code, now - timedelta(minutes=2)) is not None


def test_codes_cannot_be_tried_out(staff: dict[str, Any]):
    code = tablets.new_code("Anteroom 1", staff["ingrid"], timezone.now())
    attempt = lambda text: Client().post("/tablet/enrol/", {"code": text}, content_type="application/json")  # noqa: E731

    assert [attempt(f"WRONG{n}").status_code for n in range(7)] == [422] * 6 + [429]
    assert attempt(code).status_code == 429


def test_a_revoked_tablet_neither_sends_nor_fetches(carrying: Any, entry: Any, signed_in: Sign):
    address = f"/tablet/entries/{entry.pk}/events/"
    assert carrying.post(address, {"events": [said(carrying, 1)]}).status_code == 200
    signed_in("sander").post(f"/tablets/{carrying.id}/revoke/", {"reason": "left in the room"})

    assert carrying.post(address, {"events": [said(carrying, 2)]}).status_code == 403
    assert carrying.get(address).status_code == 403
    assert carrying.identify("HP-tomas", PIN).status_code == 403
    assert "left in the room" in signed_in("ingrid").get("/tablets/").content.decode()


def test_a_revocation_needs_a_reason_and_names_what_is_wrong(tablet: Any, signed_in: Sign):
    answer = signed_in("ingrid").post(f"/tablets/{tablet.id}/revoke/", {"reason": ""})

    assert answer.status_code == 422
    assert not Tablet.objects.get().revoked


@pytest.mark.parametrize(
    "header", ["", "Bearer x", "Vestry-Tablet", "Vestry-Tablet ", "Vestry-Tablet made-up", "x" * 900]
)
def test_without_the_token_of_a_tablet_nothing_is_told(header: str, entry: Any):
    for address in ("/tablet/entries/", f"/tablet/entries/{entry.pk}/bundle/", f"/tablet/entries/{entry.pk}/events/"):
        answer = Client().get(address, HTTP_AUTHORIZATION=header)
        assert answer.status_code == 403
        assert answer.json()["problems"][0]["what"] == "this tablet is not enrolled, or not any more"


def test_rows_of_tablets_are_written_once(tablet: Any):
    with pytest.raises(WrittenOnce):
        Tablet.objects.update(token_hash="0" * 64)
    with pytest.raises(WrittenOnce):
        Tablet.objects.get().save()


# ---- badge and PIN ----


def test_someone_sets_their_own_badge_with_their_password(signed_in: Sign, settings: Any):
    from tests.hospital.conftest import PASSWORD

    client = signed_in("tomas")
    fields = {"badge": "HP-tomas", "pin": PIN, "password": PASSWORD}

    assert client.post("/badge/", fields | {"password": "wrong"}).status_code == 422
    assert not Badge.objects.exists()
    assert client.post("/badge/", fields).status_code == 302
    assert "HP-tomas" in client.get("/badge/").content.decode()


@pytest.mark.parametrize("pin", ["12345", "123456", "000000", "48a913", "", "4829131234567"])
def test_a_pin_that_is_short_or_easy_is_refused(pin: str, signed_in: Sign):
    from tests.hospital.conftest import PASSWORD

    answer = signed_in("tomas").post("/badge/", {"badge": "HP-tomas", "pin": pin, "password": PASSWORD})

    assert answer.status_code == 422
    assert not Badge.objects.exists()


def test_a_badge_is_one_persons(badges: None, staff: dict[str, Any]):
    assert not tablets.set_badge(staff["petra"], "HP-tomas", PIN, timezone.now())
    assert tablets.set_badge(staff["tomas"], "HP-new", PIN, timezone.now())
    assert tablets.set_badge(staff["petra"], "HP-tomas", PIN, timezone.now())


def test_badge_and_pin_say_who_it_is_if_they_may_lead(tablet: Any, badges: None):
    assert tablet.identify("HP-tomas", PIN).json()["person"] == "tomas"
    assert tablet.identify("HP-tomas", "482914").status_code == 422
    assert tablet.identify("HP-nobody", PIN).status_code == 422
    assert tablet.identify("HP-noor", PIN).status_code == 422  # may go in, may not lead


def test_pins_cannot_be_tried_out(tablet: Any, badges: None):
    tries = [tablet.identify("HP-tomas", f"{n:06d}").status_code for n in range(7)]

    assert tries == [422] * 6 + [429]
    assert tablet.identify("HP-tomas", PIN).status_code == 429
    assert tablet.identify("HP-sander", PIN).status_code == 200


# ---- what a tablet may carry ----


def test_nobody_identified_no_entries_and_no_bundle(tablet: Any, entry: Any):
    assert tablet.get("/tablet/entries/").status_code == 401
    assert tablet.get(f"/tablet/entries/{entry.pk}/bundle/").status_code == 401


def test_an_observer_sees_and_carries_their_own_entries_and_a_shift_lead_all(tablet: Any, badges: None, entry: Any):
    bundle = f"/tablet/entries/{entry.pk}/bundle/"
    for badge, listed, status in (("HP-tomas", 1, 200), ("HP-sander", 1, 200), ("HP-stranger", 0, 404)):
        tablet.identify(badge, PIN)
        assert len(tablet.get("/tablet/entries/").json()["entries"]) == listed
        assert tablet.get(bundle).status_code == status


def test_whoever_an_entry_was_handed_over_to_may_carry_it(carrying: Any, entry: Any, enrol: Any, badges: None):
    over = said(carrying, 1, "observer-handed-over", payload={"to": "stranger"})
    carrying.post(f"/tablet/entries/{entry.pk}/events/", {"events": [over]})
    other = enrol()
    other.identify("HP-stranger", PIN)

    assert other.get(f"/tablet/entries/{entry.pk}/bundle/").status_code == 200


def test_what_was_identified_on_one_tablet_is_worth_nothing_on_another(at_work: Any, enrol: Any, entry: Any):
    other = enrol()
    other.identified = at_work.identified

    assert other.get("/tablet/entries/").status_code == 401


def test_a_bundle_holds_a_pin_to_check_for_each_who_may_lead_and_for_nobody_else(carrying: Any, entry: Any):
    document = carrying.get(f"/tablet/entries/{entry.pk}/bundle/").json()
    people = {one["sign-in"]: one for one in document["people"]}

    assert (document["entry"], document["carried"]["plan"]) == (str(entry.pk), entry.version.plan_hash)
    assert {one["part"] for one in people.values() if one["pin"]} == {"observer", "relief"}
    assert people["noor"]["pin"] is people["petra"]["pin"] is None
    assert (people["noor"]["part"], people["petra"]["part"], people["sander"]["part"]) == (
        "wearer",
        "assistant",
        "relief",
    )
    assert document["clocks"]["limit-minutes"] > 0


@pytest.mark.slow
def test_a_bundle_fits_its_schema_and_goes_compressed(carrying: Any, entry: Any):
    answer = carrying.client.get(
        f"/tablet/entries/{entry.pk}/bundle/", HTTP_ACCEPT_ENCODING="gzip",
        HTTP_AUTHORIZATION=f"Vestry-Tablet {carrying.token}", HTTP_VESTRY_IDENTIFIED=carrying.identified,
    )  # fmt: skip

    document = json.loads(gzip.decompress(answer.content))
    schema = json.loads((Path(__file__).parents[2] / "docs/reference/schemas/bundle.json").read_text("utf-8"))
    jsonschema.validate(document, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(document | {"margin": 2}, schema)
    assert answer["Content-Encoding"] == "gzip"
    assert len(answer.content) < 120_000


def test_a_bundle_over_the_limit_sends_the_observer_to_the_plain_pages(at_work: Any, entry: Any, monkeypatch: Any):
    from vestry.entry import bundle

    monkeypatch.setattr(bundle, "LARGEST", 1000)
    answer = at_work.get(f"/tablet/entries/{entry.pk}/bundle/")

    assert answer.status_code == 422
    assert "plain pages" in answer.json()["problems"][0]["what"]


# ---- events ----


def test_events_are_taken_in_any_order_and_known_the_second_time(carrying: Any, entry: Any):
    address = f"/tablet/entries/{entry.pk}/events/"
    events = [said(carrying, number) for number in (3, 1, 2)]
    first = carrying.post(address, {"events": events}).json()
    again = carrying.post(address, {"events": [*events[:2], said(carrying, 4)]}).json()

    assert set(first["taken"]) == {one["id"] for one in events}
    assert set(again["known"]) == {one["id"] for one in events[:2]}
    assert len(again["taken"]) == 1
    assert Event.objects.filter(device=carrying.id).count() == 4
    assert broken_at() is None


def test_one_bad_event_is_named_and_the_others_are_taken(carrying: Any, entry: Any):
    good, bad, worse = said(carrying, 1), said(carrying, 2, "read", payload={}), ["no event"]
    answer = carrying.post(f"/tablet/entries/{entry.pk}/events/", {"events": [good, bad, worse]}).json()

    assert answer["taken"] == [good["id"]]
    assert [one["id"] for one in answer["refused"]] == [bad["id"], None]
    assert answer["refused"][0]["problems"] == [{"field": "payload.step", "what": "needed for read"}]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"device": "1d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d91"}, "device"),
        ({"actor": "noor"}, "actor"),
        ({"actor": ["tomas"]}, "actor"),
        ({"entry": "01936f2e-0000-7000-8000-000000000001"}, "entry"),
        ({"plan": "b" * 64}, "plan"),
        ({"margin": 2}, "margin"),
    ],
)
def test_a_forged_event_is_refused_and_nothing_is_stored(
    carrying: Any, entry: Any, changes: dict[str, Any], field: str
):
    before = Event.objects.count()
    answer = carrying.post(f"/tablet/entries/{entry.pk}/events/", {"events": [said(carrying, 1) | changes]}).json()

    assert answer["taken"] == []
    assert [one["field"] for one in answer["refused"][0]["problems"]] == [field]
    assert Event.objects.count() == before


def override(tablet: Any, number: int, by: str, signed: str) -> dict[str, Any]:
    payload = {"rules": ["area:seat"], "decided-by": by, "reason": "r", "alternative": "wait", "signed": signed}
    return said(tablet, number, "overridden", payload=payload)


def test_the_bundle_holds_the_slow_hash_of_leads_who_may_override_and_of_nobody_else(carrying: Any, entry: Any):
    before = carrying.get(f"/tablet/entries/{entry.pk}/bundle/").json()["before"]

    assert {one["sign-in"]: (one["badge"], one["pin"] is not None) for one in before["deciders"]} == {
        "sander": ("HP-sander", True),
        "ingrid": (None, False),
    }


def test_an_override_is_taken_when_who_decided_can_have_signed_it_so(carrying: Any, entry: Any):
    signed = [override(carrying, 1, "sander", "badge-pin"), override(carrying, 2, "Sander Brook", "told")]
    forged = [
        override(carrying, 3, "tomas", "badge-pin"),  # a trained observer: no right to override
        override(carrying, 4, "ingrid", "badge-pin"),  # may override, and has no badge
        override(carrying, 5, "sander", "sign-in"),  # nobody signs in on a tablet
    ]
    answer = carrying.post(f"/tablet/entries/{entry.pk}/events/", {"events": signed + forged}).json()

    assert answer["taken"] == [one["id"] for one in signed]
    assert [one["id"] for one in answer["refused"]] == [one["id"] for one in forged]
    assert {one["problems"][0]["field"] for one in answer["refused"]} == {"payload.signed"}


def test_the_same_id_with_another_content_is_refused_and_the_rest_taken(carrying: Any, entry: Any):
    address = f"/tablet/entries/{entry.pk}/events/"
    first, other = said(carrying, 1), said(carrying, 2)
    carrying.post(address, {"events": [first]})
    answer = carrying.post(address, {"events": [first | {"kind": "inspected"}, other]}).json()

    assert (answer["taken"], [one["id"] for one in answer["refused"]]) == ([other["id"]], [first["id"]])
    assert Event.objects.get(client_id=first["id"]).kind == "unwell"


def test_a_tablet_that_does_not_carry_an_entry_neither_sends_nor_reads_its_events(at_work: Any, entry: Any):
    address = f"/tablet/entries/{entry.pk}/events/"

    assert at_work.get(address).status_code == 404
    assert at_work.post(address, {"events": [said(at_work, 1)]}).status_code == 404


def test_two_tablets_hear_each_other(carrying: Any, entry: Any, enrol: Any):
    address, other = f"/tablet/entries/{entry.pk}/events/", enrol()
    other.identify("HP-sander", PIN)
    other.get(f"/tablet/entries/{entry.pk}/bundle/")
    last = other.get(address).json()["last"]
    one, two = said(carrying, 1), said(other, 1, "device-taken-over", actor="sander")
    carrying.post(address, {"events": [one]})
    other.post(address, {"events": [two]})

    heard = other.get(f"{address}?after={last}").json()
    assert [event["id"] for event in heard["events"]] == [one["id"], two["id"]]
    assert other.get(f"{address}?after={heard['last']}").json() == {"events": [], "last": heard["last"]}
    assert state_of(entry).leads == other.id


def test_what_a_tablet_sends_after_the_end_is_recorded_and_flagged(carrying: Any, entry: Any):
    address = f"/tablet/entries/{entry.pk}/events/"
    carrying.post(address, {"events": [said(carrying, 1, "closed")]})
    late = said(carrying, 2, "unwell")

    assert carrying.post(address, {"events": [late]}).json()["taken"] == [late["id"]]
    assert late["id"] in [flag.event for flag in state_of(entry).flags]


@pytest.mark.parametrize("after", ["-1", "x", "1e3", "9" * 40, "²"])
@pytest.mark.sampled(1)
def test_a_place_that_is_no_number_is_refused(carrying: Any, entry: Any, after: str):
    assert carrying.get(f"/tablet/entries/{entry.pk}/events/?after={after}").status_code == 422


@pytest.mark.parametrize(
    "body", ["", "{", "[]", '{"events": []}', '{"events": 3}', '{"events": [NaN]}', "[" * 5000, '"x"']
)
@pytest.mark.parametrize("page", ["enrol/", "identify/", "events"])
@pytest.mark.sampled(5)
def test_whatever_is_sent_is_no_failure_of_the_server(carrying: Any, entry: Any, page: str, body: str):
    address = f"/tablet/entries/{entry.pk}/events/" if page == "events" else f"/tablet/{page}"
    before = Event.objects.count()
    answer = carrying.post(address, body)

    assert answer.status_code == 422
    assert answer.json()["problems"]
    assert Event.objects.count() == before


@pytest.mark.parametrize("failed", ["database is locked", "database or disk is full"])
def test_a_database_that_cannot_store_is_told_as_such_and_the_tablet_keeps_what_it_has(
    carrying: Any, entry: Any, monkeypatch: Any, failed: str
):
    def refuse(*parts: Any) -> None:
        raise OperationalError(failed)

    monkeypatch.setattr("vestry.hospital.anteroom.device_views.append", refuse)
    answer = carrying.post(f"/tablet/entries/{entry.pk}/events/", {"events": [said(carrying, 1)]})

    assert answer.status_code == 503
    assert answer["Retry-After"]
    assert "taken" not in answer.json()


# ---- the page ----


def test_the_page_is_the_same_for_everyone_and_holds_nothing_of_the_hospital(entry: Any):
    page = Client().get("/tablet/")

    assert page.status_code == 200
    assert b"Noor" not in page.content
    assert b"csrf" not in page.content


def test_the_service_worker_comes_from_the_root_is_asked_anew_and_keeps_files_that_are_there():
    answer = Client().get("/sw.js")
    text = answer.content.decode()
    files = json.loads(text.split("new Set(")[1].split(");")[0])

    assert answer["Content-Type"].startswith("text/javascript")
    assert answer["Cache-Control"] == "no-cache"
    assert "/static/vestry/tablet/main.js" in files
    from django.contrib.staticfiles import finders

    pages = [name for name in files if not name.startswith("/static/")]
    assert [name for name in pages if Client().get(name).status_code != 200] == []
    static = [name.removeprefix("/static/") for name in files if name.startswith("/static/")]
    assert len(static) > 10
    assert [name for name in static if not finders.find(name)] == []

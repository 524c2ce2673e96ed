"""The page of a record: what went otherwise, the figure replayed, corrections, signatures, contradictions, exports."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from typing import Any

import jsonschema
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from tests.cli.test_verify_record import schema
from tests.hospital.recording import OTHER, recorded, said

from vestry.cli import main
from vestry.entry import in_order
from vestry.hospital.record import chain
from vestry.hospital.record.models import Entry, Event, RecordRead
from vestry.hospital.record.showing import show
from vestry.hospital.record.store import append, events_of

pytestmark = pytest.mark.django_db
TABLET = "0d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d90"
STEP = "before.confirm:area-confirmed"


def page(client: Client, entry: Any, more: str = "") -> str:
    answer = client.get(f"/records/{entry.pk}/{more}")
    assert answer.status_code == 200
    return answer.content.decode()


# ---- corrections and signatures ----


def test_a_correction_stands_at_what_it_corrects_with_before_and_after(entry: Any, signed_in: Callable[[str], Client]):
    recorded(entry)
    wrong = Event.objects.get(kind="deviation")
    client = signed_in("ingrid")
    assert "Said:" in page(client, entry, f"?correct={wrong.client_id}")
    told = {"event": str(wrong.client_id), "text": "It was the left cuff.", "reason": "misheard"}
    client.post(f"/records/{entry.pk}/correct/", told)
    shown = show(entry)

    assert [one["text"] for one in shown.corrections] == ["It was the left cuff."]
    assert "Deviation" in shown.corrections[0]["before"]
    row = next(one for one in shown.rows if one["id"] == str(wrong.client_id))
    assert (row["corrected"][0]["by"], row["corrected"][0]["reason"]) == ("Ingrid Vell", "misheard")
    assert Event.objects.get(pk=wrong.pk).payload == wrong.payload


def test_a_correction_of_an_event_of_another_entry_is_refused(entry: Any, signed_in: Callable[[str], Client]):
    told = {"event": "01936f2e-0000-7000-8000-ffffffffffff", "text": "x", "reason": "y"}
    answer = signed_in("ingrid").post(f"/records/{entry.pk}/correct/", told)

    assert answer.status_code == 422
    assert not Event.objects.filter(kind="correction").exists()


@pytest.mark.slow
def test_wearer_and_observer_sign_once_and_only_when_it_is_over(entry: Any, signed_in: Callable[[str], Client]):
    sign = f"/records/{entry.pk}/sign/"
    signed_in("tomas").post(sign)
    assert not Event.objects.filter(kind="signed").exists()
    recorded(entry)
    assert "Sign this record" in page(signed_in("noor"), entry)
    for name in ("tomas", "noor", "noor", "sander"):
        assert signed_in(name).post(sign).status_code == 302

    assert [row.actor for row in Event.objects.filter(kind="signed")] == ["tomas", "noor"]
    assert [one["by"] for one in show(entry).signed] == ["Tomas Arden", "Noor Hadley"]
    assert "Sign this record" not in page(signed_in("noor"), entry)


# ---- the figure ----


@pytest.mark.slow
def test_the_replay_begins_clean_follows_what_is_worn_and_ends_with_nothing_protective(entry: Any):
    recorded(entry)
    moments = [show(entry, at=at).moment for at in range(len(events_of(entry)) + 1)]

    assert moments[0].worn == ()
    assert max(len(one.worn) for one in moments) >= 5
    assert all(one.picture is not None for one in moments)
    assert any(one.contaminated for one in moments)
    assert moments[-1].step is None


def test_a_deviation_changes_what_may_be_contaminated_from_then_on(entry: Any):
    wrong = recorded(entry)
    events = in_order(events_of(entry))
    at = next(number for number, one in enumerate(events) if one.kind == "deviation")
    assert wrong in events[at].texts("events")
    before, after = show(entry, at=at).moment, show(entry, at=at + 1).moment
    assert (before.state.held is not None, after.state.held is not None) == (True, True)
    assert set(before.contaminated) <= set(after.contaminated)


def test_a_moment_comes_alone_for_the_page_that_is_there(entry: Any, signed_in: Callable[[str], Client]):
    client = signed_in("anselm")
    for at in ("0", "1", "9999", "-3", "x", ""):
        answer = client.get(f"/records/{entry.pk}/replay/?at={at}")
        assert answer.status_code == 200
        assert b"<html" not in answer.content
    assert signed_in("stranger").get(f"/records/{entry.pk}/replay/").status_code == 404


# ---- contradictions ----


def test_two_devices_that_contradict_each_other_both_stay_and_are_listed(
    entry: Any, signed_in: Callable[[str], Client]
):
    one, other = said(entry, "done-seen", step=STEP, device=TABLET), said(entry, "done-not-seen", step=STEP)
    append(entry, [one, other], timezone.now())
    append(entry, [said(entry, "person-checked", may=True), said(entry, "person-checked", may=False)], timezone.now())

    assert [row["about"] for row in show(entry).contradicted] == ["1. Area ready"]
    assert Entry.objects.get(pk=entry.pk).contradictions == 1
    assert "Noor Hadley" in signed_in("sander").get("/records/contradictions/").content.decode()
    assert "Devices contradict each other" in page(signed_in("ingrid"), entry)


# ---- taken away ----


def test_the_export_is_whole_verifies_and_shows_a_change(
    entry: Any, signed_in: Callable[[str], Client], tmp_path: Any, version: Any
):
    recorded(entry)
    people = {"wearer": "petra", "observer": "tomas", "assistant": "noor"}
    signed_in("tomas").post(f"/procedures/{version.pk}/start/", people)
    append(entry, [said(entry, "correction", text="a", reason="b")], timezone.now())
    answer = signed_in("anselm").get(f"/records/{entry.pk}/record.json")
    document = json.loads(answer.content)
    jsonschema.validate(document, schema("record-export"))
    file = tmp_path / "record.json"
    file.write_bytes(answer.content)

    assert main(["verify-record", str(file), "--anchor", Event.objects.filter(entry=entry).last().hash]) == 0
    withheld = [row for row in document["events"] if "said" not in row]
    assert [row["sequence"] for row in withheld] == [Event.objects.get(kind="opened", payload__wearer="petra").pk]
    assert b"petra" not in answer.content.replace(b'"assistant"', b"").split(b'"events"')[1].split(b'"opened"')[0]
    document["events"][3]["said"]["payload"]["step"] = "another"
    file.write_text(json.dumps(document), "utf-8")
    assert main(["verify-record", str(file)]) == 1


def test_where_too_many_others_lie_between_the_export_has_parts_and_verifies(
    entry: Any, signed_in: Callable[[str], Client], monkeypatch: pytest.MonkeyPatch, tmp_path: Any, version: Any
):
    people = {"wearer": "petra", "observer": "tomas", "assistant": "noor"}
    signed_in("tomas").post(f"/procedures/{version.pk}/start/", people)
    append(entry, [said(entry, "read", step=STEP)], timezone.now())
    monkeypatch.setattr("vestry.hospital.record.exporting.MOST_BETWEEN", 0)
    answer = signed_in("anselm").get(f"/records/{entry.pk}/record.json")
    file = tmp_path / "record.json"
    file.write_bytes(answer.content)

    assert len(json.loads(answer.content)["heads"]["parts"]) == 2
    assert main(["verify-record", str(file)]) == 0


def test_the_events_as_a_table_are_in_the_order_in_which_they_count(entry: Any, signed_in: Callable[[str], Client]):
    recorded(entry)
    append(entry, [said(entry, "correction", text="=1+1", reason="b")], timezone.now())
    answer = signed_in("ingrid").get(f"/records/{entry.pk}/events.csv").content.decode()
    rows = list(csv.DictReader(io.StringIO(answer)))

    assert len(rows) == Event.objects.count()
    assert [row["number"] for row in rows] == [str(n) for n in range(1, len(rows) + 1)]
    assert {row["kind"] for row in rows} >= {"opened", "deviation", "closed", "correction"}


@pytest.mark.slow
def test_it_prints_with_its_heads_and_the_log_does(entry: Any, signed_in: Callable[[str], Client]):
    recorded(entry)
    client = signed_in("anselm")
    for address in (f"/records/{entry.pk}/record.pdf", "/entry-log/log.pdf", "/entry-log/log.pdf?room=-"):
        answer = client.get(address)
        assert answer.status_code == 200
        assert answer.content.startswith(b"%PDF-")


def test_who_reads_and_who_takes_away_is_written_down(entry: Any, signed_in: Callable[[str], Client]):
    client = signed_in("anselm")
    page(client, entry)
    client.get(f"/records/{entry.pk}/record.json")
    client.get("/entry-log/")
    client.get(f"/records/{entry.pk}/replay/?at=1")

    assert [(one.what, one.by.sign_in) for one in RecordRead.objects.order_by("pk")] == [
        ("record", "anselm"), ("export", "anselm"), ("log", "anselm"),
    ]  # fmt: skip
    assert "Who read it last" in page(client, entry)
    assert "Who read it last" not in page(signed_in("noor"), entry)
    assert signed_in("noor").get(f"/records/{entry.pk}/record.json").status_code == 403


# ---- the log ----


def test_the_log_has_who_when_in_when_out_in_what_by_room(entry: Any, signed_in: Callable[[str], Client]):
    Entry.objects.update(room="room-1")
    append(entry, [said(entry, "entered"), said(entry, "left"), said(entry, "exposure", site="eyes")], timezone.now())
    answer = signed_in("anselm").get("/entry-log/log.csv?since=2027-11-25&until=2027-11-25&room=")
    (row,) = csv.DictReader(io.StringIO(answer.content.decode()))

    assert (row["wearer"], row["observer"], row["exposures"]) == ("Noor Hadley", "Tomas Arden", "1")
    assert row["in"] <= row["out"]
    assert row["in"].startswith("04:")
    assert row["worn"]
    assert (
        "Noor Hadley" not in signed_in("anselm").get("/entry-log/?since=2027-11-26&until=2027-11-27").content.decode()
    )
    assert signed_in("anselm").get("/entry-log/?since=yesterday").status_code == 422


def test_a_log_asked_for_drills_alone_keeps_the_usual_days(entry: Any, signed_in: Callable[[str], Client]):
    Entry.objects.update(drill=True)

    assert "Noor Hadley" not in signed_in("anselm").get("/entry-log/log.csv").content.decode()
    assert "Noor Hadley" in signed_in("anselm").get("/entry-log/log.csv?drills=on").content.decode()


# ---- size ----


@pytest.mark.slow
def test_a_record_of_two_thousand_events_and_a_list_of_five_thousand_entries_ask_as_little(
    entry: Any, signed_in: Callable[[str], Client], monkeypatch: pytest.MonkeyPatch
):
    client = signed_in("ingrid")

    def queries(address: str) -> tuple[int, int]:
        with CaptureQueriesContext(
            connection,
        ) as asked:
            answer = client.get(address)
        assert answer.status_code == 200
        return len(asked), len(answer.content)

    addresses = (
        f"/records/{entry.pk}/",
        f"/records/{entry.pk}/record.json",
        "/records/",
        "/entry-log/?since=2020-01-01",
    )
    few = [[queries(one)[0] for one in addresses] for _ in range(2)][1]  # the first fills what is kept of the version
    monkeypatch.setattr("vestry.hospital.record.store._keep", lambda *parts: None)
    kinds = ("read", "prompted", "acknowledged", "glove-changed")
    append(entry, [said(entry, kinds[n % 4], step=STEP, device=OTHER) for n in range(2000)], timezone.now())
    Entry.objects.bulk_create(
        Entry(version=entry.version, wearer=entry.wearer, observer=entry.observer, created_at=timezone.now())
        for _ in range(5000)
    )
    many = [queries(one) for one in addresses]

    assert [count for count, _ in many] == few
    assert many[0][1] < 300_000
    assert many[2][1] < 120_000
    assert chain.verified().holds

"""Late transcription: times as written, unknown ones allowed, marked late everywhere, an entry that is there said."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from tests.hospital.recording import said

from vestry.hospital.record.mapper import led_of
from vestry.hospital.record.models import Entry, Event
from vestry.hospital.record.showing import show
from vestry.hospital.record.store import append, state_of

pytestmark = pytest.mark.django_db


def sheet(version: Any, **more: str) -> dict[str, str]:
    return {
        "version": str(version.pk), "wearer": "noor", "observer": "tomas", "assistant": "petra", "room": "",
        "day": "2026-11-20", "began": "2350", "note": "sheet 7",
    } | more  # fmt: skip


def begun(client: Client, version: Any) -> Entry:
    answer = client.post("/records/transcribe/", sheet(version))
    assert answer.status_code == 302
    return Entry.objects.get(late=True)


def test_a_sheet_becomes_a_record_that_says_what_was_written_and_what_was_not(
    version: Any, signed_in: Callable[[str], Client]
):
    client = signed_in("sander")
    entry = begun(client, version)
    steps = len(show(entry).state.steps)
    assert steps == 0
    lines = {
        "up_to": str(len(led_of(version).plan.steps)),
        "at-1": "23:52",
        "at-9": "0014",
        "otherwise-12": "cuff slipped",
        "ended": "closed",
    }
    assert client.post(f"/records/{entry.pk}/transcribe/", lines).status_code == 302
    state, shown = state_of(entry), show(entry, None)

    assert (state.stage, state.transcribed) == ("closed", True)
    assert all(one.late for one in state.steps if one.done)
    assert [one.note for one in state.deviations] == ["cuff slipped"]
    first, ninth = (next(one for one in shown.rows if one["step"].startswith(f"{n}. ")) for n in (1, 9))
    assert (first["at"], ninth["at"]) == ("23:52:00", "00:14:00"), "past midnight"
    second = next(one for one in shown.rows if one["step"].startswith("2. "))
    assert (second["at"], second["late"]) == ("", True)
    assert {row.device_clock[:10] for row in Event.objects.filter(entry=entry)} == {"2026-11-20", "2026-11-21"}
    page = client.get(f"/records/{entry.pk}/").content.decode()
    assert "Written down late, from paper" in page
    assert "not written" in page
    assert "Sander Brook" in page


def test_where_no_procedure_is_approved_the_page_says_what_comes_first(staff: Any, signed_in: Callable[[str], Client]):
    page = signed_in("tomas").get("/records/transcribe/").content.decode()

    assert 'so there is no sheet to write down. <a href="/procedures/">' in page


def test_what_is_there_already_is_said_and_written_only_as_another_pass(
    version: Any, signed_in: Callable[[str], Client]
):
    client = signed_in("sander")
    begun(client, version)
    again = client.post("/records/transcribe/", sheet(version, began="0030", day="2026-11-21"))
    assert again.status_code == 422
    assert "There already:" in again.content.decode()
    assert Entry.objects.count() == 1
    assert client.post("/records/transcribe/", sheet(version, another="on")).status_code == 302
    assert client.post("/records/transcribe/", sheet(version, day="2026-11-25")).status_code == 302
    assert Entry.objects.count() == 3


def test_a_sheet_sent_twice_is_written_once(version: Any, signed_in: Callable[[str], Client]):
    client = signed_in("sander")
    entry = begun(client, version)
    for _ in range(2):
        client.post(f"/records/{entry.pk}/transcribe/", {"up_to": "5", "at-1": "2351"})
    done = Event.objects.filter(entry=entry, kind="done-seen")

    assert done.count() == 5
    assert not show(entry).contradicted


def test_a_sheet_goes_on_where_a_tablet_failed(entry: Any, signed_in: Callable[[str], Client]):
    steps = [one.pk for one in Event.objects.all()]
    assert steps
    step = "before.confirm:area-confirmed"
    append(entry, [said(entry, "read", step=step), said(entry, "done-seen", step=step)], timezone.now())
    client = signed_in("tomas")
    page = client.get(f"/records/{entry.pk}/transcribe/").content.decode()
    assert 'name="at-1"' not in page
    assert 'name="at-2"' in page
    client.post(f"/records/{entry.pk}/transcribe/", {"how-2": "done-not-seen", "how-3": "done-seen", "at-2": "5.10"})
    records = {one.step: one for one in state_of(entry).steps}

    assert not records[step].late
    assert [(one.late, one.seen) for one in records.values() if one.step != step] == [(True, False), (True, True)]


@pytest.mark.parametrize(
    ("lines", "field"),
    [
        ({}, "Nothing was said"), ({"up_to": "3", "at-1": "25:00"}, "A time of day"), ({"up_to": "-1"}, "up to number"),
        ({"up_to": "1000"}, "up to number"),  # past the last step: a slip of the key, not the whole sheet
        ({"ended": "abandoned"}, "Say why"), ({"how-1": "perhaps"}, "Nothing was stored"),
    ],
)  # fmt: skip
@pytest.mark.sampled(2)
def test_what_cannot_be_read_stores_nothing(
    version: Any, signed_in: Callable[[str], Client], lines: dict[str, str], field: str
):
    client = signed_in("sander")
    entry = begun(client, version)
    before = Event.objects.count()
    answer = client.post(f"/records/{entry.pk}/transcribe/", lines)

    assert answer.status_code == 422
    assert field in answer.content.decode()
    assert Event.objects.count() == before


def test_a_sheet_of_a_day_to_come_is_refused(version: Any, signed_in: Callable[[str], Client]):
    assert signed_in("sander").post("/records/transcribe/", sheet(version, day="2099-01-01")).status_code == 422
    assert not Entry.objects.exists()


def test_an_entry_at_its_end_takes_corrections_alone(version: Any, signed_in: Callable[[str], Client]):
    client = signed_in("sander")
    entry = begun(client, version)
    client.post(f"/records/{entry.pk}/transcribe/", {"up_to": "2", "ended": "abandoned", "why": "case ruled out"})
    before = Event.objects.count()
    client.post(f"/records/{entry.pk}/transcribe/", {"up_to": "9"})

    assert (state_of(entry).stage, Event.objects.count()) == ("abandoned", before)

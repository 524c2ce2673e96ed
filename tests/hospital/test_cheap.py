"""What is asked for most often stays cheap: queries and bytes, whatever the record holds already."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from tests.hospital.recording import said as said_by

from vestry.hospital.anteroom import tablets
from vestry.hospital.anteroom.shell import shell_files
from vestry.hospital.ids import uuid7
from vestry.hospital.record import kept, store
from vestry.hospital.record.models import Entry, Event
from vestry.hospital.record.store import append, events_of, state_of

pytestmark = pytest.mark.django_db
PIN = "482913"
UPLOAD_QUERIES = 10
"""The tablet, whether it carries the entry, the entry, who may speak for it; what is known, the newest; the rows, how
many there are, the entry's list. One more where the entry is not kept in memory."""
UPLOAD_BYTES_AN_EVENT = 60
BUNDLE_QUERIES = 24


@pytest.fixture
def carrying(tablet: Any, entry: Any, staff: dict[str, Any]) -> Any:
    """The tablet with its observer identified and the entry's bundle."""
    assert tablets.set_badge(staff["tomas"], "HP-tomas", PIN, timezone.now())
    tablet.identify("HP-tomas", PIN)
    assert tablet.get(f"/tablet/entries/{entry.pk}/bundle/").status_code == 200
    return tablet


def queries(ask: Callable[[], Any]) -> tuple[int, Any]:
    """How many queries it takes, transactions not counted; and the answer."""
    with CaptureQueriesContext(connection) as made:
        answer = ask()
    return sum(not one["sql"].startswith(("SAVEPOINT", "RELEASE", "BEGIN", "COMMIT")) for one in made), answer


def events(tablet: Any, first: int, many: int) -> dict[str, Any]:
    """So many things said, from this number on."""
    return {
        "events": [
            {
                "id": str(uuid7()), "kind": "unwell", "payload": {"note": "seen"}, "actor": "tomas",
                "device": tablet.id, "clock": "2026-11-25T02:00:00.000+00:00", "counter": number,
            }
            for number in range(first, first + many)
        ]
    }  # fmt: skip


def test_an_upload_takes_as_many_queries_for_many_events_and_for_a_long_record(carrying: Any, entry: Entry):
    address, counts, number = f"/tablet/entries/{entry.pk}/events/", [], 1
    for many in (1, 1, 20, 1):
        count, answer = queries(lambda many=many, number=number: carrying.post(address, events(carrying, number, many)))
        assert len(answer.json()["taken"]) == many
        assert len(answer.content) <= 60 + many * UPLOAD_BYTES_AN_EVENT
        counts.append(count)
        number += many

    assert len(set(counts)) == 1
    assert counts[0] <= UPLOAD_QUERIES


def test_an_upload_reads_nothing_again_of_an_entry_that_is_kept(
    entry: Entry, django_capture_on_commit_callbacks: Any, monkeypatch: pytest.MonkeyPatch
):
    def say() -> None:
        with django_capture_on_commit_callbacks(execute=True):
            append(entry, [said_by(entry, "unwell")], timezone.now())

    say()
    monkeypatch.setattr(store, "events_of", lambda _: pytest.fail("the whole entry was read again"))
    say()

    monkeypatch.undo()
    assert entry.events_folded == Event.objects.filter(entry=entry).count() == 3
    assert kept.EVENTS.get(entry.pk, 3) == events_of(entry)
    assert kept.STATES.get(entry.pk, 3).state == state_of(entry)


def test_what_another_process_stored_is_not_missed(entry: Entry, django_capture_on_commit_callbacks: Any):
    with django_capture_on_commit_callbacks(execute=True):
        append(entry, [said_by(entry, "unwell")], timezone.now())
    append(entry, [said_by(entry, "breach", site="wrist")], timezone.now())  # nobody here was told that it is stored

    append(entry, [said_by(entry, "exposure", site="wrist")], timezone.now())

    assert entry.exposures == 1
    assert entry.events_folded == 4
    assert [one.kind for one in state_of(entry).noted] == ["unwell", "breach", "exposure"]


def test_what_was_not_committed_is_not_kept(entry: Entry):
    count = Event.objects.filter(entry=entry).count()
    append(entry, [said_by(entry, "unwell")], timezone.now())  # the test's own transaction never ends

    assert kept.EVENTS.get(entry.pk, count + 1) is None
    assert kept.STATES.get(entry.pk, count + 1) is None


def test_more_events_that_come_late_do_not_push_out_what_is_newer():
    newest: kept.Newest[str] = kept.Newest(2)
    first, second, third = uuid7(), uuid7(), uuid7()
    newest.put(first, 5, "five")
    newest.put(first, 4, "four")
    assert (newest.get(first, 5), newest.get(first, 4)) == ("five", None)

    newest.put(second, 1, "b")
    newest.get(first, 5)
    newest.put(third, 1, "c")
    assert (newest.get(first, 5), newest.get(second, 1), newest.get(third, 1)) == ("five", None, "c")


def test_a_bundle_takes_as_many_queries_for_a_long_record(carrying: Any, entry: Entry):
    def fetch() -> tuple[int, Any]:
        return queries(lambda: carrying.get(f"/tablet/entries/{entry.pk}/bundle/"))

    few, _ = fetch()
    carrying.post(f"/tablet/entries/{entry.pk}/events/", events(carrying, 1, 60))
    many, answer = fetch()

    assert few == many
    assert few <= BUNDLE_QUERIES
    assert answer.status_code == 200


def test_the_tablets_page_asks_the_database_next_to_nothing(db: None):
    for address, asked in (("/tablet/", 1), ("/sw.js", 1), ("/tablet/texts.json", 0)):  # once: the frame, for the unit
        count, answer = queries(lambda address=address: Client().get(address))
        assert count <= asked, address
        assert answer.status_code == 200
    assert len(json.dumps(shell_files())) < 5_000

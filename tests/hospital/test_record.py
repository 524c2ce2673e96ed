"""The record: appended, chained, never changed; what stands in a row of an entry is a cache."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from tests.hospital.database import drop_trigger

from vestry.entry import BadEvent, Event
from vestry.entry.chains import FIRST, hash_of
from vestry.entry.verifying import verify
from vestry.hospital.ids import uuid7
from vestry.hospital.keeping import WrittenOnce
from vestry.hospital.record import chain
from vestry.hospital.record.models import Entry
from vestry.hospital.record.models import Event as Row
from vestry.hospital.record.store import append, events_of, rebuild, state_of

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 25, 2, 14, tzinfo=UTC)
STEP = "before.confirm:area-confirmed"


def said(entry: Any, kind: str, number: int, **payload: Any) -> Event:
    return Event(
        id=str(uuid7()),
        entry=str(entry.pk),
        kind=kind,
        payload=payload,
        actor="tomas",
        device="0d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d90",
        clock=f"2027-11-25T02:14:{number:02d}.000+00:00",
        counter=number,
        plan=entry.version.plan_hash,
    )


def test_what_is_stored_comes_back_as_it_was(entry: Any):
    event = said(entry, "read", 1, step=STEP)
    stored = append(entry, [event], NOW)

    assert stored.new == (event.id,)
    assert events_of(entry)[-1] == event


def test_the_same_event_twice_is_one(entry: Any):
    event = said(entry, "read", 1, step=STEP)
    append(entry, [event], NOW)
    before = Row.objects.count()

    again = append(entry, [event], NOW)
    assert (again.new, again.known) == ((), (event.id,))
    assert Row.objects.count() == before


def test_the_same_id_with_another_content_is_refused_and_nothing_of_the_upload_is_stored(entry: Any):
    event = said(entry, "read", 1, step=STEP)
    append(entry, [event], NOW)
    before = Row.objects.count()
    other = Event(**(event.__dict__ | {"kind": "acknowledged"}))

    with pytest.raises(BadEvent, match="says something else already"):
        append(entry, [said(entry, "prompted", 2, step=STEP), other], NOW)
    assert Row.objects.count() == before


def test_what_breaks_a_rule_of_the_entry_is_stored_and_flagged(entry: Any):
    append(entry, [said(entry, "done-seen", 1, step="after.confirm:exit-time")], NOW)

    assert [flag.what for flag in state_of(entry).flags] == ["done out of order"]


def test_the_servers_own_order_has_no_gaps(entry: Any):
    append(entry, [said(entry, "read", number, step=STEP) for number in range(1, 6)], NOW)

    assert list(Row.objects.values_list("sequence", flat=True)) == [1, 2, 3, 4, 5, 6]


def test_a_row_is_neither_saved_again_nor_deleted(entry: Any):
    row = Row.objects.get()

    for change in (row.save, row.delete, Row.objects.all().delete, lambda: Row.objects.update(kind="closed")):
        with pytest.raises(WrittenOnce):
            change()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE record_event SET kind = 'closed'", "DELETE FROM record_event",
        "UPDATE desk_procedureversion SET number = 2", "DELETE FROM desk_procedureversion",
    ],
)  # fmt: skip
def test_the_database_itself_refuses_changes(entry: Any, statement: str):
    with pytest.raises(DatabaseError, match="is written once"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)


def test_the_chain_holds_and_a_changed_missing_or_added_event_breaks_it(entry: Any):
    append(entry, [said(entry, "read", number, step=STEP) for number in range(1, 4)], NOW)
    assert chain.verified().holds

    with connection.cursor() as cursor:
        for act in ("update", "delete"):
            drop_trigger(cursor, "record_event", act)
        for change, found in (
            ('UPDATE record_event SET payload = \'{"step": "other"}\' WHERE sequence = 2', 2),
            ("UPDATE record_event SET server_time = 'x' WHERE sequence = 3", 3),
            ("DELETE FROM record_event WHERE sequence = 2", 3),
            ("UPDATE record_event SET sequence = 9 WHERE sequence = 4", 9),
        ):
            with transaction.atomic():
                point = transaction.savepoint()
                cursor.execute(change)
                findings = chain.verified().findings
                assert findings[0].sequence == found
                transaction.savepoint_rollback(point)
    assert chain.verified().holds


def test_the_cache_dropped_and_rebuilt_is_the_same(entry: Any):
    append(entry, [said(entry, "read", 1, step=STEP), said(entry, "done-seen", 2, step=STEP)], NOW)
    kept = Entry.objects.values("stage", "position", "events_folded").get()
    assert kept == {"stage": "under-way", "position": 1, "events_folded": 3}

    Entry.objects.update(stage="closed", position=40, events_folded=0)
    assert rebuild() == 1
    assert Entry.objects.values("stage", "position", "events_folded").get() == kept


def upload(client: Client, entry: Any, *events: dict[str, Any]) -> Any:
    body = json.dumps({"events": list(events)})
    return client.post(f"/entries/{entry.pk}/events/", body, content_type="application/json")


def document(event: Event) -> dict[str, Any]:
    return {
        "id": event.id, "kind": event.kind, "payload": dict(event.payload), "device": event.device,
        "clock": event.clock, "counter": event.counter,
    }  # fmt: skip


def test_uploads_in_any_order_and_doubled_make_the_same_record(entry: Any, signed_in: Callable[[str], Client]):
    client = signed_in("tomas")
    first, second = said(entry, "read", 1, step=STEP), said(entry, "done-seen", 2, step=STEP)

    assert upload(client, entry, document(second)).json() == {"taken": [second.id], "known": []}
    assert upload(client, entry, document(first), document(second), document(first)).json() == {
        "taken": [first.id],
        "known": [second.id],
    }
    state = state_of(entry)
    assert (state.position, state.flags) == (1, ())


def test_an_unknown_kind_is_kept_through_an_upload(entry: Any, signed_in: Callable[[str], Client]):
    event = said(entry, "glove-sniffed", 1, by="petra", strength=0.5)

    assert upload(signed_in("tomas"), entry, document(event)).status_code == 200
    assert events_of(entry)[-1].payload == {"by": "petra", "strength": 0.5}
    assert state_of(entry).unknown == ("glove-sniffed",)


def test_a_press_that_arrives_twice_is_one(entry: Any, signed_in: Callable[[str], Client]):
    client = signed_in("tomas")
    press = {"press": "read", "step": STEP, "ids": ",".join(str(uuid7()) for _ in range(6)), "clock": ""}

    for _ in range(3):
        assert client.post(f"/entries/{entry.pk}/press/", press).status_code == 302
    assert [row.kind for row in Row.objects.all()] == ["opened", "read"]


# ---- the chain of a browser on the plain pages ----


def pressed(client: Client, entry: Any, press: str = "read", ids: str = "") -> None:
    said = {"press": press, "step": STEP, "ids": ids or ",".join(str(uuid7()) for _ in range(6)), "clock": ""}
    assert client.post(f"/entries/{entry.pk}/press/", said).status_code == 302


def test_what_a_browser_presses_is_chained_as_a_device_of_its_own_and_verified(
    entry: Any, signed_in: Callable[[str], Client]
):
    """Two browsers by turns, one press doubled: each has one chain, without a gap, with a head to print."""
    one, two = signed_in("tomas"), signed_in("tomas")
    doubled = ",".join(str(uuid7()) for _ in range(6))
    for client, press, ids in ((one, "read", ""), (two, "prompted", doubled), (two, "prompted", doubled)):
        pressed(client, entry, press, ids)
    pressed(one, entry, "acknowledged")
    one.post(f"/records/{entry.pk}/correct/", {"text": "It was the left cuff.", "reason": "misheard"})

    found = chain.verified()
    devices = {client.cookies["vestry-device"].value: client for client in (one, two)}
    heads = {head.device: head for head in found.devices if head.device in devices}
    assert (found.findings, found.unchained) == ((), 0)
    assert {device: head.events for device, head in heads.items()} == dict(zip(devices, (3, 1), strict=True))
    assert chain.verified(tuple(head.link for head in heads.values())).holds


@pytest.mark.parametrize("what", ["changed", "left out"])
def test_a_press_on_the_plain_pages_that_was_changed_or_left_out_breaks_its_devices_chain(
    entry: Any, signed_in: Callable[[str], Client], what: str
):
    client = signed_in("tomas")
    for press in ("read", "prompted", "acknowledged"):
        pressed(client, entry, press)
    rows = list(chain.rows())
    assert verify(rows).holds
    if what == "changed":
        rows[2]["said"]["kind"] = "done-seen"
    else:
        # As the server itself would have to leave it out: its own chain is made anew behind the gap.
        del rows[2]
        for number, row in enumerate(rows, 1):
            row["sequence"], row["previous"] = number, rows[number - 2]["hash"] if number > 1 else FIRST
            row["hash"] = hash_of(number, row["previous"], row["server-time"], row["commitment"], row["link"])

    assert {one.what for one in verify(rows).findings} == {"changed" if what == "changed" else "device"}


def test_two_presses_at_once_do_not_get_one_number_whatever_their_pages_said(
    entry: Any, signed_in: Callable[[str], Client]
):
    client = signed_in("tomas")
    for press in ("read", "prompted", "prompted"):
        pressed(client, entry, press)

    device = client.cookies["vestry-device"].value
    assert list(Row.objects.filter(device=device).values_list("device_counter", flat=True)) == [1, 2, 3]


def test_a_correction_is_an_event_beside_what_it_corrects(entry: Any, signed_in: Callable[[str], Client]):
    client = signed_in("tomas")
    client.post(f"/records/{entry.pk}/correct/", {"text": "It was the left cuff.", "reason": "misheard"})
    page = client.get(f"/records/{entry.pk}/").content.decode()

    assert "Correction" in page
    assert "It was the left cuff." in page
    assert [row.kind for row in Row.objects.all()] == ["opened", "correction"]

"""Keeping and letting go at the desk: nothing by default, two persons, holds win, and the record still verifies."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.utils import timezone
from tests.hospital.database import drop_trigger
from tests.hospital.recording import recorded, said

from vestry.entry.verifying import verify
from vestry.hospital.record import chain, kept
from vestry.hospital.record.models import Entry, Event, ExposureTaken, RecordRead
from vestry.hospital.record.store import append, rebuild
from vestry.hospital.retention import policies, purging
from vestry.hospital.retention.models import LetGo, Proposal, Removal
from vestry.hospital.retention.policies import NotSo

pytestmark = pytest.mark.django_db
SECRET = "tripped over the step stool"


def soon(days: int = 4000) -> datetime:
    return timezone.now() + timedelta(days=days)


def set_policy(staff: dict[str, Any], sort: Any, days: int = 3650) -> None:
    made = policies.propose(sort, days, "by law", "Records rule 7", staff["ingrid"], timezone.now())
    policies.confirm(made, staff["ada"], timezone.now())


def removed(staff: dict[str, Any], at: datetime | None = None) -> Removal:
    now = at or soon()
    return purging.confirm(purging.propose(staff["ingrid"], "due", now), staff["ada"], now)


@pytest.fixture
def over(entry: Any) -> Any:
    """An entry that is over, with a free text in it."""
    append(entry, [said(entry, "prompted", step="before.confirm:area-confirmed", note=SECRET)], timezone.now())
    recorded(entry)
    return Entry.objects.get()


def test_nothing_goes_by_default_however_old(over: Any, staff: dict[str, Any]):
    found = purging.due(soon(100_000))
    assert (found.policies, found.goes) == ({}, ())
    with pytest.raises(NotSo):
        purging.propose(staff["ingrid"], "because", soon())


def test_a_policy_needs_two_persons_who_are_lead_and_administrator(staff: dict[str, Any]):
    made = policies.propose("entries", 3650, "by law", "Rule 7", staff["ingrid"], timezone.now())
    assert policies.in_force() == {}
    for other in ("ingrid", "tomas", "oona"):
        with pytest.raises(NotSo):
            policies.confirm(made, staff[other], timezone.now())
    policies.confirm(made, staff["ada"], timezone.now())
    assert list(policies.in_force()) == ["entries"]
    policies.propose("entries", None, "asked to wait", "", staff["ada"], timezone.now())
    assert policies.in_force() == {}, "keeping for ever holds at once"


def test_after_a_removal_the_record_verifies_says_so_and_holds_what_was_said_no_more(
    over: Any, staff: dict[str, Any], django_capture_on_commit_callbacks: Any
):
    set_policy(staff, "entries")
    before, head = chain.verified(), chain.head()[1]
    listed = Entry.objects.values("stage", "deviations", "exposures", "entered_at", "left_at").get()

    kept.EVENTS.put(over.pk, 1, ())
    with django_capture_on_commit_callbacks(execute=True):
        done = removed(staff)

    found = chain.verified((head, *(one.link for one in before.devices)))
    assert found.holds
    assert found.emptied == before.events
    assert [(one.on, one.act) for one in found.removals] == [(done.at.date().isoformat(), str(done.pk))]
    assert "Records rule 7" in found.removals[0].policy
    assert not Event.objects.exclude(kind="content-removed").exclude(payload={}, actor="", salt=None).exists()
    entry = Entry.objects.get()
    assert {entry.wearer.name, entry.observer.name} == {"Name removed"}
    assert Entry.objects.values("stage", "deviations", "exposures", "entered_at", "left_at").get() == listed
    assert rebuild() == 1
    assert Entry.objects.values("stage", "deviations", "exposures", "entered_at", "left_at").get() == listed
    dumped = json.dumps(list(Event.objects.values()), default=str)
    assert SECRET not in dumped
    assert all(one.get(over.pk, count) is None for one in (kept.EVENTS, kept.STATES) for count in range(400))
    assert "noor" not in dumped


def test_after_a_removal_tampering_is_still_found(over: Any, staff: dict[str, Any]):
    set_policy(staff, "entries")
    removed(staff)
    with connection.cursor() as cursor:
        for act in ("update", "delete"):
            drop_trigger(cursor, "record_event", act)
        for change in (
            "UPDATE record_event SET kind = 'abandoned' WHERE sequence = 2",
            "UPDATE record_event SET device_clock = '2027-01-01T00:00:00.000+00:00' WHERE sequence = 3",
            "DELETE FROM record_event WHERE sequence = 2",
            "DELETE FROM record_event WHERE kind = 'content-removed'",
            "UPDATE record_event SET commitment = hash WHERE sequence = 4",
        ):
            with transaction.atomic():
                point = transaction.savepoint()
                cursor.execute(change)
                assert not chain.verified().holds, change
                transaction.savepoint_rollback(point)
    assert chain.verified().holds


def test_the_database_lets_go_of_nothing_that_no_confirmed_removal_names(over: Any, staff: dict[str, Any]):
    set_policy(staff, "entries")
    proposal = purging.propose(staff["ingrid"], "due", soon())
    LetGo.objects.create(proposal=proposal, of_table="record_event", key="2")
    empty = "UPDATE record_event SET salt = NULL, actor = '', payload = '{}' WHERE sequence = 2"
    named = Removal(proposal=proposal, counts={}, by=staff["ada"], at=timezone.now())
    other = "UPDATE record_event SET salt = NULL, actor = '', payload = '{}', kind = 'read' WHERE sequence = 2"

    def refused(statement: str) -> bool:
        try:
            with transaction.atomic(), connection.cursor() as cursor:
                cursor.execute(statement)
        except DatabaseError as why:
            return "written once" in str(why)
        return False

    assert refused(empty), "proposed, not confirmed"
    named.save()
    assert refused(other), "more than the content"
    assert refused(empty.replace("sequence = 2", "sequence = 3")), "another row"
    assert refused("DELETE FROM record_event WHERE sequence = 2")
    assert not refused(empty)


def test_a_hold_wins_also_one_set_after_the_proposal(over: Any, staff: dict[str, Any]):
    set_policy(staff, "entries")
    proposal = purging.propose(staff["ingrid"], "due", soon())
    held = policies.hold("person", "noor", "a claim", staff["oona"], timezone.now())
    assert purging.due(soon()).goes == ()
    with pytest.raises(NotSo, match="held"):
        purging.confirm(proposal, staff["ada"], soon())
    assert not Event.objects.filter(salt=None).exists()
    assert not Removal.objects.exists()
    policies.lift(held, "settled", staff["oona"], timezone.now())
    assert len(purging.due(soon()).goes) == 1


def test_what_is_under_way_never_goes_and_a_removal_twice_is_one(entry: Any, staff: dict[str, Any]):
    set_policy(staff, "entries")
    assert purging.due(soon()).goes == ()
    recorded(entry)
    proposal = purging.propose(staff["ingrid"], "due", soon())
    with pytest.raises(NotSo, match="Somebody else"):
        purging.confirm(proposal, staff["ingrid"], soon())
    purging.confirm(proposal, staff["ada"], soon())
    events = Event.objects.count()
    with pytest.raises(NotSo, match="done already"):
        purging.confirm(proposal, staff["ada"], soon())
    assert purging.due(soon()).goes == ()
    assert Event.objects.count() == events


def test_an_exposure_outlives_its_entry_and_goes_only_when_taken_up_and_under_its_own_policy(
    exposed: Any, staff: dict[str, Any]
):
    entry = exposed.entry
    recorded(entry)
    set_policy(staff, "entries")
    removed(staff)
    assert Event.objects.get(pk=exposed.pk).payload["site"] == "eyes"
    assert Entry.objects.get().wearer.name == "Noor Hadley", "occupational health still needs to know whose it is"
    set_policy(staff, "health")
    assert purging.due(soon()).goes == (), "nobody has taken it up"
    ExposureTaken.objects.create(event=exposed, by=staff["oona"], at=timezone.now())
    removed(staff, soon(4001))
    assert Event.objects.get(pk=exposed.pk).payload == {}
    assert Entry.objects.get().exposures == 1
    assert Entry.objects.get().wearer.name == "Name removed"
    assert chain.verified().holds


def test_a_tablet_that_sends_again_what_was_removed_brings_nothing_back(over: Any, staff: dict[str, Any]):
    again = said(over, "prompted", step="before.confirm:area-confirmed", note=SECRET)
    append(over, [again], timezone.now())
    set_policy(staff, "entries")
    removed(staff)
    assert append(Entry.objects.get(), [again], timezone.now()).known == (again.id,)
    assert Event.objects.get(client_id=again.id).payload == {}


def test_a_device_cannot_say_that_content_was_removed(over: Any, signed_in: Callable[[str], Client]):
    event = {
        "id": "01936f2f-0000-7000-8000-0000000000aa", "kind": "content-removed", "device": str(over.pk),
        "clock": "2027-11-25T04:00:00Z", "counter": 1,
        "payload": {"on": "x", "policy": "x", "act": "1", "places": ["1"], "left": "x"},
    }  # fmt: skip
    answer = signed_in("tomas").post(
        f"/entries/{over.pk}/events/", json.dumps({"events": [event]}), content_type="application/json"
    )
    assert answer.status_code == 422


def test_pages_and_files_of_a_record_say_the_gap(over: Any, staff: dict[str, Any], signed_in: Callable[[str], Client]):
    set_policy(staff, "entries")
    removed(staff)
    client = signed_in("anselm")
    page = client.get(f"/records/{over.pk}/").content.decode()
    assert "said was removed on" in page
    assert "Records rule 7" in page
    assert "None was said" not in page
    assert "may not go in" not in page, "what a check said is gone, not turned into its opposite"
    assert "data-replay" not in page
    document = json.loads(client.get(f"/records/{over.pk}/record.json").content)
    assert verify(document["events"], document["heads"]).holds
    assert sum("left" in one for one in document["events"]) > 50
    assert "content-removed" in client.get(f"/records/{over.pk}/events.csv").content.decode()
    assert client.get(f"/records/{over.pk}/replay/").status_code == 200


def test_reads_and_what_tablets_leave_go_row_by_row_and_a_hold_keeps_its_own(
    over: Any, staff: dict[str, Any], wearer_link: str
):
    for name in ("ingrid", "anselm"):
        RecordRead.objects.create(entry=None, what="log", by=staff[name], at=timezone.now())
    set_policy(staff, "reads")
    set_policy(staff, "tablets")
    policies.hold("person", "anselm", "asked for", staff["oona"], timezone.now())
    counts = removed(staff).counts
    assert set(counts) == {"reads", "tablets"}
    assert [one.by.sign_in for one in RecordRead.objects.all()] == ["anselm"]
    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("DELETE FROM record_recordread")


def test_somebody_no_longer_here_loses_name_and_notes_when_no_record_needs_them(
    over: Any, registered: Any, staff: dict[str, Any]
):
    from vestry.hospital.access import giving
    from vestry.hospital.registers.models import PersonNote, RegisteredPerson

    set_policy(staff, "people")
    giving.let(staff["noor"], False, staff["ada"], "left", timezone.now())
    RegisteredPerson.objects.filter(pk=registered.pk).update(active=False)
    assert purging.due(soon()).stays("people") == {"needed": 1}
    set_policy(staff, "entries")
    removed(staff)
    removed(staff, soon(4001))
    person = RegisteredPerson.objects.get()
    staff["noor"].refresh_from_db()
    assert (person.name, staff["noor"].name, staff["noor"].has_usable_password()) == ("Name removed",) * 2 + (False,)
    assert not PersonNote.objects.exists()


def test_old_lines_of_the_log_of_refusals_go_and_others_stay(staff: dict[str, Any], tmp_path: Path, settings: Any):
    settings.DATA = tmp_path
    line = '{"at": "%s", "who": "%s", "from": "::1", "what": "GET /", "status": 403, "why": "x"}\n'
    old, new = "2020-01-01T00:00:00+00:00", timezone.now().astimezone(UTC).isoformat()
    (tmp_path / "refused.log").write_text(line % (old, "noor") + line % (new, "noor") + "no line of ours\n")
    (tmp_path / "refused.log.1").write_text(line % (old, "tomas") + line % (old, "noor"))
    set_policy(staff, "refusals", 400)
    policies.hold("person", "tomas", "asked for", staff["oona"], timezone.now())
    now = timezone.now()
    with (tmp_path / "refused.log").open("a") as server:
        done = purging.confirm(purging.propose(staff["ingrid"], "due", now), staff["ada"], now)
        server.write(line % (new, "petra"))
    assert done.counts == {"refusals": 2}
    assert (tmp_path / "refused.log.1").read_text() == line % (old, "tomas")
    assert (tmp_path / "refused.log").read_text() == line % (new, "noor") + "no line of ours\n" + line % (new, "petra")


def test_the_whole_way_on_the_pages_takes_two(over: Any, staff: dict[str, Any], signed_in: Callable[[str], Client]):
    lead, administrator = signed_in("ingrid"), signed_in("ada")
    told = {"sort": "entries", "days": "3650", "reason": "by law", "source": ""}
    assert lead.post("/keeping/", told).status_code == 422, "no law named"
    assert lead.post("/keeping/", told | {"source": "Rule 7", "days": "3"}).status_code == 422
    assert lead.post("/keeping/", told | {"source": "Rule 7"}).status_code == 302
    policy = policies.waiting()[0]
    lead.post(f"/keeping/policies/{policy.pk}/confirm/")
    assert policies.in_force() == {}
    administrator.post(f"/keeping/policies/{policy.pk}/confirm/")
    assert policies.in_force()
    assert lead.post("/keeping/purges/", {"reason": "due"}).status_code == 422, "nothing is old enough"
    proposal = purging.propose(staff["ingrid"], "due", soon())
    for page in ("/keeping/", "/keeping/holds/", "/keeping/purges/", f"/keeping/purges/{proposal.pk}/"):
        assert signed_in("anselm").get(page).status_code == 200
        assert "Noor" not in administrator.get(page).content.decode()
    assert lead.post(f"/keeping/purges/{proposal.pk}/", {"sure": "on"}).status_code == 409
    assert administrator.post(f"/keeping/purges/{proposal.pk}/", {}).status_code == 422
    hold = {"sort": "entry", "named": str(over.pk), "reason": "a claim"}
    assert lead.post("/keeping/holds/", hold | {"named": "x"}).status_code == 422
    assert lead.post("/keeping/holds/", hold).status_code == 302
    assert administrator.post(f"/keeping/purges/{proposal.pk}/", {"sure": "on"}).status_code == 409
    held = policies.holds_now()[0]
    assert lead.post(f"/keeping/holds/{held.pk}/lift/", {"reason": ""}).status_code == 302
    assert policies.holds_now() == [held]
    lead.post(f"/keeping/holds/{held.pk}/lift/", {"reason": "settled"})
    assert administrator.post(f"/keeping/purges/{proposal.pk}/", {"sure": "on"}).status_code == 302
    assert Event.objects.filter(salt=None).exists()
    assert Proposal.objects.count() == 1

"""The board: who is inside and until when, the lane, relief; cheap to ask; clear only when all of it is done."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import DatabaseError, connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from tests.hospital import walking

from vestry.hospital.board import looking
from vestry.hospital.board.models import BoardChoice, CaseConfirmed
from vestry.hospital.call.models import UnitListVersion
from vestry.hospital.record.kept import Newest
from vestry.hospital.record.models import Entry
from vestry.hospital.record.store import state_of

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]
LARGEST = 24_000
"""Bytes of what the wall asks for every few seconds, with as many rows as it shows."""
MOST_QUERIES = 12


@pytest.fixture
def enter(version: Any, staff: dict[str, Any]) -> Callable[..., Entry]:
    def one(name: str, how: Callable[..., None], *said: Any, drill: bool = False, **more: Any) -> Entry:
        entry = walking.open_entry(version, staff[name], staff["tomas"], staff["stranger"], drill=drill)
        how(entry, *said, **more)
        return entry

    return one


@pytest.fixture
def first_names(staff: dict[str, Any]) -> None:
    BoardChoice.objects.create(names="first-names", reason="for tests", by=staff["ingrid"], at=timezone.now())


def now(client: Client) -> str:
    return client.get("/board/now/").content.decode()


def words(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def test_an_empty_board_says_so(signed_in: Sign, version: Any):
    page = words(signed_in("sander").get("/board/").content.decode())

    assert "Nobody is inside." in page
    assert "Lane free" in page


def test_who_is_inside_in_what_and_how_long_who_has_the_lane_and_who_is_relief(
    signed_in: Sign, enter: Callable[..., Entry], first_names: None
):
    enter("noor", walking.into_the_lane, 60)
    enter("petra", walking.into_the_room, 30)
    enter("sander", walking.dressed, 5)
    page = words(now(signed_in("noor")))

    assert "Lane in use: Noor" in page
    assert re.search(r"Petra gown, respirator, shield .*start out by \d\d:\d\d.* 90 min left", page)
    assert re.search(r"Sander, dressed since \d\d:\d\d", page)
    assert re.search(r"confirmed \d\d:\d\d", page)
    assert "Hadley" not in page


def test_the_limit_is_the_one_that_the_entry_was_opened_with(
    signed_in: Sign, version: Any, staff: dict[str, Any], first_names: None
):
    entry = walking.open_entry(version, staff["noor"], staff["tomas"])
    kind, said = walking.opened(entry)
    shorter = said | {"limit-minutes": "45", "limit-by": "core", "limit-why": "predicted"}
    walking.say(entry, [(kind, shorter)], timezone.now() - timedelta(minutes=60))
    walking.say(entry, walking.steps(entry, "before", "donning"), timezone.now() - timedelta(minutes=50))
    walking.say(entry, walking.steps(entry, "entry", count=2), timezone.now() - timedelta(minutes=30))

    assert " 15 min left" in words(now(signed_in("sander")))


def test_a_sheet_that_is_being_typed_in_is_told_as_paper_and_keeps_its_clock(
    signed_in: Sign, enter: Callable[..., Entry], first_names: None
):
    """Where a tablet failed and its sheet is typed in, somebody may still be inside, over the limit."""
    entry = enter("petra", walking.into_the_room, 300)
    before = words(now(signed_in("noor")))
    walking.say(entry, [("late-transcribed", {})], timezone.now())
    page = now(signed_in("noor"))

    assert "Petra gown" in before
    assert "Petra on paper, being typed in: ask where they are" in words(page)
    assert re.search(r"\d+ min over the limit", words(page))
    assert "data-until" in page


def test_names_are_initials_until_the_unit_chooses(signed_in: Sign, enter: Callable[..., Entry], staff: Any):
    enter("noor", walking.into_the_room, 30)
    page = words(now(signed_in("sander")))
    assert " NH " in page
    assert "Noor" not in page

    said = {"names": "numbers", "reason": "visitors pass", "turnaround_minutes": ""}
    assert signed_in("ingrid").post("/board/choice/", said).status_code == 302
    assert "wearer 1" in words(now(signed_in("sander")))
    assert signed_in("ingrid").post("/board/choice/", {"names": "all of it", "reason": ""}).status_code == 422


def test_the_lane_is_clear_only_when_each_part_was_said(
    signed_in: Sign, enter: Callable[..., Entry], first_names: None
):
    entry = enter("noor", walking.out, 3)
    client = signed_in("petra")
    for task in ("seat", "floor", "bins"):
        client.post("/lane/", {"press": task, "entry": entry.pk})
        client.post("/lane/", {"press": task, "entry": entry.pk})
        assert "Lane to be cleared" in now(client)
    assert "after Noor: restock to do" in now(client)
    client.post("/lane/", {"press": "restock", "entry": entry.pk})

    assert "Lane free" in now(client)
    assert state_of(entry).lane_cleared_at is not None
    assert [one.kind for one in state_of(entry).noted].count("lane-cleared") == 4


def test_what_one_left_is_told_to_the_next(signed_in: Sign, enter: Callable[..., Entry], first_names: None):
    enter("noor", walking.out, 3)
    enter("petra", walking.into_the_room, 30)

    assert "may be contaminated when Petra comes: floor" in now(signed_in("sander"))
    page = words(signed_in("sander").get("/lane/").content.decode())
    assert "As taught, the next way out reaches nothing of the wearer through it." in page


def test_a_drill_is_marked_and_changes_nothing_of_those_inside(
    signed_in: Sign, enter: Callable[..., Entry], first_names: None
):
    enter("noor", walking.into_the_room, 30)
    before = now(signed_in("sander"))
    enter("petra", walking.into_the_lane, 30, drill=True)
    after = now(signed_in("sander"))

    live, drill = after.split('data-drill="yes"')
    assert "Drill" in words(drill)
    assert "Petra" in drill
    assert "Petra" not in live
    assert re.search(r"start out by.*?(\d\d:\d\d)", before, re.S)[1] in live


def test_who_went_in_and_whose_entry_ended_early_stays_until_they_are_out(
    signed_in: Sign, enter: Callable[..., Entry], first_names: None
):
    entry = enter("noor", walking.into_the_room, 30)
    walking.say(entry, [("abandoned", {"reason": "led otherwise"})], timezone.now())
    client = signed_in("sander")
    assert "entry ended early, led otherwise" in now(client)

    client.post("/lane/", {"press": "out", "entry": entry.pk})
    assert "Lane to be cleared" in now(client)


def test_the_case_is_confirmed_by_those_who_answer_for_it(signed_in: Sign, enter: Callable[..., Entry]):
    enter("noor", walking.into_the_room, 30)
    assert "Case not confirmed yet" in now(signed_in("sander"))
    assert signed_in("noor").post("/lane/confirm/", {"case": "example"}).status_code == 403
    assert signed_in("sander").post("/lane/confirm/", {"case": ""}).status_code == 422

    signed_in("sander").post("/lane/confirm/", {"case": "example"})
    assert "Case last confirmed" in now(signed_in("sander"))
    assert CaseConfirmed.objects.count() == 1


def test_the_same_again_is_told_without_a_body(
    signed_in: Sign, enter: Callable[..., Entry], monkeypatch: pytest.MonkeyPatch
):
    enter("noor", walking.into_the_room, 30)
    client, moment = signed_in("sander"), timezone.now()
    monkeypatch.setattr("vestry.hospital.board.views.timezone.now", lambda: moment)
    first = client.get("/board/now/")
    again = client.get("/board/now/", HTTP_IF_NONE_MATCH=first["ETag"])
    assert (again.status_code, again.content, again["ETag"]) == (304, b"", first["ETag"])

    enter("petra", walking.into_the_room, 10)
    assert client.get("/board/now/", HTTP_IF_NONE_MATCH=first["ETag"]).status_code == 200


def test_calls_that_are_to_be_made_stand_there_until_they_are(signed_in: Sign, version: Any, taken_call: Any):
    client = signed_in("sander")
    names = [one.say for one in UnitListVersion.in_force("calls")[1].items]
    page = words(now(client))
    assert f"0 of {len(names)} made" in page
    assert names[0] in page

    ticked = {"line": str(uuid.uuid4()), "kind": "made", "item": UnitListVersion.in_force("calls")[1].items[0].id}
    assert client.post(f"/calls/{taken_call.pk}/", ticked).status_code == 302
    page = words(now(client))
    assert f"1 of {len(names)} made" in page
    assert names[0] not in page


@pytest.mark.slow
def test_it_is_cheap_however_many_entries_there_are(
    signed_in: Sign, version: Any, staff: dict[str, Any], monkeypatch: pytest.MonkeyPatch
):
    """Payload and number of queries, with one entry and with many; the second time nothing is folded again."""
    client, counts = signed_in("sander"), []
    for many in (1, 12):
        for _ in range(many):
            walking.into_the_room(walking.open_entry(version, staff["noor"], staff["tomas"]), 30)
        client.get("/board/now/")  # what is made once is made
        monkeypatch.setattr(looking, "STATES", Newest(600))
        with CaptureQueriesContext(connection) as cold:
            assert len(client.get("/board/now/").content) < LARGEST
        with CaptureQueriesContext(connection) as warm:
            client.get("/board/now/")
        counts.append((len(cold), len(warm)))

    assert counts[0] == counts[1]
    assert max(counts[1]) <= MOST_QUERIES
    assert counts[1][1] == counts[1][0] - 1


def test_rows_of_the_board_are_written_once(staff: dict[str, Any], first_names: None):
    with pytest.raises(DatabaseError, match="written once"), connection.cursor() as cursor:
        cursor.execute("UPDATE board_boardchoice SET names = 'numbers'")


def test_bad_input_is_told_and_nothing_is_stored(signed_in: Sign, enter: Callable[..., Entry]):
    entry = enter("noor", walking.out, 3)
    client = signed_in("sander")
    for said in ({}, {"press": "sweep", "entry": entry.pk}, {"press": "seat", "entry": "x"}):
        assert client.post("/lane/", said).status_code == 422
    assert state_of(entry).lane_done == ()

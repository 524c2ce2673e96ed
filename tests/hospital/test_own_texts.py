"""The unit's own texts beside the steps: written at the desk by version, carried by entries opened from then on."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from django.db import DatabaseError, transaction
from django.test import Client

from vestry.entry.beside import HOLD_CARD, LONGEST_LINE, MOST_LINES
from vestry.hospital.anteroom.bundling import bundle_of
from vestry.hospital.anteroom.models import OwnTextVersion

SignIn = Callable[[str], Client]


def write(lead: Client, name: str, lines: str, seen: int = 0, reason: str = "for tests") -> Any:
    return lead.post(f"/own-texts/{name}/", {"lines": lines, "reason": reason, "seen": seen})


def carried(entry: Any) -> dict[str, Any]:
    return {one["id"]: one for one in json.loads(bundle_of(entry))["prepared"]}


def begin(observer: Client, version: Any) -> Any:
    from vestry.hospital.record.models import Entry

    people = {"wearer": "petra", "observer": "tomas", "assistant": "noor"}
    assert observer.post(f"/procedures/{version.pk}/start/", people).status_code == 302
    return Entry.objects.first()


def test_an_entry_opened_afterwards_carries_it_and_one_under_way_keeps_what_it_had(
    entry: Any, version: Any, signed_in: SignIn
):
    before = carried(entry)
    assert write(signed_in("ingrid"), "unwell", "Hands still.\n\n  Sit   down.  \n").status_code == 302
    assert carried(entry) == before
    assert before["unwell"]["own"] is False

    later = carried(begin(signed_in("tomas"), version))
    assert later["unwell"]["lines"] == ["Hands still.", "Sit down."]
    assert (later["unwell"]["own"], later["unwell"]["version"], later["unwell"]["by"]) == (True, 1, "Ingrid Vell")
    assert later["lost-air"] == before["lost-air"]

    assert write(signed_in("ingrid"), "unwell", "", seen=1).status_code == 302
    assert carried(begin(signed_in("tomas"), version))["unwell"] == before["unwell"]


def test_a_hold_card_is_carried_only_where_the_unit_has_one(entry: Any, version: Any, signed_in: SignIn):
    assert HOLD_CARD not in carried(entry)
    write(signed_in("ingrid"), HOLD_CARD, "Arms out.\nWe call the shift lead.")
    assert carried(begin(signed_in("tomas"), version))[HOLD_CARD]["lines"] == ["Arms out.", "We call the shift lead."]


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ("", "no text of the unit&#x27;s own to take back"),
        ("\n \n", "no text of the unit&#x27;s own to take back"),
        ("x" * (LONGEST_LINE + 1), f"Line 1 has {LONGEST_LINE + 1} letters"),
        ("\n".join(["Wait."] * (MOST_LINES + 1)), f"at most {MOST_LINES}"),
        ("Wait.\n😀", "Line 2 has a sign that cannot be printed"),
    ],
)
def test_what_is_too_long_or_unprintable_or_nothing_is_refused(lines: str, told: str, signed_in: SignIn):
    answer = write(signed_in("ingrid"), "lost-air", lines)
    assert answer.status_code == 422
    assert told in answer.content.decode()
    assert not OwnTextVersion.objects.exists()


def test_sent_twice_it_is_written_once_and_of_two_leads_the_second_is_told(signed_in: SignIn):
    assert write(signed_in("ingrid"), "unwell", "Hands still.").status_code == 302
    again = write(signed_in("ingrid"), "unwell", "Hands quite still.")
    assert again.status_code == 422
    assert "Another version was written meanwhile" in again.content.decode()
    assert OwnTextVersion.objects.count() == 1
    assert "in force already" in write(signed_in("ingrid"), "unwell", "Hands still.", seen=1).content.decode()


def test_whose_text_it_is_stands_beside_it_and_every_version_stays(signed_in: SignIn):
    page = signed_in("noor").get("/own-texts/").content.decode()
    assert page.count("What is shown until the unit has written its own") == 4
    write(signed_in("ingrid"), "unwell", "First words.")
    write(signed_in("ingrid"), "unwell", "Second words.", seen=1)
    page = signed_in("noor").get("/own-texts/unwell/").content.decode()
    assert "version 2" in page
    assert "First words." in page
    assert "A new version" not in page
    assert signed_in("noor").post("/own-texts/unwell/", {}).status_code == 403
    assert signed_in("ingrid").get("/own-texts/nothing/").status_code == 404


def test_no_version_is_changed_whoever_asks(signed_in: SignIn):
    from django.db import connection

    write(signed_in("ingrid"), "unwell", "Hands still.")
    with pytest.raises(DatabaseError, match="written once"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE anteroom_owntextversion SET reason = 'another'")


def test_the_printed_sheet_has_them_each_with_whose_it_is(version: Any, signed_in: SignIn, monkeypatch: Any):
    from vestry.hospital.anteroom.own_texts import on_paper

    write(signed_in("ingrid"), "lost-air", "To the door.\nSay: lost air.")
    marks = {one.name: (one.lines, one.mark) for one in on_paper().texts}
    assert marks["Air is lost"][0] == ("To the door.", "Say: lost air.")
    assert "version 1" in marks["Air is lost"][1]
    assert "Ingrid Vell" in marks["Air is lost"][1]
    assert "Not the unit's own text" in marks["Hold card"][1]
    answer = signed_in("tomas").get(f"/procedures/{version.pk}/sheet.pdf")
    assert answer.content.startswith(b"%PDF")

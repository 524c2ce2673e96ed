"""Scanning onto those in an entry: told at once, overridden by name, posted at close in place of a guess."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any

import pytest
from django.db import DatabaseError, connection
from django.test import Client
from django.utils import timezone
from tests.hospital.conftest import stocked
from tests.hospital.registers.test_stock import balances, close, dress, shelf  # noqa: F401

from vestry.hospital.record.models import Entry
from vestry.hospital.registers.models import (
    EntryGear,
    EntryPosting,
    StockMovement,
    StockQuarantine,
    StockUnit,
    StockUnitEvent,
)

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]
GOWN = "gown-impermeable"


def scan(client: Client, entry: Any, code: str, part: str = "wearer", **more: Any) -> Any:
    said = {"act": "scan", "code": code, "part": part, "quantity": 1}
    return client.post(f"/entries/{entry.pk}/gear/", said | more)


def page(answer: Any) -> str:
    return str(answer.content.decode())


@pytest.mark.slow
def test_a_scanned_lot_is_posted_in_place_of_the_first_to_expire_and_names_the_entry(
    signed_in: Sign,
    staff: dict[str, Any],
    entry: Any,
    registered: Any,
    shelf: dict[str, Any],  # noqa: F811
) -> None:
    dress(signed_in("ingrid"), signed_in("oona"), registered)
    later = stocked(staff["ingrid"], GOWN, "m", 5, "LATER", expiry=datetime.date(2033, 1, 1), gtin="51022222233336")

    assert scan(signed_in("tomas"), entry, "(01)51022222233336(10)LATER").status_code == 302
    assert "scanned; the entry is not over" in page(signed_in("ingrid").get(f"/stock/lots/{later.pk}/"))
    close(entry)

    mine = StockMovement.objects.filter(entry=entry, part="wearer")
    assert [(one.lot_id, one.assumed) for one in mine if one.lot.item == GOWN] == [(later.pk, False)]
    assert all(one.assumed for one in mine if one.lot.item != GOWN)
    assert balances()[(later.pk, "store")] == 4
    used = page(signed_in("ingrid").get(f"/stock/lots/{later.pk}/"))
    assert f"/records/{entry.pk}/" in used
    assert "the lot was scanned" in used
    assert "the entry is not over" not in used


def test_on_hold_expired_and_of_another_size_is_told_at_once_and_needs_a_name_and_a_reason(
    signed_in: Sign, staff: dict[str, Any], entry: Any, registered: Any
) -> None:
    dress(signed_in("ingrid"), signed_in("oona"), registered)
    bad = stocked(staff["ingrid"], GOWN, "xl", 5, "BAD", expiry=timezone.localdate() - datetime.timedelta(days=1))
    StockQuarantine.objects.create(lot=bad, act="held", at=timezone.now(), by=staff["ingrid"], why="seam")
    client = signed_in("tomas")

    told = scan(client, entry, "bad")
    assert told.status_code == 422
    for says in ("On hold", "expired", "Not their size; theirs is: M"):
        assert says.lower() in page(told).lower()
    assert scan(client, entry, "bad", decided_by="Sander Brook").status_code == 422
    assert not EntryGear.objects.exists()

    assert scan(client, entry, "bad", decided_by="Sander Brook", reason="nothing else is left").status_code == 302
    row = EntryGear.objects.get()
    assert (row.troubles, row.decided_by) == (["on-hold", "expired", "wrong-size"], "Sander Brook")
    assert "decided by Sander Brook: nothing else is left" in page(client.get(f"/entries/{entry.pk}/gear/"))
    close(entry)
    assert StockMovement.objects.get(lot=bad, entry=entry).assumed is False
    with pytest.raises(DatabaseError), connection.cursor() as cursor:
        cursor.execute("UPDATE registers_entrygear SET reason = ''")


@pytest.mark.parametrize("code", ["", "nothing-like-it", "(01)51022222233336(10)Q", "\x00", "=1+1", "]" * 400])
def test_a_code_that_nobody_knows_is_said_and_nothing_is_stored(signed_in: Sign, entry: Any, code: str) -> None:
    assert scan(signed_in("tomas"), entry, code).status_code == 422
    assert not EntryGear.objects.exists()


def test_a_code_of_two_sizes_is_asked_about(signed_in: Sign, staff: dict[str, Any], entry: Any) -> None:
    for size in ("m", "l"):
        lot = stocked(staff["ingrid"], GOWN, size, 5, "TWO")
    client = signed_in("tomas")

    assert "Which is it?" in page(scan(client, entry, "TWO"))
    assert scan(client, entry, "TWO", chosen=str(lot.pk)).status_code == 302
    assert EntryGear.objects.get().lot == lot


def test_a_wrong_scan_is_taken_back_and_not_posted(
    signed_in: Sign,
    entry: Any,
    registered: Any,
    shelf: dict[str, Any],  # noqa: F811
    staff: dict[str, Any],
) -> None:
    dress(signed_in("ingrid"), signed_in("oona"), registered)
    wrong = stocked(staff["ingrid"], GOWN, "m", 5, "WRONG", expiry=datetime.date(2033, 1, 1))
    client = signed_in("tomas")
    scan(client, entry, "WRONG")
    said = {"act": "back", "gear": str(EntryGear.objects.get().pk)}

    for _ in range(2):
        assert client.post(f"/entries/{entry.pk}/gear/", said).status_code == 302
    assert client.post(f"/entries/{entry.pk}/gear/", said | {"gear": "x"}).status_code == 422
    close(entry)

    assert not StockMovement.objects.filter(entry=entry, lot=wrong).exists()


def test_the_teams_own_gear_is_posted_from_what_was_scanned_onto_them(
    signed_in: Sign, staff: dict[str, Any], entry: Any
) -> None:
    gown = stocked(staff["ingrid"], "gown-fluid-resistant", "l", 5, "TEAM")
    scan(signed_in("tomas"), entry, "TEAM", part="observer")
    close(entry)

    mine = StockMovement.objects.filter(entry=entry, lot=gown)
    assert [(one.part, one.quantity, one.assumed) for one in mine] == [("observer", 1, False)]
    parts = {one["part"] for one in EntryPosting.objects.get().wanting}
    assert parts == {"wearer", "observer", "assistant"}


def test_an_observer_of_two_entries_at_once_wears_one_set(
    signed_in: Sign, staff: dict[str, Any], version: Any, entry: Any
) -> None:
    stocked(staff["ingrid"], "gown-fluid-resistant", "l", 5, "TEAM")
    said = {"wearer": "petra", "observer": "tomas", "assistant": "noor"}
    signed_in("tomas").post(f"/procedures/{version.pk}/start/", said)
    second = Entry.objects.exclude(pk=entry.pk).get()
    scan(signed_in("tomas"), entry, "TEAM", part="observer")
    close(entry)
    close(second)

    assert StockMovement.objects.filter(entry=entry, part="observer").exists()
    assert not StockMovement.objects.filter(entry=second, part="observer").exists()
    posted = EntryPosting.objects.get(entry=second)
    assert "observer" not in {one["part"] for one in posted.wanting}
    assert "assistant" in {one["part"] for one in posted.wanting}


def test_a_unit_that_is_not_ready_is_told_and_one_that_was_worn_is_to_be_cleaned(
    signed_in: Sign, staff: dict[str, Any], powered_unit: StockUnit, entry: Any
) -> None:
    client = signed_in("tomas")

    told = scan(client, entry, "bu-1")
    assert told.status_code == 422
    assert "this unit is not ready" in page(told).lower()
    assert "nothing of this kind is put on here" in page(told).lower()
    scan(client, entry, "bu-1", decided_by="Sander Brook", reason="in hand")
    other = scan(signed_in("tomas"), entry, "BU-1", decided_by="", reason="")
    assert "on somebody in an entry that is not over" in page(other)
    close(entry)

    # The plan of this entry wears no powered respirator: what was never put on was not used.
    assert not StockUnitEvent.objects.exists()


def test_a_drill_keeps_its_scans_and_posts_nothing(signed_in: Sign, staff: dict[str, Any], version: Any) -> None:
    lot = stocked(staff["ingrid"], GOWN, "m", 5, "DRILL")
    people = {"wearer": "noor", "observer": "tomas", "assistant": "petra", "drill": "on", "scan": "yes"}
    answer = signed_in("tomas").post(f"/procedures/{version.pk}/start/", people)
    drill = Entry.objects.get()
    assert answer.headers["Location"] == f"/entries/{drill.pk}/gear/"

    assert scan(signed_in("tomas"), drill, "DRILL").status_code == 302
    close(drill)

    assert not StockMovement.objects.filter(entry=drill).exists()
    assert "scanned in a drill: nothing is posted" in page(signed_in("ingrid").get(f"/stock/lots/{lot.pk}/"))


def test_a_late_scan_is_kept_marked_and_leaves_the_ledger(
    signed_in: Sign,
    entry: Any,
    registered: Any,
    shelf: dict[str, Any],  # noqa: F811
    staff: dict[str, Any],
) -> None:
    dress(signed_in("ingrid"), signed_in("oona"), registered)
    late = stocked(staff["ingrid"], GOWN, "m", 5, "LATE", expiry=datetime.date(2033, 1, 1))
    close(entry)
    before = balances()

    assert scan(signed_in("tomas"), entry, "LATE").status_code == 302

    assert EntryGear.objects.get().late
    assert balances() == before
    shown = page(signed_in("ingrid").get(f"/stock/lots/{late.pk}/"))
    assert "scanned after the entry's use was posted" in shown


def test_only_who_leads_the_entry_scans_for_it(signed_in: Sign, entry: Any) -> None:
    address = f"/entries/{entry.pk}/gear/"
    assert signed_in("sander").get(address).status_code == 200
    assert signed_in("stranger").get(address).status_code == 404
    assert signed_in("noor").get(address).status_code == 403

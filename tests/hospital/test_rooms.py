"""Rooms on the desk: register, checks with limits, disinfectant, bags on hold, air and turnaround."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.utils import timezone

from vestry.hospital.access.table import TABLE
from vestry.hospital.keeping import WrittenOnce
from vestry.hospital.rooms.mapper import bags
from vestry.hospital.rooms.models import BagHappened, MadeUp, RoomCheck, RoomVersion
from vestry.room.waste import who_may
from vestry.trade.operations import load_operations

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]


@pytest.fixture
def room(staff: dict[str, Any]) -> RoomVersion:
    return RoomVersion.objects.create(
        code="room-1",
        name="Room 1",
        kind="isolation-new",
        ach=Decimal(12),
        volume=Decimal(50),
        mixing=Decimal(1),
        reason="for tests",
        by=staff["ingrid"],
        at=timezone.now(),
    )


def page(answer: Any) -> str:
    return str(answer.content.decode())


# ---- the register ----

ROOM = {
    "code": "room-2",
    "name": "Room 2",
    "kind": "isolation-existing",
    "ach": "5",
    "volume": "1800 ft3",
    "mixing": "3",
}


def test_the_lead_writes_a_room_in_any_unit_and_sees_what_it_does_not_keep(signed_in: Sign) -> None:
    answer = signed_in("ingrid").post("/rooms/", ROOM | {"reason": "measured"})

    assert answer.status_code == 302
    assert RoomVersion.objects.get().volume == Decimal("50.970")
    assert "under 6" in page(signed_in("anselm").get("/rooms/"))


def test_a_new_version_stands_over_the_old_one_and_both_are_kept(signed_in: Sign, room: RoomVersion) -> None:
    signed_in("ingrid").post("/rooms/", ROOM | {"code": "room-1", "name": "Room One", "reason": "renamed"})
    listed = page(signed_in("ingrid").get("/rooms/"))

    assert listed.count('<th scope="row">') == 1
    assert "Room One" in listed
    assert RoomVersion.objects.count() == 2


@pytest.mark.parametrize(
    ("field", "typed"),
    [("ach", "nan"), ("ach", "500"), ("volume", "5 gal"), ("volume", "0"), ("mixing", "0"), ("code", "Room 2")],
)
def test_a_room_that_cannot_be_is_refused_and_nothing_is_stored(signed_in: Sign, field: str, typed: str) -> None:
    answer = signed_in("ingrid").post("/rooms/", ROOM | {"reason": "x", field: typed})

    assert answer.status_code == 422
    assert f"#field-{field}" in page(answer)
    assert not RoomVersion.objects.exists()


# ---- checks ----


def read(client: Client, reading: str, **more: str) -> Any:
    return client.post("/rooms/checks/", {"room": "room-1", "measure": "pressure", "reading": reading, **more})


def test_a_reading_is_held_against_the_limit_and_one_outside_is_shown(signed_in: Sign, room: RoomVersion) -> None:
    read(signed_in("tomas"), "-0.02 inwg", seen="on")
    read(signed_in("tomas"), "2.5")

    assert [(one.value, one.within) for one in RoomCheck.objects.all()] == [
        (Decimal("2.500"), False),
        (Decimal("-4.982"), True),
    ]
    assert "One of these is outside" in page(signed_in("anselm").get("/rooms/checks/"))
    assert "outside the limit" in page(signed_in("anselm").get("/rooms/"))


@pytest.mark.parametrize("typed", ["", "low", "nan", "-2500", "5 psi"])
def test_a_reading_that_no_room_has_is_refused(signed_in: Sign, room: RoomVersion, typed: str) -> None:
    assert read(signed_in("tomas"), typed).status_code == 422
    assert not RoomCheck.objects.exists()


def test_a_room_that_is_not_in_the_register_has_no_readings(signed_in: Sign, room: RoomVersion) -> None:
    assert read(signed_in("tomas"), "-5", room="room-9").status_code == 422


# ---- written once ----


def test_no_row_of_rooms_is_changed_or_deleted(signed_in: Sign, room: RoomVersion) -> None:
    read(signed_in("tomas"), "-5")
    for row in (room, RoomCheck.objects.get()):
        with pytest.raises(WrittenOnce):
            row.delete()
        with pytest.raises(WrittenOnce):
            row.save()
    with pytest.raises(DatabaseError, match="written once"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE rooms_roomcheck SET value = 0")


# ---- disinfectant ----

MAKE = {"room": "room-1", "product": "bleach", "stock": "5", "wanted": "0.5", "litres": "10", "note": ""}


def test_it_is_worked_out_first_and_logged_only_once_it_is_made(signed_in: Sign, room: RoomVersion) -> None:
    client = signed_in("noor")
    shown = page(client.post("/rooms/disinfectant/", MAKE | {"act": "work-out"}))
    assert "1 litres of stock" in shown
    assert "9 litres of water" in shown
    assert not MadeUp.objects.exists()

    assert client.post("/rooms/disinfectant/", MAKE | {"act": "made"}).status_code == 302
    made = MadeUp.objects.get()
    assert (made.discard_at - made.at).total_seconds() == 24 * 3600
    assert made.recipe["lines"][0] == "1 litres of stock"


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("wanted", "6"),
        ("wanted", "0"),
        ("stock", "nan"),
        ("stock", "35"),
        ("stock", "-1"),
        ("litres", "0"),
        ("litres", "2 gal"),
    ],
)
def test_what_cannot_be_made_is_refused_with_its_field(
    signed_in: Sign, room: RoomVersion, field: str, typed: str
) -> None:
    answer = signed_in("noor").post("/rooms/disinfectant/", MAKE | {"act": "made", field: typed})

    assert answer.status_code == 422
    assert f"#field-{field}" in page(answer)
    assert not MadeUp.objects.exists()


# ---- bags ----

BAG = {"close-number": "B1", "close-case": "night", "close-room": "room-1", "close-stream": "infectious-lined"}
GO = {"let_go-number": "B1", "let_go-act": "released", "let_go-stream": "", "let_go-reason": "cleared"}


def test_a_bag_waits_for_the_result_and_goes_under_the_leads_name(signed_in: Sign, room: RoomVersion) -> None:
    lead = signed_in("ingrid")
    assert signed_in("noor").post("/rooms/waste/", BAG).status_code == 302
    refused = lead.post("/rooms/waste/release/", GO)
    assert refused.status_code == 422
    assert "no result of its case is known" in page(refused)

    lead.post("/rooms/waste/result/", {"result-case": "night", "result-result": "negative", "result-reason": "told"})
    assert lead.post("/rooms/waste/release/", GO).status_code == 302
    handed = {"collect-number": "B1", "collect-reason": "driver"}
    assert signed_in("sander").post("/rooms/waste/collect/", handed).status_code == 302

    (bag,) = bags()
    assert (bag.stands, bag.flags) == ("collected", ())
    assert [one.by for one in bag.events] == ["Noor Hadley", "Ingrid Vell", "Sander Brook"]


def test_no_two_fields_of_the_page_share_an_id(signed_in: Sign, room: RoomVersion) -> None:
    ids = re.findall(r' id="([^"]+)"', page(signed_in("ingrid").get("/rooms/waste/")))
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("who", ["noor", "tomas", "sander", "anselm"])
def test_nobody_else_lets_a_bag_go(signed_in: Sign, room: RoomVersion, who: str) -> None:
    signed_in("noor").post("/rooms/waste/", BAG)

    assert signed_in(who).post("/rooms/waste/release/", GO).status_code == 403
    assert BagHappened.objects.count() == 1


def test_a_number_is_used_once_and_an_unknown_one_goes_nowhere(signed_in: Sign, room: RoomVersion) -> None:
    signed_in("noor").post("/rooms/waste/", BAG)
    assert signed_in("noor").post("/rooms/waste/", BAG | {"close-case": "other"}).status_code == 422
    unknown = {"collect-number": "B9", "collect-reason": "x"}
    assert signed_in("ingrid").post("/rooms/waste/collect/", unknown).status_code == 422
    assert BagHappened.objects.count() == 1


def test_the_table_of_access_lets_those_go_whom_the_records_name() -> None:
    operations = load_operations()
    for action, act in (("release-bag", "release"), ("release-bag", "downgrade"), ("collect-bag", "collect")):
        assert TABLE[action] == set(who_may(act, operations))  # type: ignore[arg-type]


# ---- air and turnaround ----


def test_air_of_a_room_and_of_flow_and_volume(signed_in: Sign, room: RoomVersion) -> None:
    client = signed_in("sander")
    assert "<b>35 min</b>" in page(client.get("/rooms/air/?room=room-1"))
    assert "<b>35 min</b>" in page(client.get("/rooms/air/?flow=350+cfm&volume=1750+ft3"))
    beside = page(client.get("/rooms/air/?room=room-1&hazard=lassa"))
    assert "Beside the point" in beside


def test_with_a_source_in_the_room_the_page_gives_no_minutes(signed_in: Sign, room: RoomVersion) -> None:
    shown = page(signed_in("sander").get("/rooms/air/?room=room-1&source=on"))
    assert "Does not hold" in shown
    assert " min</b>" not in shown


@pytest.mark.parametrize(
    "asked", ["ach=nan", "ach=0", "flow=300", "room=room-1&ach=5", "room=room-9", "ach=5&mixing=0"]
)
def test_air_that_cannot_be_reckoned_is_refused_in_words(signed_in: Sign, room: RoomVersion, asked: str) -> None:
    answer = signed_in("sander").get(f"/rooms/air/?{asked}")
    assert answer.status_code == 422
    assert "Nothing was stored" in page(answer)


def test_from_the_last_exit_to_ready(signed_in: Sign, room: RoomVersion) -> None:
    left = timezone.now().strftime("%Y-%m-%dT02:00")
    shown = page(signed_in("sander").get(f"/rooms/turnaround/?room=room-1&hazard=mers&left={left}"))
    assert "Ready about 04:05" in shown
    beside = page(signed_in("sander").get(f"/rooms/turnaround/?room=room-1&hazard=lassa&left={left}"))
    assert "Ready about 03:30" in beside


def test_the_number_of_queries_does_not_grow_with_the_rooms(
    signed_in: Sign, room: RoomVersion, staff: dict[str, Any], django_assert_max_num_queries: Any
) -> None:
    client = signed_in("anselm")
    for number in range(20):
        RoomVersion.objects.create(
            code=f"more-{number}", name=f"More {number}", kind="other", mixing=Decimal(3), reason="x",
            by=staff["ingrid"], at=timezone.now(),
        )  # fmt: skip
    with django_assert_max_num_queries(10):
        client.get("/rooms/")

"""Papers of rooms: the card of what was made up, and the list of bags on hold, as they are read back."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pypdf
import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.utils import timezone

from vestry.hospital.desk.models import Unit
from vestry.hospital.rooms.mapper import bags
from vestry.hospital.rooms.models import BagHappened, MadeUp, RoomVersion
from vestry.hospital.rooms.on_paper import card_hash
from vestry.papers.sheet import short_hash

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]
MAKE = {"room": "room-1", "product": "bleach", "stock": "5", "wanted": "0.5", "litres": "10", "note": "", "act": "made"}
BAG = {
    "close-number": "B1", "close-case": "night", "close-room": "room-1", "close-stream": "infectious-lined",
    "close-holds": "Gowns", "close-amount": "6 kg",
}  # fmt: skip


@pytest.fixture
def room(staff: dict[str, Any]) -> RoomVersion:
    return RoomVersion.objects.create(
        code="room-1", name="Room One", kind="isolation-new", mixing=Decimal(1), reason="x", by=staff["ingrid"],
        at=timezone.now(),
    )  # fmt: skip


def text(answer: Any) -> str:
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def card(client: Client) -> str:
    return text(client.get(f"/rooms/disinfectant/{MadeUp.objects.first().pk}/card.pdf"))  # type: ignore[union-attr]


def test_the_card_says_what_who_when_until_and_how_long(signed_in: Sign, room: RoomVersion):
    client = signed_in("noor")
    client.post("/rooms/disinfectant/", MAKE)
    made = MadeUp.objects.get()
    said = card(client)

    for one in (
        "Disinfectant: 0.5 %", "bleach (sodium hypochlorite)", "1 litres of stock", "9 litres of water",
        "Made up by: Noor Hadley", "For: Room One", made.at.strftime("%Y-%m-%d %H:%M"),
        made.discard_at.strftime("%Y-%m-%d %H:%M"), made.recipe["contact"], "it would be 0.4545 %",
        "Never added to 10 litres", "by its label where it is registered", short_hash(card_hash(made)),
        short_hash(made.operations), "replaces neither local procedure",
    ):  # fmt: skip
        assert one in said, one
    assert "Nobody read the label" not in said
    assert short_hash(card_hash(made)) in client.get("/rooms/disinfectant/").content.decode()


def test_a_label_left_unread_is_said_on_page_and_card(signed_in: Sign, room: RoomVersion):
    client = signed_in("noor")
    shown = client.post("/rooms/disinfectant/", MAKE | {"stock": "", "act": "work-out"}).content.decode()
    assert "Nobody read the label: 5 %" in shown
    client.post("/rooms/disinfectant/", MAKE | {"stock": ""})

    assert "Nobody read the label: 5 %" in card(client)


def test_what_is_past_its_time_says_so_and_a_recipe_of_before_is_printed_as_it_was(
    signed_in: Sign, room: RoomVersion, staff: dict[str, Any]
):
    before = timezone.now() - timedelta(hours=30)
    recipe = {"from": "bleach", "gives": "0.05 %", "litres": "5", "lines": ["so much"], "notes": [], "contact": "9 min"}
    MadeUp.objects.create(
        code="room-gone", form="liquid", stock="5000 ppm", wanted="0.05", operations="ab" * 32,
        recipe=recipe,
        discard_at=before + timedelta(hours=24), by=staff["noor"], at=before,
    )  # fmt: skip
    said = card(signed_in("anselm"))

    assert "Past its time: discard it." in said
    assert "9 min" in said
    assert "5000 ppm" in said


def test_the_invented_hospital_is_marked_and_a_real_one_is_not(signed_in: Sign, room: RoomVersion):
    client = signed_in("noor")
    assert "Invented" not in text(client.get("/rooms/waste/on-hold.pdf"))
    Unit.objects.create(name="Harrow Point General", invented=True)

    said = text(client.get("/rooms/waste/on-hold.pdf"))
    assert "Invented for demonstration" in said
    assert "Harrow Point General" in said
    assert "Bags on hold: 0." in said


def test_the_list_holds_the_bags_that_wait_and_says_for_what_and_who_may(signed_in: Sign, room: RoomVersion):
    client = signed_in("noor")
    client.post("/rooms/waste/", BAG)
    client.post("/rooms/waste/", BAG | {"close-number": "B2", "close-case": "other", "close-amount": "60 litres"})
    said = text(client.get("/rooms/waste/on-hold.pdf"))
    for one in (
        "B1",
        "Gowns; ",
        "6 kg",
        "Room One",
        "result of night",
        "60 litres",
        "programme lead",
        "Handed over to",
    ):
        assert one in said, one

    lead = signed_in("ingrid")
    lead.post("/rooms/waste/result/", {"result-case": "night", "result-result": "positive", "result-reason": "told"})
    assert "night is positive: may be let go in its stream" in text(client.get("/rooms/waste/on-hold.pdf"))
    go = {"let_go-number": "B1", "let_go-act": "released", "let_go-stream": "", "let_go-reason": "cleared"}
    lead.post("/rooms/waste/release/", go)
    assert "B1" not in text(client.get("/rooms/waste/on-hold.pdf"))


@pytest.mark.parametrize("typed", ["0 kg", "-1 kg", "6", "6 stone", "nan kg", "2000 litres"])
def test_a_weight_or_volume_without_its_unit_or_beyond_a_bag_is_refused(signed_in: Sign, room: RoomVersion, typed: str):
    answer = signed_in("noor").post("/rooms/waste/", BAG | {"close-amount": typed})

    assert answer.status_code == 422
    assert "#field-close-amount" in answer.content.decode()
    assert not BagHappened.objects.exists()


def test_a_bag_may_still_be_closed_without_saying_what_or_how_much(signed_in: Sign, room: RoomVersion):
    signed_in("noor").post("/rooms/waste/", BAG | {"close-holds": "", "close-amount": ""})

    (bag,) = bags()
    assert (bag.stands, bag.holds, bag.amount) == ("on-hold", "", "")


def test_columns_that_came_later_left_the_table_written_once(signed_in: Sign, room: RoomVersion):
    signed_in("noor").post("/rooms/waste/", BAG)
    with pytest.raises(DatabaseError, match="written once"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE rooms_baghappened SET amount = '1 kg'")


def test_occupational_health_prints_neither(signed_in: Sign, room: RoomVersion):
    signed_in("noor").post("/rooms/disinfectant/", MAKE)
    for address in (f"/rooms/disinfectant/{MadeUp.objects.get().pk}/card.pdf", "/rooms/waste/on-hold.pdf"):
        assert signed_in("oona").get(address).status_code == 403

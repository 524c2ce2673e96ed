"""A wall's own board: by a code that a lead gives, without a sign-in; it opens the board alone, until it is ended."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.utils import timezone
from tests.hospital import walking

from vestry.hospital.board import walls
from vestry.hospital.board.models import Wall, WallCode, WallEnded, WallOpened
from vestry.hospital.record.models import Event
from vestry.hospital.urls import urlpatterns

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]


def text(answer: Any) -> str:
    return unescape(answer.content.decode())


@pytest.fixture
def code(signed_in: Sign) -> str:
    shown = text(signed_in("sander").post("/board/walls/", {"name": "Corridor, east"}))
    found = re.search(r'<b class="code num">(\w+)</b>', shown)
    assert found
    return found[1]


@pytest.fixture
def address(code: str) -> str:
    answer = Client().post("/wall/", {"code": code})
    assert answer.status_code == 302
    return str(answer["Location"])


@pytest.fixture
def inside(version: Any, staff: dict[str, Any]) -> Any:
    entry = walking.open_entry(version, staff["noor"], staff["tomas"], staff["stranger"])
    walking.into_the_room(entry, 20)
    return entry


def test_a_code_opens_one_wall_once_and_nothing_of_it_is_kept(signed_in: Sign, address: str, code: str):
    assert re.fullmatch(r"/wall/[\w-]{32}/", address)
    again = Client().post("/wall/", {"code": code})
    assert again.status_code == 422
    assert "No wall opens by this code" in text(again)

    kept = str([*WallCode.objects.values_list(), *Wall.objects.values_list()])
    assert code not in kept
    assert address.split("/")[2] not in kept


def test_it_is_typed_as_people_type_and_scanning_alone_uses_nothing_up(code: str):
    scanned = Client().get(f"/wall/?code={code}")
    assert f'value="{code}"' in text(scanned)
    assert not Wall.objects.exists()

    typed = f" {code[:5].lower()}-{code[5:].lower()} "
    assert Client().post("/wall/", {"code": typed}).status_code == 302


def test_the_wall_shows_what_the_board_shows_with_nobody_signed_in(signed_in: Sign, address: str, inside: Any):
    wall, now = Client().get(address), Client().get(f"{address}now/")

    assert "NH" in text(now)
    assert "min left" in text(now)
    assert f'data-ask="{address}now/"' in text(wall)
    assert wall["Referrer-Policy"] == "no-referrer"
    again = Client().get(f"{address}now/", HTTP_IF_NONE_MATCH=now["ETag"])
    assert again.status_code in (200, 304)
    as_read_at_the_desk = text(signed_in("sander").get("/board/now/"))
    assert text(now).replace(address, "/board/") == as_read_at_the_desk


def test_its_figures_are_reached_by_its_address_and_what_is_no_item_is_not_drawn(address: str, inside: Any):
    drawn = re.findall(r'<img class="figure" src="([^"]+)"', text(Client().get(f"{address}now/")))
    assert len(drawn) == 1
    assert drawn[0].startswith(f"{address}figure.svg?worn=")
    figure = Client().get(drawn[0])

    assert (figure.status_code, figure["Content-Type"]) == (200, "image/svg+xml")
    assert b"<svg" in figure.content
    for wrong in ("", "?worn=", "?worn=no-such-thing", f"?worn={'a,' * 3000}", "?worn=<script>"):
        assert Client().get(f"{address}figure.svg{wrong}").status_code == 404


def test_the_figure_has_on_what_is_worn_now(address: str, inside: Any):
    def worn() -> str:
        return re.search(r"figure\.svg\?worn=([^\"]*)", text(Client().get(f"{address}now/")))[1]  # type: ignore[index]

    before = worn()
    doffing = [one for one in walking.steps(inside, "entry", "doffing") if one[0] in ("read", "done-seen", "left")]
    walking.say(inside, doffing[: len(doffing) * 2 // 3], timezone.now())

    assert "gown" in before
    assert len(worn()) < len(before)


def test_the_address_opens_nothing_else(address: str, inside: Any):
    """Whoever has it, as cookie, path or token, gets no other page, and writes nothing anywhere."""
    secret = address.split("/")[2]
    client = Client(raise_request_exception=False)
    client.get(address)
    before = (Event.objects.count(), WallEnded.objects.count())
    open_to_all = {
        "sign-in/",
        "sign-in/second/",
        "sign-in/first/",
        "language/",
        "sw.js",
        "tablet/",
        "tablet/texts.json",
        "wall/",
    }
    for one in urlpatterns:
        route = str(one.pattern)
        if route in open_to_all or route.startswith("wall/"):
            continue
        path = "/" + re.sub(r"<\w+:\w+>", secret if "<str:" in route else str(inside.pk), route).replace(
            "sequence", "1"
        )
        headers = {"HTTP_AUTHORIZATION": f"Vestry-Tablet {secret}"}
        answer = client.get(path, **headers)
        assert answer.status_code in (302, 403, 404, 405), (path, answer.status_code)
        if answer.status_code == 302:
            assert answer["Location"].startswith("/sign-in/")
        assert client.post(path, {"code": secret}, **headers).status_code in (302, 400, 403, 404, 405, 422, 429)
    assert (Event.objects.count(), WallEnded.objects.count()) == before
    for end in ("", "now/", "figure.svg"):
        assert client.post(f"{address}{end}").status_code == 405


def test_a_wall_that_was_ended_shows_nothing_more_and_the_list_says_by_whom(signed_in: Sign, address: str):
    lead, wall = signed_in("ingrid"), Wall.objects.get()
    assert lead.post(f"/board/walls/{wall.pk}/end/", {"reason": ""}).status_code == 422
    assert Client().get(address).status_code == 200

    for _ in range(2):
        assert lead.post(f"/board/walls/{wall.pk}/end/", {"reason": "moved"}).status_code == 302
    for end in ("", "now/", "figure.svg?worn=gown-impermeable"):
        assert Client().get(f"{address}{end}").status_code == 404
    assert "ended: moved (Ingrid Vell" in text(lead.get("/board/walls/"))
    assert WallEnded.objects.count() == 1


def test_who_loads_it_is_logged_and_polling_is_not(signed_in: Sign, address: str):
    for place in ("10.1.1.1", "10.1.1.1", "10.1.1.2"):
        Client(REMOTE_ADDR=place).get(address)
        Client(REMOTE_ADDR=place).get(f"{address}now/")

    assert sorted(WallOpened.objects.values_list("address", flat=True)) == ["10.1.1.1", "10.1.1.2"]
    assert "from 10.1.1.2" in text(signed_in("ingrid").get("/board/walls/"))


def test_a_code_is_worth_nothing_after_a_quarter_of_an_hour(staff: dict[str, Any]):
    old = walls.new_code("Old", staff["ingrid"], timezone.now() - timedelta(minutes=16))

    assert Client().post("/wall/", {"code": old}).status_code == 422
    assert not Wall.objects.exists()


def test_codes_cannot_be_tried_out(code: str):
    client = Client()
    answers = [client.post("/wall/", {"code": f"WRONG{n}"}).status_code for n in range(8)]

    assert answers[0] == 422
    assert answers[-1] == 429
    assert client.post("/wall/", {"code": code}).status_code == 429


@pytest.mark.parametrize("who", ["tomas", "noor", "anselm", "oona"])
def test_others_give_no_codes_and_end_no_wall(signed_in: Sign, address: str, who: str):
    client = signed_in(who)

    assert client.get("/board/walls/").status_code == 403
    assert client.post("/board/walls/", {"name": "x"}).status_code == 403
    assert client.post(f"/board/walls/{Wall.objects.get().pk}/end/", {"reason": "x"}).status_code == 403


def test_rows_of_walls_are_written_once(address: str):
    Client().get(address)
    for table, column in (("wall", "name"), ("wallcode", "name"), ("wallopened", "address")):
        with pytest.raises(DatabaseError, match="written once"), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"UPDATE board_{table} SET {column} = 'x'")

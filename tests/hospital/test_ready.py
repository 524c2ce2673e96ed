"""Ready tonight on the desk: from rows to the answer, whom names are told, the team's minimum, and calendar feeds."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from typing import Any

import icalendar
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import CalendarFeed, CaseRow, TeamNeedVersion
from vestry.hospital.desk.ready import ask
from vestry.hospital.registers.models import StockLot, StockReserve
from vestry.hospital.rooms.models import MadeUp
from vestry.readiness import TeamNeed

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]


@pytest.fixture
def named(staff: dict[str, Any], version: Any) -> Any:
    """The table names the approved version for the case that it was planned for, whatever the presentation."""
    hazard = version.approved["plan"]["case"]["hazard"]
    for presentation in ("dry", "wet"):
        CaseRow.objects.create(
            hazard=hazard,
            presentation=presentation,
            task="care",
            version=version,
            reason="for tests",
            by=staff["ingrid"],
            at=timezone.now(),
        )
    return hazard


def links(hazard: str) -> dict[str, Any]:
    (asked,) = ask([hazard], 12, timezone.localdate(), names=False)
    return {one.topic: one for one in asked.found.links}


def test_a_procedure_without_people_things_or_rooms_is_not_ready_and_says_each(named: str):
    found = links(named)

    assert found["procedure"].state == "ready"
    assert [found[topic].state for topic in ("wearer", "observer", "assistant", "team")] == ["not-ready"] * 4
    assert found["room"].state == "watch"
    assert [one.id for one in found["room"].why] == ["no-register-of-rooms"]


def test_disinfectant_counts_while_it_is_in_date_and_strong_enough_for_surfaces(named: str, staff: dict[str, Any]):
    now = timezone.now()

    def made(wanted: str, hours: int) -> str:
        MadeUp.objects.create(
            code="room-1", form="liquid", stock="5", wanted=wanted, recipe={}, operations="", by=staff["ingrid"],
            at=now - datetime.timedelta(hours=24 - hours), discard_at=now + datetime.timedelta(hours=hours),
        )  # fmt: skip
        return str(links(named)["disinfectant"].state)

    assert links(named)["disinfectant"].state == "watch"
    assert [made("0.5", -1), made("500 ppm", 5), made("5000 ppm", 5)] == ["watch", "watch", "ready"]


def test_bags_received_like_any_lot_are_known_and_those_used_up_stay_known(named: str, signed_in: Sign):
    assert [one.id for one in links(named)["waste-bag"].why] == ["not-in-the-register"]
    lead = signed_in("ingrid")
    said = {"act": "receive", "item": "waste-bag", "size": "m", "number": "B-1", "quantity": 30, "to": "store"}
    assert "comes as one-size" in lead.post("/stock/receive/", said).content.decode()

    page = lead.post("/stock/receive/", said | {"size": "one-size"}, follow=True).content.decode()
    assert "Large bag for infectious waste" in page
    assert (links(named)["waste-bag"].have, links(named)["waste-bag"].state) == (30, "ready")

    lot = StockLot.objects.get(item="waste-bag")
    used = {"act": "move", "kind": "used", "start": "store", "quantity": 30}
    assert lead.post(f"/stock/lots/{lot.pk}/", used).status_code == 302
    assert (links(named)["waste-bag"].have, links(named)["waste-bag"].state) == (0, "not-ready")
    assert "Bags for waste" in lead.get(f"/ready/{named}/").content.decode()


def test_a_reserve_that_the_unit_set_is_held_against_the_shelf(named: str, staff: dict[str, Any], version: Any):
    worn = approved_of(version.pk).plan.worn[0]
    for least in (6, 9):
        StockReserve.objects.create(item=worn, size="", least=least, by=staff["ingrid"], at=timezone.now())

    (reserve,) = [one for topic, one in links(named).items() if topic == "reserve"]
    assert (reserve.subject, reserve.size, reserve.have, reserve.need) == (worn, None, 0, 9)
    assert [one.id for one in reserve.why] == ["below-the-reserve"]


def test_a_retired_version_is_not_ready(named: str, version: Any, signed_in: Sign):
    signed_in("ingrid").post(f"/procedures/{version.pk}/retire/", {"reason": "replaced"})

    assert [one.id for one in links(named)["procedure"].why] == ["retired"]


def test_the_page_tells_hazards_with_a_procedure_first_and_names_the_others(named: str, signed_in: Sign):
    page = signed_in("ingrid").get("/ready/").content.decode()

    assert f'href="/ready/{named}/?hours=24"' in page
    assert "No procedure in the table" in page
    assert "Smallpox" in page


def test_a_hazard_that_there_is_not_and_hours_that_are_none(signed_in: Sign, named: str):
    lead = signed_in("ingrid")

    assert lead.get("/ready/no-such-thing/").status_code == 404
    for hours in ("0", "-3", "x", "721", "1e9"):
        page = lead.get(f"/ready/{named}/", {"hours": hours}).content.decode()
        assert "summary-errors" in page, hours


def test_names_of_people_are_told_to_those_who_keep_the_register_alone(
    named: str, registered: Any, signed_in: Sign, staff: dict[str, Any], feed: Any
):
    for who in ("ingrid", "sander", "anselm"):
        page = signed_in(who).get(f"/ready/{named}/").content.decode()
        assert (registered.name in page) is staff[who].may("see-register"), who
    assert staff["ingrid"].may("see-register")
    assert registered.name not in Client().get(f"/ready/feeds/{feed[0]}.ics").content.decode()


def test_the_unit_sets_its_own_team_with_a_reason(signed_in: Sign, staff: dict[str, Any]):
    said = {"wearer": 3, "observer": 1, "assistant": 0, "shift_hours": 8, "practised_months": 6}
    lead = signed_in("ingrid")

    assert TeamNeedVersion.current() == TeamNeed()
    assert lead.post("/ready/", said).status_code == 422  # no reason
    assert lead.post("/ready/", said | {"reason": "shifts of eight hours"}).status_code == 302
    assert TeamNeedVersion.current() == TeamNeed(**said)
    assert signed_in("sander").post("/ready/", said | {"reason": "x"}).status_code == 403
    with pytest.raises(Exception, match="never changed"):
        TeamNeedVersion.objects.first().save()


@pytest.mark.slow
def test_a_feed_is_shown_once_read_without_a_sign_in_and_gone_when_ended(named: str, signed_in: Sign):
    lead = signed_in("ingrid")
    page = lead.post("/ready/feeds/new/", follow=True).content.decode()
    address = re.search(r"/ready/feeds/[\w-]+\.ics", page)[0]
    made = CalendarFeed.objects.get()

    assert address not in lead.get("/ready/").content.decode()
    assert made.proof not in address
    answer = Client().get(address)
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    events = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")
    assert any("people who may go in" in str(one["summary"]) for one in events)

    signed_in("sander").post(f"/ready/feeds/{made.pk}/end/")
    assert Client().get(address).status_code == 200  # not his to end
    lead.post(f"/ready/feeds/{made.pk}/end/")
    assert Client().get(address).status_code == 404
    assert Client().get("/ready/feeds/guess.ics").status_code == 404


def test_a_feed_of_somebody_who_may_no_longer_see_it_is_gone(feed: Any, staff: dict[str, Any]):
    secret, _ = feed
    assert Client().get(f"/ready/feeds/{secret}.ics").status_code == 200
    staff["ingrid"].grants.all().delete()

    assert Client().get(f"/ready/feeds/{secret}.ics").status_code == 404


@pytest.mark.slow
def test_the_queries_of_the_page_do_not_grow_with_people_and_lots(
    named: str, signed_in: Sign, staff: dict[str, Any], registered: Any, lot: Any
):
    from vestry.hospital.registers.models import RegisteredPerson

    lead = signed_in("ingrid")
    lead.get("/ready/")
    with CaptureQueriesContext(connection) as few:
        lead.get("/ready/")
    now = timezone.now()
    RegisteredPerson.objects.bulk_create(
        RegisteredPerson(code=f"x{n}", name=f"Person {n}", added_at=now) for n in range(60)
    )
    for n in range(30):
        StockLot.objects.create(
            item="apron",
            size="one-size",
            number=f"n{n}",
            by=staff["ingrid"],
            at=now,
            expiry=datetime.date(2030, 1, 1),
        )
    lead.get("/ready/")  # what is new is read once
    with CaptureQueriesContext(connection) as many:
        lead.get("/ready/")

    assert len(many) == len(few)

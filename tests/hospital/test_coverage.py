"""Who covers what, at the desk: taken or left, changed by hand under the checker, own shifts and calendars."""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Callable
from html import unescape
from typing import Any

import icalendar
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from tests.hospital.test_forecast import qualify

from vestry.hospital.coverage.models import RosterAct, RosterFeed, RotaVersion
from vestry.hospital.coverage.standing import days_taken, standing_of
from vestry.hospital.registers.models import PersonNote
from vestry.hospital.registers.people_pages import enter
from vestry.readiness import RosterDay
from vestry.roster import propose, read_rota

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]
WORN_OUT = ("never changed", "written once")


@pytest.fixture
def team(staff: dict[str, Any], version: Any, worked_out: Any) -> Any:
    """Noor and five more on the register, who may do everything along the approved version."""
    lead, today = staff["ingrid"], timezone.localdate()
    names = [("T-0", "Noor Hadley", staff["noor"]), *((f"T-{n}", f"Team {n}", None) for n in range(1, 6))]
    for code, name, user in names:
        qualify(enter(code, name, ["wearer", "observer", "assistant"], user, lead), worked_out.plan, lead, today)
    return version


def filled(version: Any, **changed: str) -> dict[str, str]:
    said = {
        "title": "A week", "procedure": str(version.pk), "starts": timezone.localdate().isoformat(), "days": "7",
        "rest_hours": "11", "most_in_seven_days": "5", "most_hours_in_seven_days": "60", "most_days_in_a_row": "5",
        "minutes_inside": "720", "don": "10", "doff": "8", "rest": "0", "reason": "for tests",
        "s0-name": "day", "s0-from_hour": "7", "s0-hours": "12",
        "s0-inside": "1", "s0-observing": "1", "s0-assisting": "0",
    }  # fmt: skip
    return said | changed


@pytest.fixture
def rota(signed_in: Sign, team: Any) -> RotaVersion:
    answer = signed_in("sander").post("/coverage/new/", filled(team))
    assert answer.status_code == 302, unescape(answer.content.decode())
    return RotaVersion.objects.get()


def take(client: Client, rota: RotaVersion) -> Any:
    text = client.get(f"/coverage/{rota.pk}/").content.decode()
    name = re.search(r'name="proposal" value="(\w+)"', text)[1]
    return client.post(f"/coverage/{rota.pk}/take/", {"proposal": name})


@pytest.fixture
def taken(signed_in: Sign, rota: RotaVersion) -> RotaVersion:
    take(signed_in("sander"), rota)
    return rota


def test_without_a_rota_the_page_says_how_to_begin(signed_in: Sign, staff: dict[str, Any]):
    assert "/coverage/new/" in signed_in("ingrid").get("/coverage/").content.decode()
    assert days_taken(timezone.localdate(), timezone.localdate()) == {}


def test_people_come_from_the_register_with_what_they_may_and_until_when(rota: RotaVersion):
    people = {one["id"]: one for one in rota.rota["people"]}

    assert set(people) == {f"T-{n}" for n in range(6)}
    assert set(people["T-0"]["may"]) == {"inside", "observing", "assisting"}


def test_a_proposal_is_shown_and_is_nothing_until_it_is_taken_with_name_and_time(signed_in: Sign, rota: RotaVersion):
    shift_lead = signed_in("sander")
    assert "No roster of this rota is taken" in shift_lead.get("/coverage/").content.decode()
    assert days_taken(timezone.localdate(), timezone.localdate()) == {}

    assert take(shift_lead, rota).status_code == 302
    act = RosterAct.objects.get()
    assert (act.by.name, act.act["kind"]) == ("Sander Brook", "taken")
    assert "<b>Taken</b> by Sander Brook" in shift_lead.get("/coverage/").content.decode()
    assert days_taken(timezone.localdate(), timezone.localdate()) == {timezone.localdate(): RosterDay(2, 2)}
    with pytest.raises(Exception, match=WORN_OUT[0]):
        act.save()


def test_what_was_not_seen_is_not_taken_and_nothing_is_taken_twice(signed_in: Sign, rota: RotaVersion):
    shift_lead = signed_in("sander")
    shift_lead.post(f"/coverage/{rota.pk}/take/", {"proposal": "0" * 32})
    shift_lead.post(f"/coverage/{rota.pk}/take/", {})
    assert not RosterAct.objects.exists()

    name = re.search(r'name="proposal" value="(\w+)"', shift_lead.get("/coverage/").content.decode())[1]
    for _ in range(2):
        shift_lead.post(f"/coverage/{rota.pk}/take/", {"proposal": name})
    assert RosterAct.objects.count() == 1


def test_a_proposal_is_left_with_a_reason(signed_in: Sign, rota: RotaVersion):
    shift_lead = signed_in("sander")
    assert shift_lead.post(f"/coverage/{rota.pk}/leave/", {"reason": ""}).status_code == 422
    shift_lead.post(f"/coverage/{rota.pk}/leave/", {"reason": "a drill is planned"})

    page = shift_lead.get("/coverage/").content.decode()
    assert "The proposal was left." in page
    assert "a drill is planned" in page


def cell(rota: RotaVersion, person: str, number: int = 0) -> str:
    day = datetime.date.fromisoformat(rota.rota["starts"]) + datetime.timedelta(days=number)
    return f"/coverage/{rota.pk}/change/?person={person}&day={day.isoformat()}"


def on_day(rota: RotaVersion, duty: str) -> Any:
    day = datetime.date.fromisoformat(rota.rota["starts"])
    roster = standing_of(rota).kept.roster or ()
    return next(one for one in roster if one.day == day and one.duty == duty)


def test_a_change_that_breaks_a_rule_is_refused_in_words_and_not_written(signed_in: Sign, taken: RotaVersion):
    shift_lead = signed_in("sander")
    inside = on_day(taken, "inside")
    free = next(f"T-{n}" for n in range(6) if f"T-{n}" not in {inside.person, on_day(taken, "observing").person})
    answer = shift_lead.post(cell(taken, free), {"place": "day/inside", "reason": "x"})

    assert answer.status_code == 422
    assert "would be one more than the shift needs" in unescape(answer.content.decode())
    assert RosterAct.objects.count() == 1


def test_a_cell_is_emptied_and_filled_again_by_somebody_else(signed_in: Sign, taken: RotaVersion):
    shift_lead = signed_in("sander")
    inside = on_day(taken, "inside")
    assert shift_lead.post(cell(taken, inside.person), {"place": "none", "reason": "called away"}).status_code == 302
    today = timezone.localdate()
    assert days_taken(today, today)[today] == RosterDay(1, 2)
    page = unescape(shift_lead.get("/coverage/").content.decode())
    assert "nobody" in page
    assert "called away" in page

    free = next(f"T-{n}" for n in range(6) if f"T-{n}" not in {inside.person, on_day(taken, "observing").person})
    answer = shift_lead.post(cell(taken, free), {"place": "day/inside", "reason": "stands in"})
    if answer.status_code == 302:
        assert days_taken(today, today)[today] == RosterDay(2, 2)
    else:  # at a limit in the week that was proposed: told, and not written
        assert "would work too many" in unescape(answer.content.decode())


def test_what_is_not_of_the_rota_cannot_be_changed(signed_in: Sign, taken: RotaVersion, rota: RotaVersion):
    shift_lead = signed_in("sander")

    for address in (cell(taken, "nobody"), cell(taken, "T-1", 99), f"/coverage/{taken.pk}/change/?person=T-1&day=x"):
        assert shift_lead.get(address).status_code == 404, address
    assert signed_in("anselm").get(cell(taken, "T-1")).status_code == 403


def test_somebody_who_goes_away_afterwards_is_told_and_counts_no_longer(
    signed_in: Sign, taken: RotaVersion, staff: dict[str, Any]
):
    from vestry.hospital.registers.models import RegisteredPerson

    inside, today = on_day(taken, "inside"), timezone.localdate()
    person = RegisteredPerson.objects.get(code=inside.person)
    PersonNote.objects.create(
        person=person, kind="absence", said={"from": today.isoformat(), "until": today.isoformat()},
        by=staff["oona"], at=timezone.now(),
    )  # fmt: skip

    page = unescape(signed_in("sander").get("/coverage/").content.decode())
    assert "What was taken no longer holds" in page
    assert f"{person.name}, {today:%-d %B}: is away." in page
    assert days_taken(today, today)[today] == RosterDay(2, 2, broken=1)


def test_names_are_for_those_who_answer_for_shifts_and_everybody_sees_their_own(signed_in: Sign, taken: RotaVersion):
    assert "Team 1" in signed_in("ingrid").get("/coverage/").content.decode()
    auditor = signed_in("anselm").get("/coverage/").content.decode()
    assert "Team 1" not in auditor
    assert "T-1" in auditor
    assert signed_in("noor").get("/coverage/").status_code == 403

    own = sum(one.person == "T-0" for one in standing_of(taken).kept.roster or ())
    page = signed_in("noor").get("/coverage/mine/").content.decode()
    assert page.count('<th scope="row">') == own > 0
    assert "T-1" not in page
    assert "not on the register" in signed_in("tomas").get("/coverage/mine/").content.decode()


def test_others_of_the_register_are_looked_for_by_name_and_no_row_of_theirs_comes_unasked(
    signed_in: Sign, taken: RotaVersion, staff: dict[str, Any], worked_out: Any
):
    for number in range(60):
        person = enter(f"X-{number:02}", f"Later {number:02}", ["wearer"], None, staff["ingrid"])
        if number < 3:
            qualify(person, worked_out.plan, staff["ingrid"], timezone.localdate())
    client = signed_in("sander")

    text = client.get("/coverage/").content.decode()
    assert "Noor Hadley" in text
    assert "Later 00" not in text
    assert "3 more on the register" in text

    found = client.get("/coverage/?find=later+01").content.decode()
    people = found[found.index('id="people"') : found.index("How it is shared")]
    assert "Later 01" in people
    assert "Later 00" not in people
    assert "Noor" not in people
    assert "Nobody fits" in client.get("/coverage/?find=nobody-at-all&page=99").content.decode()


def test_feeds_of_oneself_and_of_the_team_name_nobody_and_end(signed_in: Sign, taken: RotaVersion):
    noor, auditor = signed_in("noor"), signed_in("anselm")
    assert noor.post("/coverage/feeds/new/", {"of": "team"}).status_code == 403
    found = {}
    for client, of in ((noor, "mine"), (auditor, "team")):
        page = client.post("/coverage/feeds/new/", {"of": of}, follow=True).content.decode()
        found[of] = re.search(r"/coverage/feeds/[\w-]+\.ics", page)[0]
    events = {
        of: icalendar.Calendar.from_ical(Client().get(address).content).walk("VEVENT") for of, address in found.items()
    }
    roster = standing_of(taken).kept.roster or ()

    assert len(events["team"]) == len(roster)
    assert len(events["mine"]) == sum(one.person == "T-0" for one in roster)
    assert {str(one["summary"]) for one in events["mine"]} <= {"inside (day)", "observing (day)"}
    assert all(re.match(r"T-\d: ", str(one["summary"])) for one in events["team"])
    feed = RosterFeed.objects.exclude(person=None).get()
    signed_in("sander").post(f"/coverage/feeds/{feed.pk}/end/")
    assert Client().get(found["mine"]).status_code == 200
    noor.post(f"/coverage/feeds/{feed.pk}/end/")
    assert Client().get(found["mine"]).status_code == 404


def test_everything_wrong_with_a_rota_is_told_and_nothing_is_stored(signed_in: Sign, team: Any):
    lead = signed_in("ingrid")
    for wrong, told in (
        ({"days": "99"}, "Days"),
        ({"starts": "soon"}, "a day, such as"),
        ({"s0-inside": "0", "s0-observing": "0"}, "no shift needs anybody"),
        ({"s0-name": ""}, "at least one shift"),
        ({"s0-hours": "40"}, "Shift 1, lasts hours"),
        ({"s1-name": "day", "s1-from_hour": "19", "s1-hours": "12", "s1-inside": "1", "s1-observing": "0",
          "s1-assisting": "0"}, "stands 2 times"),
    ):  # fmt: skip
        answer = lead.post("/coverage/new/", filled(team, **wrong))
        assert answer.status_code == 422, wrong
        assert told in unescape(answer.content.decode()), wrong
    for text in ("", "x = [", "starts = 2027-01-01\ndays = 3", "[" * 4000):
        assert lead.post("/coverage/new/", {"text": text, "reason": "x"}).status_code == 422, text[:20]
    assert not RotaVersion.objects.exists()


def test_a_rota_brought_in_is_proposed_as_the_command_does(signed_in: Sign, staff: dict[str, Any]):
    from pathlib import Path

    text = (Path(__file__).parents[2] / "docs/reference/examples/rota.toml").read_text("utf-8")
    lead = signed_in("ingrid")
    assert lead.post("/coverage/new/", {"text": text, "reason": "from elsewhere"}).status_code == 302
    rota = RotaVersion.objects.get()

    found = json.loads(lead.get(f"/coverage/{rota.pk}/roster.json").content)
    assert found == propose(read_rota(text, "rota")).as_json()
    assert lead.get(f"/coverage/{rota.pk}/roster.pdf").content.startswith(b"%PDF")


@pytest.mark.slow
def test_the_queries_do_not_grow_with_people_and_changes(signed_in: Sign, taken: RotaVersion, staff: dict[str, Any]):
    from vestry.hospital.registers.models import RegisteredPerson

    shift_lead = signed_in("sander")
    shift_lead.get("/coverage/")
    with CaptureQueriesContext(connection) as few:
        shift_lead.get("/coverage/")
    now = timezone.now()
    RegisteredPerson.objects.bulk_create(
        RegisteredPerson(code=f"x{n}", name=f"Person {n}", added_at=now) for n in range(60)
    )
    inside = on_day(taken, "inside")
    for place in ("none", "day/inside", "none", "day/inside"):
        assert shift_lead.post(cell(taken, inside.person), {"place": place, "reason": "x"}).status_code == 302
    with CaptureQueriesContext(connection) as many:
        shift_lead.get("/coverage/")

    assert len(many) == len(few)

"""A rota handed in as a file: looked at, taken whole or not at all, the same twice changes nothing, out again."""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Callable
from html import unescape
from typing import Any

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone
from tests.hospital.test_forecast import qualify

from vestry.hospital.coverage.models import RosterAct, RotaVersion
from vestry.hospital.coverage.standing import days_taken, standing_of
from vestry.hospital.registers.models import ImportDraft
from vestry.hospital.registers.people_pages import enter

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]
TODAY = timezone.localdate()
HEAD = "person,date,shift,from,to,role\n"


def day(number: int) -> str:
    return (TODAY + datetime.timedelta(days=number)).isoformat()


FILE = (
    f"{HEAD}T-0,{day(0)},day,07:00,19:00,inside\nTeam 1,{day(0)},day,,,observer\n"
    f"T-2,{day(0)},night,19:00,07:00,inside\nT-1,{day(1)},day,7,19,relief\n"
)


@pytest.fixture
def team(staff: dict[str, Any], version: Any, worked_out: Any) -> Any:
    """T-0 to T-2 may do everything along the approved version; X-1 is on the register and qualified for nothing."""
    lead = staff["ingrid"]
    for code, name in (("T-0", "Noor Hadley"), ("T-1", "Team 1"), ("T-2", "Team 2")):
        qualify(enter(code, name, ["wearer", "observer", "assistant"], None, lead), worked_out.plan, lead, TODAY)
    enter("X-1", "Jörg Straßer", ["wearer"], None, lead)
    return version


def hand_in(client: Client, content: bytes | str, order: str = "unsaid", name: str = "rota.csv") -> Any:
    raw = content.encode() if isinstance(content, str) else content
    said = {"sort": "rota", "date_order": order, "file": SimpleUploadedFile(name, raw)}
    return client.post("/coverage/import/", said)


def text(answer: Any) -> str:
    return unescape(answer.content.decode())


def took(client: Client, content: bytes | str, **more: Any) -> None:
    answer = hand_in(client, content, **more)
    assert answer.status_code == 302, text(answer)
    assert client.post(answer["Location"]).status_code == 302


def in_force() -> set[tuple[str, str, str, str]]:
    roster = standing_of(RotaVersion.objects.first()).kept.roster  # type: ignore[arg-type]
    return {(one.person, one.day.isoformat(), one.shift, one.duty) for one in roster or ()}


def nothing_written() -> bool:
    return not (RotaVersion.objects.exists() or RosterAct.objects.exists() or ImportDraft.objects.exists())


def test_it_is_looked_at_first_and_then_the_roster_in_force(signed_in: Sign, team: Any):
    lead = signed_in("ingrid")
    answer = hand_in(lead, FILE)
    assert not RotaVersion.objects.exists()
    shown = text(lead.get(answer["Location"]))
    assert "It would add 4 shifts of people" in shown
    assert "Team 1" in shown

    lead.post(answer["Location"])

    assert in_force() == {
        ("T-0", day(0), "day", "inside"), ("T-1", day(0), "day", "observing"), ("T-2", day(0), "night", "inside"),
        ("T-1", day(1), "day", "relief"),
    }  # fmt: skip
    assert days_taken(TODAY, TODAY)[TODAY].have == 3
    version = RotaVersion.objects.get()
    assert (version.procedure, version.reason) == (team, "From the file rota.csv")
    assert [(one["id"], one["from-hour"], one["hours"]) for one in version.rota["shifts"]] == [
        ("day", 7, 12), ("night", 19, 12),
    ]  # fmt: skip
    assert not ImportDraft.objects.exists()
    assert lead.post(answer["Location"]).status_code == 404


def test_a_shift_that_lacks_the_units_minimum_is_a_gap(signed_in: Sign, team: Any):
    lead = signed_in("sander")
    took(lead, FILE)

    gaps = {(one.day.isoformat(), one.shift, one.duty) for one in standing_of(RotaVersion.objects.get()).roster.gaps}  # type: ignore[union-attr]
    assert (day(0), "night", "observing") in gaps
    assert (day(0), "day", "observing") not in gaps


def test_the_same_file_twice_changes_nothing(signed_in: Sign, team: Any):
    lead = signed_in("ingrid")
    took(lead, FILE)
    again = hand_in(lead, FILE)

    shown = text(lead.get(again["Location"]))
    assert "Nothing in it is new" in shown
    assert "4 rows say what is known already" in shown
    lead.post(again["Location"])
    assert (RotaVersion.objects.count(), RosterAct.objects.count(), ImportDraft.objects.count()) == (1, 1, 0)


def test_another_file_says_what_would_go_and_other_times_of_a_shift_are_new(signed_in: Sign, team: Any):
    lead = signed_in("ingrid")
    took(lead, FILE)
    answer = hand_in(lead, f"{HEAD}T-0,{day(0)},day,8,20,inside\n")

    shown = text(lead.get(answer["Location"]))
    assert "It would add 1 shift of somebody" in shown
    assert "3 shifts in force on these days are not in the file, and would go" in shown
    lead.post(answer["Location"])
    assert in_force() == {("T-0", day(0), "day", "inside")}


def test_a_shift_that_the_rota_before_has_needs_no_times(signed_in: Sign, team: Any):
    lead = signed_in("ingrid")
    unknown = hand_in(lead, f"person,date,shift\nT-0,{day(2)},night\n")
    assert "Line 2, shift: 'night' is no shift known here (none yet): say from and to" in text(unknown)
    took(lead, FILE)
    took(lead, f"person,date,shift\nT-0,{day(2)},night\n")

    assert in_force() == {("T-0", day(2), "night", "inside")}


def test_a_role_that_is_not_said_follows_from_what_is_lacking_and_is_shown_as_given(signed_in: Sign, team: Any):
    lead = signed_in("ingrid")
    rows = "".join(f"T-{n},{day(0)},7,19\n" for n in range(3))
    answer = hand_in(lead, f"person,date,from,to\n{rows}")

    assert text(lead.get(answer["Location"])).count("not said in the file") == 3
    lead.post(answer["Location"])
    assert {one[3] for one in in_force()} == {"inside", "observing", "assisting"}
    assert {one[2] for one in in_force()} == {"from-7-to-19"}


def test_who_is_not_qualified_is_told_may_be_taken_and_does_not_count(signed_in: Sign, team: Any):
    lead = signed_in("ingrid")
    answer = hand_in(lead, f"{HEAD}X-1,{day(0)},day,7,19,inside\n")

    shown = text(lead.get(answer["Location"]))
    assert "it breaks a rule" in shown
    assert "Jörg Straßer" in shown
    lead.post(answer["Location"])
    assert days_taken(TODAY, TODAY)[TODAY].broken == 1
    assert "What was taken no longer holds" in text(lead.get("/coverage/"))


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        ("person,date\nT-0\n", "Line 2, date: is missing"),
        (f"person,date,colour\nT-0,{day(0)},red\n", "colour: no such column; rota have person, date"),
        (f"{HEAD}T-9,{day(0)},day,7,19,inside\n", "Line 2, person: nobody on the register has the code or name 'T-9'"),
        (f"{HEAD}T-0,{day(0)},day,7,19,king\n", "'king' is not known here"),
        (f"{HEAD}T-0,{day(0)},day,7:30,19,inside\n", "Line 2, from: '7:30': shifts begin and end on the hour"),
        (f"{HEAD}T-0,{day(0)},day,morning,19,inside\n", "'morning' is no time of day"),
        (f"{HEAD}T-0,{day(0)},day,7,,inside\n", "Line 2, to: is missing: from and to go together"),
        (f"person,date\nT-0,{day(0)}\n", "Line 2, shift: is missing: a shift by name, or from and to"),
        (f"{HEAD}T-0,{day(0)},day,7,19,inside\nT-1,{day(0)},day,8,19,\n", "Line 3, from: another time than on line 2"),
        (
            f"{HEAD}T-0,{day(0)},day,7,19,inside\nNoor Hadley,{day(0)},day,7,19,\n",
            "stands on line 2 already on this day",
        ),
        (f"{HEAD}T-0,{day(500)},day,7,19,inside\n", "is more than a year away"),
        (f"{HEAD}T-0,{day(0)},day,7,19,inside\nT-1,{day(60)},day,7,19,\n", "the days span 61; at most 42 in one file"),
        (f"{HEAD}=1+1,{day(0)},day,7,19,inside\n", "is a formula; paste the value instead"),
        (f"{HEAD}Jörg Straßer,{day(0)},day,7,19,inside\n".encode("latin-1"), "Line 2: not UTF-8 text"),
        (f"{HEAD}T-0,{day(0)},day,7,19,\n".encode() + "Jörg,,,,,\n".encode("cp1252"), "Line 3: not UTF-8 text"),
        (b"PK\x03\x04rubbish", "not a spreadsheet that can be read"),
    ],
)
def test_a_bad_file_names_its_rows_and_nothing_is_kept(signed_in: Sign, team: Any, content: bytes | str, says: str):
    answer = hand_in(signed_in("ingrid"), content)

    assert answer.status_code == 422
    assert says in text(answer)
    assert nothing_written()


def test_every_problem_is_said_at_once_and_good_rows_are_not_taken(signed_in: Sign, team: Any):
    rows = f"T-0,{day(0)},day,7,19,inside\nT-9,{day(0)},day,7,19,king\nT-1,31/31/2026,day,7,19,\n"
    said = text(hand_in(signed_in("ingrid"), HEAD + rows))

    assert all(one in said for one in ("Line 3, person:", "Line 3, role:", "Line 4, date:"))
    assert "Line 2" not in said
    assert nothing_written()


@pytest.mark.parametrize("order", ["unsaid", "day-first", "month-first"])
def test_dates_in_three_orders_are_refused_whatever_is_said(signed_in: Sign, team: Any, order: str):
    year = TODAY.year
    days = (f"{year}-04-03", f"23/04/{year}", f"04/23/{year}", f"03/04/{year}")
    answer = hand_in(signed_in("ingrid"), HEAD + "".join(f"T-0,{one},day,7,19,inside\n" for one in days), order)

    assert answer.status_code == 422
    assert ("can be 3 April or 4 March" in text(answer)) == (order == "unsaid")
    assert ("dates in several orders" in text(answer)) == (order != "unsaid")
    assert nothing_written()


def test_a_spreadsheet_with_its_own_dates_and_times_is_read_and_a_formula_in_it_is_not(signed_in: Sign, team: Any):
    def sheet(person: str) -> bytes:
        book = openpyxl.Workbook()
        book.active.append(["Person", "Date", "Shift", "From", "To"])
        book.active.append([person, TODAY, "day", datetime.time(7), datetime.time(19)])
        out = io.BytesIO()
        book.save(out)
        return out.getvalue()

    lead = signed_in("ingrid")
    refused = hand_in(lead, sheet('="T-"&0'), name="rota.xlsx")
    assert "Line 2: A2: a formula; paste the values instead" in text(refused)
    assert nothing_written()

    took(lead, sheet("T-0"), name="rota.xlsx")
    assert in_force() == {("T-0", day(0), "day", "inside")}


def test_a_hundred_megabytes_are_read_past_and_refused_in_words(signed_in: Sign, team: Any):
    answer = hand_in(signed_in("ingrid"), b"person,date\n" + b"T-0,2026-01-01\n" * 6_700_000)

    assert answer.status_code == 422
    assert "the file is too large (101 MB; at most 4 MB)" in text(answer)
    assert nothing_written()


def test_a_failure_half_way_leaves_nothing(signed_in: Sign, team: Any, monkeypatch: pytest.MonkeyPatch):
    lead = signed_in("ingrid")
    address = hand_in(lead, FILE)["Location"]

    def fail(**_: Any) -> None:
        raise RuntimeError("no disk")

    with monkeypatch.context() as patch:
        patch.setattr("vestry.hospital.coverage.importing.RosterAct.objects.create", fail)
        assert lead.post(address).status_code == 500

    assert not RotaVersion.objects.exists()
    assert not RosterAct.objects.exists()
    assert ImportDraft.objects.count() == 1


def test_a_register_that_changed_since_refuses_the_whole_file(signed_in: Sign, team: Any):
    from vestry.hospital.registers.models import RegisteredPerson

    lead = signed_in("ingrid")
    address = hand_in(lead, FILE)["Location"]
    RegisteredPerson.objects.filter(code="T-2").update(active=False)

    answer = lead.post(address)
    assert answer.status_code == 422
    assert "The register has changed" in text(answer)
    assert not RotaVersion.objects.exists()


def test_what_is_exported_can_be_imported_and_says_nothing_new(signed_in: Sign, team: Any):
    lead = signed_in("ingrid")
    took(lead, FILE)
    out = lead.get("/coverage/export.csv").content
    rows = list(csv.reader(io.StringIO(out.decode("utf-8-sig"))))

    assert rows[0] == HEAD.strip().split(",")
    assert ["T-2", day(0), "night", "19:00", "07:00", "inside"] in rows
    for raw, name in ((out, "rota.csv"), (lead.get("/coverage/export.xlsx").content, "rota.xlsx")):
        assert "Nothing in it is new" in text(lead.get(hand_in(lead, raw, name=name)["Location"]))


def test_a_draft_is_its_makers_and_others_may_not_hand_in(signed_in: Sign, team: Any):
    address = hand_in(signed_in("ingrid"), FILE)["Location"]

    assert signed_in("sander").post(address).status_code == 404
    for who in ("anselm", "tomas", "noor", "oona"):
        assert hand_in(signed_in(who), FILE).status_code == 403
    assert not RotaVersion.objects.exists()


def test_without_a_procedure_or_a_rota_before_the_register_says_who_may_what(signed_in: Sign, staff: dict[str, Any]):
    enter("X-1", "Jörg Straßer", ["observer"], None, staff["ingrid"])
    took(signed_in("ingrid"), f"person,date,from,to\nJörg Straßer,{day(0)},19,7\n")

    assert in_force() == {("X-1", day(0), "from-19-to-7", "observing")}

"""How long a stay lasts, at the desk: states, defaults with where they are from, wrong input, paper and file."""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from tests.hospital.conftest import stocked

from vestry.cli import main
from vestry.hospital import facts
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.ready_here import Registers
from vestry.hospital.registers.models import PersonNote
from vestry.hospital.registers.people_pages import enter
from vestry.people import ensemble_of, need_of
from vestry.readiness.billing import bill_of
from vestry.readiness.stay import WORN_TO_WORK, Ensemble
from vestry.stock import LeadTimes

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]
SIZE = {"gloves": "m", "gown": "m"}


@pytest.fixture
def able(staff: dict[str, Any], version: Any, worked_out: Any) -> Any:
    """Three people who may do everything along the approved version, and forty pieces of all that they wear."""
    plan, catalogue, lead = worked_out.plan, facts.catalogue(), staff["ingrid"]
    today = timezone.localdate()
    for number in range(3):
        person = enter(f"A-{number}", f"Able {number}", ["wearer", "observer", "assistant"], None, lead)
        qualify(person, plan, lead, today)
    bill = bill_of(Ensemble(id="care", plan=plan), WORN_TO_WORK, {}, catalogue)
    for number, item in enumerate(bill.items):
        more = {"model": "Heron 3"} if catalogue.items[item].fit_tested else {}
        size = "m" if "m" in catalogue.items[item].sizes else "one-size"
        stocked(lead, item, size, 40, f"L-{number}", **more)
    return version


def qualify(person: Any, plan: Any, lead: Any, today: datetime.date) -> None:
    catalogue, back = facts.catalogue(), (today - datetime.timedelta(days=10)).isoformat()

    def note(kind: str, said: dict[str, Any]) -> None:
        PersonNote.objects.create(person=person, kind=kind, said=said, by=lead, at=timezone.now())

    note("clearance", {"on": (today - datetime.timedelta(days=40)).isoformat(), "cleared": "any"})
    worn = dict.fromkeys(
        item for duty in ("wearer", "observer", "assistant") for item in need_of(plan, catalogue, duty).items
    )
    for duty in ("wearer", "observer", "assistant"):
        note("competency", {"subject": ensemble_of(plan.worn, catalogue), "duty": duty, "on": back})
    for kind in dict.fromkeys(catalogue.items[item].kind for item in worn if "m" in catalogue.items[item].sizes):
        note("tried", {"what": kind, "size": "m"})
    for item in worn:
        if catalogue.items[item].fit_tested:
            test = {"item": item, "model": "Heron 3", "size": "m", "system": "us", "on": back}
            note("fit-test", test | {"method": "quantitative", "overall": 200})


def page(client: Client, **asked: Any) -> str:
    return unescape(client.get("/forecast/", asked).content.decode())


def asked(client: Client, **changed: Any) -> dict[str, Any]:
    """What the form sends as it stands, with some of it changed."""
    text = client.get("/forecast/").content.decode()
    form = text[text.index('id="ask"') :]
    said = dict(re.findall(r'<input type="number" name="(\w+)" value="([^"]*)"', form))
    return said | {"team": "each-exit", "draws": "100"} | changed


def test_without_a_procedure_and_without_people_the_page_says_so(signed_in: Sign, staff: dict[str, Any]):
    assert "no approved procedure yet" in page(signed_in("ingrid"))


def test_where_nobody_may_go_in_it_says_so_and_leads_on(signed_in: Sign, version: Any):
    told = page(signed_in("ingrid"))

    assert "Nobody on the register may go in" in told
    assert f"/people/able/?procedure={version.pk}" in told


def test_every_default_says_where_it_is_from(signed_in: Sign, able: Any):
    told = page(signed_in("ingrid"))

    helps = re.findall(r'<span class="help"[^>]*>([^<]+)</span>', told[told.index('id="ask"') :])
    fields = re.findall(r'<div class="field" id="field-(\w+)">', told[told.index('id="ask"') :])
    assert len(helps) == len(fields) >= 18
    assert "planning figure: mallow2018, seen, 0 – 4" in helps
    assert "the limit of the procedure" in helps
    assert "Something is first lacking" in told or "Nothing is lacking" in told


def test_what_is_asked_changes_the_answer_and_a_figure_set_by_the_unit_is_no_default(signed_in: Sign, able: Any):
    lead = signed_in("ingrid")
    said = asked(lead)
    own = lead.get("/forecast/forecast.json", said | {"glove_changes": "2", "hours": "24"}).json()
    given = lead.get("/forecast/forecast.json", said | {"hours": "24"}).json()

    assert "glove-changes-an-hour" in {one["id"] for one in given["defaults"]}
    assert "glove-changes-an-hour" not in {one["id"] for one in own["defaults"]}
    assert own["asked-hours"] == 24


def test_a_lead_time_that_the_unit_keeps_is_what_ready_and_the_forecast_read(signed_in: Sign, able: Any):
    lead, address, today = signed_in("ingrid"), "/stock/lead-times/", timezone.localdate()
    first, *_ = bill_of(Ensemble(id="care", plan=approved_of(able.pk).plan), WORN_TO_WORK, {}, facts.catalogue()).items

    def read() -> tuple[Any, Any, LeadTimes]:
        stay = lead.get("/forecast/stay.json", asked(lead)).json()
        return stay.get("lead-hours"), stay["lead-times"], Registers(today, names=False).lead_times

    assert "It is a judgement" in unescape(lead.get(address).content.decode())
    assert read() == (None, {}, LeadTimes())

    for item, hours in (("", 72), (first, 5), ("waste-bag", 9)):
        assert lead.post(address, {"item": item, "hours": hours, "says": "the contract"}).status_code == 302
    # 72 as the planning figure has it, and yet the unit's own.
    assert read() == (72, {first: 5}, LeadTimes({first: 5, "waste-bag": 9}, 72))
    told = unescape(lead.get(address).content.decode())
    assert "the contract" in told
    assert f"Ingrid Vell, {today:%-d %B %Y}" in told
    assert "It is a judgement" not in told
    assert "kept with the stock; 1 item has its own" in page(lead)

    assert lead.post(address, {"item": first, "hours": "", "says": "no more"}).status_code == 302
    assert read()[1:] == ({}, LeadTimes({"waste-bag": 9}, 72))
    for wrong in ({"item": first, "hours": ""}, {"hours": "-1"}, {"item": "no-such", "hours": "5"}, {"hours": "1e9"}):
        assert lead.post(address, {"item": "", "says": "-"} | wrong).status_code == 422, wrong
    assert lead.post(address, {"item": "", "hours": "5"}).status_code == 422
    assert read()[2] == LeadTimes({"waste-bag": 9}, 72)


@pytest.mark.slow
def test_the_file_is_what_the_command_prints_for_the_same_stay(
    signed_in: Sign, able: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    lead = signed_in("ingrid")
    said = asked(lead, hours="48")
    stay = tmp_path / "stay.json"
    stay.write_bytes(lead.get("/forecast/stay.json", said).content)

    main(["forecast", str(stay), "--json"])
    assert json.loads(capsys.readouterr().out) == lead.get("/forecast/forecast.json", said).json()


def test_everything_wrong_is_told_at_once_and_nothing_is_worked_out(signed_in: Sign, able: Any):
    lead = signed_in("ingrid")
    said = asked(lead, hours="0", inside="x", transfer_from="9", transfer_to="3", target="200")
    answer = lead.get(
        "/forecast/", said | {"d-0-item": "no-such", "d-0-count": "-4", "d-0-first": "5", "d-0-last": "2"}
    )
    told = unescape(answer.content.decode())

    assert answer.status_code == 422
    for part in ("Hours that it is to last", "People inside", "at the latest", "Chance", "No item has this name",
                 "Delivery 1, Pieces"):  # fmt: skip
        assert part in told[told.index("summary-errors") : told.index("</ul>", told.index("summary-errors"))], part
    for wrong in ({"hours": "1e9"}, {"draws": "20000", "hours": "2160", "inside": "12", "minutes_inside": "1"}):
        assert lead.get("/forecast/", said | asked(lead, **wrong)).status_code == 422, wrong


def test_nobody_on_any_shift_is_refused_in_words(signed_in: Sign, able: Any):
    lead = signed_in("ingrid")
    text = lead.get("/forecast/").content.decode()
    rows = dict.fromkeys(re.findall(r'name="(p-\d+-[\w-]+)"', text), "0")

    answer = lead.get("/forecast/", asked(lead) | rows)
    assert answer.status_code == 422
    assert rows
    assert lead.get("/forecast/", asked(lead) | dict.fromkeys(rows, "-1")).status_code == 422


def test_a_delivery_is_counted_in_and_marked_on_its_chart(signed_in: Sign, able: Any):
    lead = signed_in("ingrid")
    said = asked(lead, hours="72")
    first = lead.get("/forecast/forecast.json", said).json()["pools"][0]
    more = said | {"d-3-item": first["item"], "d-3-size": first["size"], "d-3-count": "500", "d-3-first": "1"}
    after = lead.get("/forecast/forecast.json", more).json()["pools"]

    (same,) = (one for one in after if (one["item"], one["size"]) == (first["item"], first["size"]))
    assert same["coming"] == 500
    assert same["lasts"]["value"] >= first["lasts"]["value"]
    assert "hour 1: delivery of 500" in page(lead, **more)


def test_every_item_has_its_chart_and_its_table_one_more_at_a_time(signed_in: Sign, able: Any):
    lead = signed_in("ingrid")
    said = asked(lead, hours="72")
    pools = {f"{one['item']}/{one['size']}" for one in lead.get("/forecast/forecast.json", said).json()["pools"]}
    first = page(lead, **said)
    more = set(re.findall(r'name="chart" value="([^"]+)"', first))
    assert len(more) + first.count('<svg class="fan"') == len(pools) > first.count('<svg class="fan"') > 0

    for key in more:
        told = page(lead, **said, chart=key)
        figure = told[told.index('<figure class="fan-figure" id="chart">') :].split("</figure>")[0]
        assert '<svg class="fan"' in figure
        assert figure.count("<tr>") > 5
        assert set(re.findall(r'name="chart" value="([^"]+)"', told)) == more - {key}
        assert 'name="hours" value="72"' in told
    assert page(lead, **said, chart="no-such/thing").count('<svg class="fan"') == first.count('<svg class="fan"')


def test_on_paper_it_is_an_accessible_pdf(signed_in: Sign, able: Any):
    lead = signed_in("anselm")
    answer = lead.get("/forecast/forecast.pdf", asked(lead))

    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")


def test_the_queries_do_not_grow_with_people_and_lots(signed_in: Sign, able: Any, staff: dict[str, Any]):
    from vestry.hospital.registers.models import RegisteredPerson, StockLot

    lead = signed_in("ingrid")
    said = asked(lead, hours="12")
    lead.get("/forecast/", said)
    with CaptureQueriesContext(connection) as few:
        lead.get("/forecast/", said)
    now = timezone.now()
    RegisteredPerson.objects.bulk_create(
        RegisteredPerson(code=f"x{n}", name=f"Person {n}", added_at=now) for n in range(60)
    )
    for n in range(30):
        StockLot.objects.create(item="apron", size="one-size", number=f"n{n}", by=staff["ingrid"], at=now)
    lead.get("/forecast/", said)  # who is new on the register is read once, and kept
    with CaptureQueriesContext(connection) as many:
        lead.get("/forecast/", said)

    assert len(many) == len(few)

"""Stock on the desk: the ledger and its balances, scanning, counting, quarantine, and what entries use."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from django.db import DatabaseError, connection
from django.test import Client
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.hospital.conftest import stocked
from tests.hospital.registers.test_people import queries
from tests.hospital.test_forecast import able  # noqa: F401  a fixture

from vestry.hospital import facts
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.registers import ledger
from vestry.hospital.registers.models import Balance, EntryPosting, RegisteredPerson, StockLot, StockMovement
from vestry.hospital.registers.posting import post, post_quietly
from vestry.hospital.registers.stock_pages import name_of
from vestry.stock import unit_state
from vestry.stock.using import BROUGHT

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]


def balances() -> dict[tuple[Any, str], int]:
    return {(one.lot_id, one.place): one.quantity for one in Balance.objects.exclude(quantity=0)}


def receive(client: Client, **changed: Any) -> Any:
    said = {
        "act": "receive",
        "item": "respirator-disposable",
        "size": "M",
        "number": "R-1",
        "expiry": "2030-01-31",
        "model": "Heron 3",
        "quantity": 20,
        "to": "store",
    }
    return client.post("/stock/receive/", said | changed)


def test_a_scanned_code_fills_the_form_and_a_known_item_number_names_item_and_size(
    signed_in: Sign, staff: dict[str, Any]
):
    stocked(staff["ingrid"], "respirator-disposable", "s", 5, gtin="51022222233336", model="Heron 3", per_scan=20)

    code = "]d20151022222233336173001311" + "0A213B1<GS>211234"
    page = signed_in("tomas").post("/stock/receive/", {"act": "scan", "code": code}).content.decode()

    assert "Item 51022222233336, lot A213B1, expiry 31 January 2030, serial 1234" in page
    assert 'value="A213B1"' in page
    assert 'value="2030-01-31"' in page
    assert '<option value="respirator-disposable" selected>' in page
    assert 'value="Heron 3"' in page


def test_a_code_with_a_date_that_is_none_keeps_the_rest_and_says_so(signed_in: Sign, db: None):
    answer = signed_in("tomas").post("/stock/receive/", {"act": "scan", "code": "(01)51022222233336(17)300231(10)A1"})

    assert answer.status_code == 200
    assert "Expiry: 300231 is no date" in answer.content.decode()
    assert 'value="A1"' in answer.content.decode()


@pytest.mark.parametrize("code", ["", "hello", "+A123", "\x00", "]" * 300])
def test_a_code_that_is_none_is_said_and_nothing_is_stored(signed_in: Sign, db: None, code: str):
    assert signed_in("tomas").post("/stock/receive/", {"act": "scan", "code": code}).status_code == 422
    assert not StockLot.objects.exists()


def test_receiving_twice_adds_to_one_lot_and_another_expiry_is_questioned(signed_in: Sign, db: None):
    client = signed_in("tomas")

    assert receive(client).status_code == 302
    assert receive(client, quantity=5).status_code == 302
    wrong = receive(client, expiry="2031-01-31")

    lot = StockLot.objects.get()
    assert (lot.size, balances()) == ("m", {(lot.pk, "store"): 25})
    assert wrong.status_code == 422
    assert "its expiry is 31 January 2030" in wrong.content.decode()


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"quantity": -5}, "greater than or equal to 1"),
        ({"size": "xxl"}, "comes as s, m, l"),
        ({"item": "scrubs"}, "choose one that is in the list"),
        ({"item": ""}, "This field is required"),
        ({"expiry": "31/31/2030"}, "Enter a valid date"),
        ({"gtin": "123"}, "Fourteen digits"),
        ({"to": "<script>"}, "Small letters"),
    ],
)
def test_what_makes_no_sense_is_refused_by_field(signed_in: Sign, db: None, changed: dict[str, Any], says: str):
    answer = receive(signed_in("tomas"), **changed)

    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not StockLot.objects.exists()
    assert not StockMovement.objects.exists()


def act(client: Client, lot: Any, **said: Any) -> Any:
    return client.post(f"/stock/lots/{lot.pk}/", said)


def test_moving_counting_and_throwing_away_add_up(signed_in: Sign, lot: Any):
    client = signed_in("tomas")

    assert act(client, lot, act="move", kind="moved", start="store", to="anteroom", quantity=4).status_code == 302
    assert act(client, lot, act="move", kind="damaged", start="anteroom", quantity=1, why="torn").status_code == 302
    assert act(client, lot, act="count", place="store", counted=5).status_code == 422  # no reason given
    assert act(client, lot, act="count", place="store", counted=5, why="not known").status_code == 302
    assert act(client, lot, act="count", place="anteroom", counted=3).status_code == 302

    assert balances() == {(lot.pk, "store"): 5, (lot.pk, "anteroom"): 3}
    assert [one.kind for one in StockMovement.objects.all()] == ["received", "moved", "damaged", "counted-less"]
    assert act(client, lot, act="move", kind="moved", start="store", to="", quantity=1).status_code == 422
    assert act(client, lot, act="move", kind="discarded", start="store", quantity=1).status_code == 422


def test_a_lot_on_hold_is_not_picked_and_is_let_go_once(signed_in: Sign, lot: Any, version: Any):
    lead, address = signed_in("ingrid"), f"/stock/lots/{lot.pk}/hold/"
    assert "may be used" in lead.get("/stock/").content.decode().lower()

    assert lead.post(address, {"act": "held", "why": "seam"}).status_code == 302
    assert lead.post(address, {"act": "held", "why": "again"}).status_code == 422

    assert "On hold." in lead.get(f"/stock/lots/{lot.pk}/").content.decode()
    picking = lead.get(f"/stock/picking/?procedure={version.pk}").content.decode()
    assert "L-1" not in picking
    assert lead.post(address, {"act": "released", "why": "looked at"}).status_code == 302
    assert "L-1" in lead.get(f"/stock/picking/?procedure={version.pk}").content.decode()


def test_the_picking_list_is_for_the_whole_team_by_name_and_takes_nothing_twice(signed_in: Sign, able: Any):  # noqa: F811
    lead, plan = signed_in("ingrid"), approved_of(able.pk).plan
    keys = dict(zip(("for", "observer", "assistant"), RegisteredPerson.objects.order_by("name"), strict=True))

    def listed(**whose: Any) -> str:
        return unescape(lead.get("/stock/picking/", {"procedure": able.pk} | whose).content.decode())

    page = listed(**{part: one.pk for part, one in keys.items()})
    on, off = page.split("For the doffing area")
    rows = re.findall(r"<td>(Able \d)</td><th scope=\"row\">([^<,]+)", on)
    worn = {"for": plan.worn} | {member.role: member.worn for member in plan.team}
    catalogue = facts.catalogue()
    for part, items in worn.items():
        kept = {name_of(one).split(",")[0] for one in items if catalogue.items[one].kind not in BROUGHT}
        assert {name for whose, name in rows if whose == keys[part].name} == kept
    assert "Fresh" in off
    assert "Able 0" in off
    assert "cannot take two parts" not in page

    assert "Able 1: one person cannot take two parts" in listed(
        observer=keys["observer"].pk, assistant=keys["observer"].pk
    )
    shield = StockLot.objects.get(item="face-shield")
    act(lead, shield, act="count", place="store", counted=2, why="not known")
    assert re.findall(r"<li>([^:<]+): Full face shield, size [^:]+: 1</li>", listed()) == ["doffing assistant"]


def test_the_ledger_is_written_once(lot: Any):
    with pytest.raises(DatabaseError), connection.cursor() as cursor:
        cursor.execute("DELETE FROM registers_stockmovement")


@pytest.mark.property
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.sampled_from(("received", "used", "moved")), st.integers(1, 9)), max_size=12))
def test_the_balances_dropped_and_rebuilt_are_the_same(lot: Any, staff: dict[str, Any], told: list[tuple[str, int]]):
    ends = {"received": ("", "store"), "used": ("store", ""), "moved": ("store", "anteroom")}
    now = timezone.now()
    ledger.write(
        StockMovement(
            lot=lot,
            kind=kind,
            quantity=quantity,
            from_place=ends[kind][0],
            to_place=ends[kind][1],
            at=now,
            by=staff["ingrid"],
        )
        for kind, quantity in told
    )
    kept = balances()
    Balance.objects.all().delete()

    ledger.rebuild()

    assert balances() == kept


def test_a_lot_that_makes_no_sense_leaves_the_ledger_as_it_was(lot: Any, staff: dict[str, Any]):
    now = timezone.now()
    rows = [
        StockMovement(lot=lot, kind="used", quantity=1, from_place="store", at=now, by=staff["ingrid"]),
        StockMovement(lot=lot, kind="used", quantity=1, at=now, by=staff["ingrid"]),
    ]

    with pytest.raises(ValueError, match="used has `from`"):
        ledger.write(rows)

    assert balances() == {(lot.pk, "store"): 10}


# ---- what entries use ----


def close(entry: Any, *also: tuple[str, dict[str, Any]]) -> None:
    """The whole plan, every step done and seen, then what is also said, then closed."""
    from vestry.hospital.record.mapper import led_of

    steps = [("done-seen", {"step": step.id}) for step in led_of(entry.version).plan.steps]
    say(entry, *steps, *also, ("closed", {}))
    entry.refresh_from_db()


def say(entry: Any, *said: tuple[str, dict[str, Any]]) -> None:
    """These events, from one tablet."""
    from vestry.entry import Event
    from vestry.hospital.ids import uuid7
    from vestry.hospital.record.store import append

    told = [
        Event(
            id=str(uuid7()),
            entry=str(entry.pk),
            kind=kind,
            payload=payload,
            actor="tomas",
            device="11111111-1111-4111-8111-111111111111",
            clock=timezone.now().isoformat(timespec="milliseconds"),
            counter=1000 + number,
            plan=entry.version.plan_hash,
        )
        for number, (kind, payload) in enumerate(said)
    ]
    append(entry, told, timezone.now())


@pytest.fixture
def shelf(staff: dict[str, Any], version: Any) -> dict[str, Any]:
    """Three of everything that the wearer wears, in Noor's sizes."""
    from vestry.hospital.desk.mapper import approved_of
    from vestry.stock import consumed
    from vestry.trade import load_catalogue

    catalogue, plan = load_catalogue(), approved_of(version.pk).plan
    sizes = {item: "s" if catalogue.items[item].kind == "gloves" else "m" for item in consumed(plan, catalogue)}
    return {
        item: stocked(
            staff["ingrid"],
            item,
            size if len(catalogue.items[item].sizes) > 1 else "one-size",
            3,
            f"X-{number}",
            expiry=datetime.date(2030, 1, 1),
            model="Heron 3" if catalogue.items[item].fit_tested else "",
        )
        for number, (item, size) in enumerate(sizes.items())
    }


def dress(client: Client, health: Client, person: Any) -> None:
    """Noor's sizes and fit test."""
    address = f"/people/{person.pk}/"
    today = timezone.localdate().isoformat()
    health.post(address, {"kind": "clearance", "on": today, "cleared": "any"})
    client.post(address, {"kind": "measures", "hand_circumference": 178})
    client.post(address, {"kind": "tried", "what": "gown", "size": "m"})
    fit = {"item": "respirator-disposable", "model": "Heron 3", "size": "m", "device": "half-mask", "system": "us"}
    client.post(address, {"kind": "fit-test", "method": "quantitative", "on": today, "overall": 150} | fit)


def test_a_closed_entry_takes_what_was_worn_from_the_shelf_once_however_often_it_is_told(
    signed_in: Sign, entry: Any, registered: Any, shelf: dict[str, Any]
):
    dress(signed_in("ingrid"), signed_in("oona"), registered)

    close(entry)

    assert entry.stage == "closed"
    taken = {one.lot_id: one.quantity for one in StockMovement.objects.filter(entry=entry, part="wearer")}
    assert taken == {lot.pk: 1 for lot in shelf.values()}
    assert {one["part"] for one in EntryPosting.objects.get().wanting} == {"observer", "assistant"}
    before = balances()
    assert not post(entry)
    post_quietly(entry)
    assert (balances(), EntryPosting.objects.count()) == (before, 1)
    used = signed_in("ingrid").get(f"/stock/lots/{next(iter(shelf.values())).pk}/").content.decode()
    assert f"/records/{entry.pk}/" in used
    assert "the lot was not scanned" in used


def test_what_the_shelf_does_not_know_is_written_down_as_wanting_and_not_made_up(
    signed_in: Sign, shelf: dict[str, Any], entry: Any
):
    """Noor is not on the register, so nobody knows her sizes."""
    close(entry)

    wanting = {one["item"] for one in EntryPosting.objects.get().wanting if one["part"] == "wearer"}
    taken = {one.lot.item for one in StockMovement.objects.filter(entry=entry, part="wearer").select_related("lot")}
    assert wanting == {item for item, lot in shelf.items() if lot.size != "one-size"}
    assert taken == set(shelf) - wanting
    assert "no lot could be named" in signed_in("ingrid").get("/stock/").content.decode()


def test_a_drill_takes_nothing(signed_in: Sign, shelf: dict[str, Any], version: Any):
    from vestry.hospital.record.models import Entry

    said = {"wearer": "noor", "observer": "tomas", "assistant": "petra", "drill": "on"}
    assert signed_in("tomas").post(f"/procedures/{version.pk}/start/", said).status_code == 302
    drill = Entry.objects.get()
    assert drill.drill

    close(drill)

    assert not StockMovement.objects.filter(entry=drill).exists()
    assert not EntryPosting.objects.exists()


def test_an_entry_whose_use_failed_to_be_put_down_is_closed_all_the_same_and_can_be_put_down_later(
    signed_in: Sign, shelf: dict[str, Any], entry: Any, monkeypatch: pytest.MonkeyPatch, caplog: Any
):
    def fail(entry: Any) -> bool:
        raise RuntimeError("no disk")

    with monkeypatch.context() as patch:
        patch.setattr("vestry.hospital.registers.posting.post", fail)
        close(entry)
    assert entry.stage == "closed"
    assert not EntryPosting.objects.exists()
    assert "was not put to the ledger" in caplog.text

    assert "1 closed entry" in signed_in("ingrid").get("/stock/").content.decode()
    assert signed_in("ingrid").post("/stock/post-entries/").status_code == 302
    assert EntryPosting.objects.count() == 1


def test_a_glove_change_told_after_the_end_is_put_down_too(
    signed_in: Sign, entry: Any, registered: Any, shelf: dict[str, Any]
):
    dress(signed_in("ingrid"), signed_in("oona"), registered)
    close(entry)
    first = StockMovement.objects.filter(entry=entry).count()
    from vestry.hospital.record.mapper import led_of

    last = led_of(entry.version).plan.steps[-1].id
    say(entry, ("late-transcribed", {}), ("glove-changed", {"step": last}))

    more = StockMovement.objects.filter(entry=entry).order_by("-at")[: StockMovement.objects.count()]
    assert len(more) == first + 1
    assert (more[0].kind, more[0].lot.item) == ("changed", "fresh-gloves")


# ---- powered units, reserves, many ----


def test_a_unit_is_to_be_cleaned_after_use_and_ready_again_after(signed_in: Sign, powered_unit: Any):
    client, address = signed_in("tomas"), f"/stock/units/{powered_unit.pk}/"
    for kind in ("serviced", "battery-tested", "flow-checked"):
        assert client.post(address, {"kind": kind, "passed": "yes"}).status_code == 302
    assert "Ready" in client.get(address).content.decode()

    client.post(address, {"kind": "used", "passed": "yes"})
    assert "to be cleaned" in client.get(address).content.decode()
    client.post(address, {"kind": "cleaned", "passed": "yes"})
    assert "Ready" in client.get(address).content.decode()
    assert client.post(address, {"kind": "thrown", "passed": "yes"}).status_code == 422


def test_below_the_reserve_is_said(signed_in: Sign, lot: Any):
    lead = signed_in("ingrid")
    assert "Below the reserve" not in lead.get("/stock/").content.decode()

    assert lead.post("/stock/reserves/", {"item": "gown-impermeable", "size": "L", "least": 12}).status_code == 302

    assert "10 of 12" in lead.get("/stock/").content.decode()
    lead.post("/stock/reserves/", {"item": "gown-impermeable", "size": "l", "least": 0})
    assert "Below the reserve" not in lead.get("/stock/").content.decode()


@pytest.mark.parametrize(
    "address",
    [
        "/stock/",
        "/stock/?item=gown-impermeable",
        "/stock/units/",
        "/stock/lots/{lot}/",
        "/stock/picking/?procedure={version}",
    ],
)
@pytest.mark.sampled(2)
def test_a_page_asks_as_often_for_one_lot_as_for_forty(
    signed_in: Sign, staff: dict[str, Any], lot: Any, powered_unit: Any, version: Any, address: str
):
    address, lead = address.format(lot=lot.pk, version=version.pk), signed_in("ingrid")
    few = queries(lead, address)
    for number, item in enumerate(("gown-impermeable", "gown-isolation", "gloves-long", "fresh-gloves") * 10):
        size = ("m", "l", "xl")[number % 3]
        stocked(staff["ingrid"], item, size, 1, f"N-{number}")
        act(lead, lot, act="move", kind="moved", start="store", to="anteroom", quantity=1)

    assert queries(lead, address) == few


def test_the_units_state_is_the_values_own(powered_unit: Any):
    from vestry.hospital.registers.mapper import unit_value
    from vestry.trade.standards import load_standards

    assert not unit_state(unit_value(powered_unit), [], timezone.localdate(), load_standards()).ready

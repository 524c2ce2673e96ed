"""Lists handed in: a preview, all of it or nothing, and for every bad file an error that names the row."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone

from vestry.hospital.registers import files
from vestry.hospital.registers.columns import SORTS
from vestry.hospital.registers.models import (
    ImportDraft,
    PersonNote,
    RegisteredPerson,
    StockLot,
    StockMovement,
)
from vestry.hospital.registers.people_pages import enter

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]
PEOPLE = (
    "code,name,parts,height-mm,hand-mm,gown\n"
    "H-1,Noor Hadley,wearer,1640,178,M\n"
    "H-2,Jörg Straßer,wearer; observer,1800,229,L\n"
)
STOCK = (
    "item,size,lot,expiry,quantity,place,model\n"
    "Disposable respirator,m,R-1,2030-01-31,20,store,Heron 3\n"
    "gown-impermeable,L,G-1,,5,anteroom,\n"
)


def hand_in(client: Client, content: bytes | str, sort: str = "people", order: str = "unsaid", name: str = "list.csv"):
    raw = content.encode() if isinstance(content, str) else content
    address = "/stock/import/" if sort == "stock" else "/people/import/"
    said = {"sort": sort, "date_order": order, "file": SimpleUploadedFile(name, raw)}
    return client.post(address, said)


def nothing_changed() -> bool:
    return not any(
        model.objects.exists() for model in (RegisteredPerson, PersonNote, ImportDraft, StockLot, StockMovement)
    )


def sheet(*rows: list[Any]) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_list_of_people_is_looked_at_first_and_then_taken_whole(signed_in: Sign):
    lead = signed_in("ingrid")

    answer = hand_in(lead, PEOPLE)

    assert answer.status_code == 302
    assert not RegisteredPerson.objects.exists()
    preview = lead.get(answer["Location"]).content.decode()
    assert "It would add 2 people, 4 notes" in preview
    assert "Jörg Straßer" in preview
    assert lead.post(answer["Location"]).status_code == 302
    assert list(RegisteredPerson.objects.values_list("code", "name", "duties")) == [
        ("H-2", "Jörg Straßer", "wearer observer"),
        ("H-1", "Noor Hadley", "wearer"),
    ]
    assert not ImportDraft.objects.exists()
    assert lead.post(answer["Location"]).status_code == 404


def test_the_same_list_again_changes_nothing(signed_in: Sign):
    lead = signed_in("ingrid")
    lead.post(hand_in(lead, PEOPLE)["Location"])
    before = PersonNote.objects.count()

    again = hand_in(lead, PEOPLE)

    assert "Nothing in it is new" in lead.get(again["Location"]).content.decode()
    lead.post(again["Location"])
    assert PersonNote.objects.count() == before


def test_stock_is_received_by_lot_and_place(signed_in: Sign):
    lead = signed_in("ingrid")

    answer = hand_in(lead, STOCK, "stock")
    lead.post(answer["Location"])

    assert [(one.lot.item, one.quantity, one.to_place) for one in StockMovement.objects.select_related("lot")] == [
        ("respirator-disposable", 20, "store"),
        ("gown-impermeable", 5, "anteroom"),
    ]


def test_a_spreadsheet_with_its_own_dates_and_numbers_is_read(signed_in: Sign):
    lead = signed_in("ingrid")
    raw = sheet(
        ["Item", "Size", "Lot", "Expiry", "Quantity", "Place"],
        ["Impermeable gown", "L", "G-1", timezone.datetime(2030, 1, 31), 5.0, "store"],
    )

    answer = hand_in(lead, raw, "stock", name="stock.xlsx")

    assert answer.status_code == 302
    lead.post(answer["Location"])
    assert StockLot.objects.get().expiry.isoformat() == "2030-01-31"


GOOD = "H-1,Noor Hadley,wearer,1640,178,M"


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"\n\n", "empty"),
        (b"code,name\n", "no row under the heads"),
        ("code,name\nH-1,Jörg\n".encode("latin-1"), "Line 2: not UTF-8 text"),
        ("code,name\nH-1,Jörg\n".encode() + "H-2,Jürgen\n".encode("cp1252"), "Line 3: not UTF-8 text"),
        (b"code,name\x00\nH-1,A\n", "null characters"),
        ("code,name\nH-1,Ann\nH-1,Ben\n", "Line 3, code: H-1 stands on line 2 already"),
        ("code,name\nH-1,Ann Lee\nH-2,ann  lee\n", "Line 3, name: ann  lee stands on line 2 already"),
        ("code,name,height-mm\nH-1,Ann,-1700\n", "Line 2, height-mm: -1700 is below nought"),
        ("code,name,height-mm\nH-1,Ann,1.70\n", "no whole number"),
        ('code,name\nH-1,"=HYPERLINK(""http://x"")"\n', "is a formula; paste the value instead"),
        ("code,name\n@x,Ann\n", "is a formula"),
        ("code,name,colour\nH-1,Ann,red\n", "colour: no such column; people have code, name"),
        ("code,code\nH-1,H-1\n", "this head stands twice"),
        ("code,name\nH-1\n", "Line 2, name: is missing"),
        ("code,name\nH-1,Ann,more\n", "3 cells under 2 heads"),
        ('code,name\nH-1,"Ann\n', "Line 2: not a CSV row"),
        ("code,name,parts\nH-1,Ann,king\n", "wearer, observer, assistant"),
        ("code,name,sign-in\nH-1,Ann,nobody\n", "nobody signs in as"),
        (b"PK\x03\x04rubbish", "not a spreadsheet that can be read"),
        (b"\xd0\xcf\x11\xe0old", "old spreadsheet format"),
        ("code,name\n" + "".join(f"H-{n},N {n}\n" for n in range(files.MOST_ROWS + 1)), "more than 6000 rows"),
        ("code,name\nH-1," + "x" * 600 + "\n", "longer than 500 characters"),
    ],
)
def test_a_bad_file_names_its_rows_and_changes_nothing(signed_in: Sign, content: bytes | str, says: str):
    answer = hand_in(signed_in("ingrid"), content)

    assert answer.status_code == 422
    shown = answer.content.decode().replace("&#x27;", "'").replace("&quot;", '"').replace("&lt;", "<")
    assert says in shown
    assert nothing_changed()


def test_every_problem_of_every_row_is_said_at_once(signed_in: Sign):
    shown = hand_in(signed_in("ingrid"), f"code,name,parts,height-mm,hand-mm,gown\n{GOOD}\nH-2,Ann,king,12,x,M\n")

    text = shown.content.decode()
    assert all(f"Line 3, {column}:" in text for column in ("parts", "height-mm", "hand-mm"))
    assert "Line 2" not in text


@pytest.mark.parametrize("order", ["unsaid", "day-first", "month-first"])
def test_dates_in_three_orders_are_refused_whatever_is_said(signed_in: Sign, order: str):
    rows = "item,size,lot,expiry,quantity,place\n" + "".join(
        f"gown-impermeable,l,G-{number},{day},5,store\n"
        for number, day in enumerate(("2030-04-03", "23/04/2030", "04/23/2030", "03/04/2030"))
    )

    answer = hand_in(signed_in("ingrid"), rows, "stock", order)

    text = answer.content.decode()
    assert answer.status_code == 422
    assert nothing_changed()
    assert ("can be 3 April or 4 March" in text) == (order == "unsaid")
    assert ("dates in several orders" in text) == (order != "unsaid")
    assert "Line 2" not in text


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("gown-impermeable,l,G-1,2030-01-31,-5,store", "quantity: -5 is below nought"),
        ("gown-impermeable,l,G-1,2030-01-31,0,store", "0 is not from 1"),
        ("moon-boots,l,G-1,2030-01-31,5,store", "'moon-boots' is not known here"),
        ("gown-impermeable,xs,G-1,2030-01-31,5,store", "comes as m, l, xl"),
        ("gown-impermeable,l,G-1,2030-02-31,5,store", "is no date"),
        ("gown-impermeable,l,G-1,2030-01-31,5,store\ngown-impermeable,l,G-1,2030-01-31,5,store", "stands on line 2"),
        (
            "gown-impermeable,l,G-1,2030-01-31,5,a\ngown-impermeable,l,G-1,2030-01-30,5,b",
            "another expiry than on line 2",
        ),
    ],
)
def test_bad_stock_is_refused_by_row(signed_in: Sign, row: str, says: str):
    answer = hand_in(signed_in("ingrid"), f"item,size,lot,expiry,quantity,place\n{row}\n", "stock")

    assert answer.status_code == 422
    assert says in answer.content.decode().replace("&#x27;", "'")
    assert nothing_changed()


def test_a_formula_in_a_spreadsheet_is_refused_with_its_cell(signed_in: Sign):
    raw = sheet(["item", "size", "lot", "quantity", "place"], ["gown-impermeable", "l", "G-1", "=2+3", "store"])

    answer = hand_in(signed_in("ingrid"), raw, "stock", name="stock.xlsx")

    assert answer.status_code == 422
    assert "Line 2: D2: a formula; paste the values instead" in answer.content.decode()
    assert nothing_changed()


def test_a_file_of_a_hundred_megabytes_is_read_past_and_refused_in_words(signed_in: Sign):
    raw = b"code,name\n" + b"H-1,Ann\n" * 12_500_000

    answer = hand_in(signed_in("ingrid"), raw)

    assert answer.status_code == 422
    assert "the file is too large (100 MB; at most 4 MB)" in answer.content.decode()
    assert nothing_changed()


def test_a_spreadsheet_that_unpacks_to_a_great_deal_is_refused(signed_in: Sign, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(files, "UNPACKED", 2000)

    answer = hand_in(signed_in("ingrid"), sheet(["code", "name"], ["H-1", "Ann"]), name="people.xlsx")

    assert answer.status_code == 422
    assert "unpacks to more than" in answer.content.decode()


def test_a_register_that_changed_since_refuses_the_whole_list(signed_in: Sign, staff: dict[str, Any]):
    lead = signed_in("ingrid")
    address = hand_in(lead, PEOPLE)["Location"]
    enter("H-9", "Jörg Straßer", ["wearer"], None, staff["ingrid"])

    answer = lead.post(address)

    assert answer.status_code == 422
    assert "The register has changed" in answer.content.decode()
    assert RegisteredPerson.objects.count() == 1


def test_a_failure_half_way_leaves_nothing(signed_in: Sign, monkeypatch: pytest.MonkeyPatch):
    lead = signed_in("ingrid")
    address = hand_in(lead, STOCK, "stock")["Location"]

    def fail(rows: Any) -> None:
        raise RuntimeError("no disk")

    with monkeypatch.context() as patch:
        patch.setattr("vestry.hospital.registers.importing.ledger.write", fail)
        assert lead.post(address).status_code == 500

    assert not StockLot.objects.exists()
    assert lead.post(address).status_code == 302


def test_other_lists_name_people_by_code(signed_in: Sign, registered: Any, version: Any):
    lead, health = signed_in("ingrid"), signed_in("oona")
    able = "code,in,as,on\nh-1,gown.respirator.2-pairs,wearer,2026-01-05\n"
    fit = (
        "code,respirator,model,size,system,method,on,factors\n"
        "H-1,Disposable respirator,Heron 3,S,us,quantitative,2026-01-05,300 250 *40 150\n"
    )
    cleared = "code,cleared,on\nH-1,powered-only,2026-01-05\n"

    for client, content, sort in (
        (lead, able, "competencies"),
        (lead, fit, "fit-tests"),
        (health, cleared, "clearances"),
    ):
        answer = hand_in(client, content, sort)
        assert answer.status_code == 302, answer.content.decode()
        client.post(answer["Location"])
        again = hand_in(client, client.get(f"/people/export.csv?of={sort}").content, sort)
        assert "1 row says what is known already" in client.get(again["Location"]).content.decode()

    assert {one.kind for one in PersonNote.objects.all()} == {"identity", "competency", "fit-test", "clearance"}
    assert (
        "nobody on the register has the code"
        in hand_in(lead, able.replace("h-1", "H-77"), "competencies").content.decode()
    )
    future = hand_in(lead, able.replace("2026-01-05", "2126-01-05"), "competencies")
    assert "has not come yet" in future.content.decode()


def test_clearances_are_handed_in_by_occupational_health_alone(signed_in: Sign, registered: Any):
    cleared = "code,cleared,on\nH-1,none,2026-01-05\n"

    assert hand_in(signed_in("ingrid"), cleared, "clearances").status_code == 422
    draft = hand_in(signed_in("oona"), cleared, "clearances")["Location"]
    assert signed_in("ingrid").get(draft).status_code == 404
    assert hand_in(signed_in("oona"), PEOPLE).status_code == 422


def test_no_other_page_takes_a_file(signed_in: Sign):
    said = {"code": "H-1", "name": "Ann", "duties": ["wearer"], "file": SimpleUploadedFile("x.csv", b"x")}

    assert signed_in("ingrid").post("/people/new/", said).status_code == 400
    assert nothing_changed()


def test_the_token_of_the_form_is_still_asked_for(staff: dict[str, Any]):
    client = Client(enforce_csrf_checks=True, raise_request_exception=False)
    client.force_login(staff["ingrid"])

    assert hand_in(client, PEOPLE).status_code == 403
    assert nothing_changed()


# ---- out again ----


def test_what_is_exported_can_be_imported_and_says_nothing_new(signed_in: Sign, version: Any):
    lead = signed_in("ingrid")
    lead.post(hand_in(lead, PEOPLE)["Location"])

    out = lead.get("/people/export.csv").content
    again = hand_in(lead, out)

    assert "Nothing in it is new" in lead.get(again["Location"]).content.decode()
    as_sheet = lead.get("/people/export.xlsx").content
    again = hand_in(lead, as_sheet, name="people.xlsx")
    assert "Nothing in it is new" in lead.get(again["Location"]).content.decode()


def test_no_exported_cell_is_worked_out_by_a_spreadsheet(signed_in: Sign, staff: dict[str, Any]):
    enter("H-1", '=HYPERLINK("http://x","y")', ["wearer"], None, staff["ingrid"])
    lead = signed_in("ingrid")

    rows = list(csv.reader(io.StringIO(lead.get("/people/export.csv").content.decode("utf-8-sig"))))
    assert rows[1][1].startswith("'=")
    book = openpyxl.load_workbook(io.BytesIO(lead.get("/people/export.xlsx").content))
    assert {cell.data_type for row in book["People"].iter_rows() for cell in row if cell.value} == {"s"}


def test_what_the_clinician_found_is_exported_to_occupational_health_alone(signed_in: Sign, registered: Any):
    cleared = "code,cleared,on\nH-1,powered-only,2026-01-05\n"
    health = signed_in("oona")
    health.post(hand_in(health, cleared, "clearances")["Location"])

    assert "powered-only" in health.get("/people/export.csv?of=clearances").content.decode()
    for address in ("/people/export.csv?of=clearances", "/people/export.xlsx"):
        content = signed_in("ingrid").get(address).content
        assert b"powered-only" not in content
    book = openpyxl.load_workbook(io.BytesIO(signed_in("ingrid").get("/people/export.xlsx").content))
    assert book.sheetnames == ["People", "Competencies", "Fit tests"]


def test_the_ledger_is_exported_line_by_line(signed_in: Sign, lot: Any):
    text = signed_in("anselm").get("/stock/export.csv?of=ledger").content.decode("utf-8-sig")

    assert "received,gown-impermeable,l,L-1,10,,store,Ingrid Vell" in text


def test_the_reference_page_names_every_column_of_every_list():
    page = (Path(__file__).parents[3] / "docs/reference/register-files.md").read_text("utf-8")

    for sort in SORTS.values():
        section = page.split(f"## {sort.title}\n")[1].split("\n## ")[0]
        told = [line.split("|")[1].strip().strip("*`") for line in section.splitlines() if line.startswith("| ")]
        assert told[1:] == [one.name for one in sort.columns], sort.name
        bold = [line.split("|")[1].strip().strip("`*") for line in section.splitlines() if line.startswith("| **")]
        assert bold == [one.name for one in sort.columns if one.needed], sort.name


# ---- in another language ----

IN_SPANISH = {
    "%(text)r is no date that can be read: %(hint)s": "%(text)r no es una fecha legible: %(hint)s",
    "write the year with four digits": "escriba el año con cuatro cifras",
    "is missing": "falta",
    "the file is too large (%(size)s MB; at most %(most)s MB): split it, or leave out what is not asked for":
        "el archivo es demasiado grande (%(size)s MB)",
}  # fmt: skip


def test_problems_are_said_in_the_language_of_the_page_and_in_english_as_they_were(monkeypatch: pytest.MonkeyPatch):
    """The texts are looked up where the page is made: a value filled in is looked up as well."""
    from django.template import Context, Template

    from vestry.hospital.registers.files import BadFile, Row
    from vestry.hospital.registers.sorts import read_rows
    from vestry.hospital.registers.templatetags import told

    rows = [Row(2, {"item": "gown-impermeable", "size": "l", "lot": "G-1", "expiry": "3.4.26", "quantity": "5"})]
    with pytest.raises(BadFile) as bad:
        read_rows("stock", rows, "unsaid")
    with pytest.raises(BadFile) as unread:
        read_rows("stock", [Row(2, rows[0].cells | {"place": "store"})], "unsaid")
    problems = [*bad.value.problems, *unread.value.problems]
    page = Template("{% load told %}{% for one in problems %}{{ one.what|told }}. {% endfor %}")

    in_english = page.render(Context({"problems": problems}, autoescape=False))
    assert in_english == "is missing. '3.4.26' is no date that can be read: write the year with four digits. "
    monkeypatch.setattr(told, "gettext", lambda text: IN_SPANISH.get(text, text))
    in_spanish = page.render(Context({"problems": problems}, autoescape=False))
    assert in_spanish == "falta. '3.4.26' no es una fecha legible: escriba el año con cuatro cifras. "


def test_every_problem_that_an_import_can_tell_keeps_its_values_apart():
    """No sentence is put together where it cannot be looked up: each is given to `told`, or taken from one that was."""
    import ast

    import vestry

    place, wanted = Path(vestry.__file__).parent, {"RowProblem": 2, "wrong": 1, "BadCell": 0, "_whole": 0}
    together = []
    for name in (
        "hospital/registers/files.py", "hospital/registers/cells.py", "hospital/registers/sorts.py", "trade/tables.py",
        "hospital/registers/importing.py", "hospital/coverage/importing.py", "hospital/coverage/rota_file.py",
    ):  # fmt: skip
        for call in ast.walk(ast.parse((place / name).read_text("utf-8"))):
            if not isinstance(call, ast.Call):
                continue
            of = call.func.id if isinstance(call.func, ast.Name) else getattr(call.func, "attr", "")
            if of in wanted and len(call.args) > wanted[of]:
                said = call.args[wanted[of]]
                if isinstance(said, ast.JoinedStr | ast.Constant | ast.BinOp):
                    together.append((name, call.lineno))
    assert together == []

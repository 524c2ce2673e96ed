"""The registers as files: CSV of one list, XLSX of all. What is exported can be imported again.

A text that a spreadsheet would take for a formula gets an apostrophe before it; importing takes it away.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from typing import Any

from django.http import HttpRequest, HttpResponse

from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.registers import ledger
from vestry.hospital.registers.columns import SORTS
from vestry.hospital.registers.mapper import note_of
from vestry.hospital.registers.models import PersonNote, RegisteredPerson, StockMovement
from vestry.hospital.registers.sorts import TRIED
from vestry.people import Clearance, Competency, FitTest, Note, person_of, standing
from vestry.trade.tables import guarded

Rows = Iterator[list[str]]
LEDGER = ("when", "what", "item", "size", "lot", "quantity", "from", "to", "by", "why", "entry", "lot-assumed")


def heads_of(sort: str) -> list[str]:
    return [one.name for one in SORTS[sort].columns]


def _noted() -> Iterator[tuple[RegisteredPerson, tuple[Note, ...]]]:
    """Everyone with the notes that count: two queries."""
    rows: dict[Any, list[PersonNote]] = {}
    for row in PersonNote.objects.all():
        rows.setdefault(row.person_id, []).append(row)
    for person in RegisteredPerson.objects.select_related("user"):
        yield person, standing(note_of(one) for one in rows.get(person.pk, []))


def people_rows() -> Rows:
    for person, notes in _noted():
        value = person_of(str(person.pk), notes)
        tried = {one.what: one.size for one in value.tried}
        hand = value.hand
        yield [
            person.code,
            person.name,
            person.user.sign_in if person.user else "",
            "; ".join(value.duties),
            _text(value.height_mm),
            _text(hand.circumference_mm if hand else None),
            _text(hand.length_mm if hand else None),
            *(tried.get(kind, "") for kind in TRIED),
        ]


def competency_rows() -> Rows:
    for person, notes in _noted():
        for one in notes:
            if isinstance(one.said, Competency):
                said = one.said
                yield [person.code, said.subject, said.duty, said.on.isoformat(), _text(said.months)]


def fit_test_rows() -> Rows:
    for person, notes in _noted():
        for one in notes:
            if isinstance(one.said, FitTest):
                yield [person.code, *_fit_test(one.said)]


def _fit_test(said: FitTest) -> list[str]:
    factors = " ".join(f"{'*' if one.exercise == 'grimace' else ''}{one.factor:g}" for one in said.exercises)
    passed = {True: "yes", False: "no", None: ""}[said.passed]
    return [
        said.item, said.model, said.size, said.device, said.system, said.method, said.on.isoformat(),
        factors, _text(said.overall), passed, _text(said.months),
    ]  # fmt: skip


def clearance_rows() -> Rows:
    for person, notes in _noted():
        for one in notes:
            if isinstance(one.said, Clearance):
                said = one.said
                yield [person.code, said.cleared, said.on.isoformat(), said.until.isoformat() if said.until else ""]


def stock_rows() -> Rows:
    for one in ledger.stock_now().there:
        if one.quantity > 0:
            lot = one.lot
            yield [
                lot.item, lot.size, lot.number, lot.expiry.isoformat() if lot.expiry else "", str(one.quantity),
                one.place, lot.gtin or "", lot.model or "", _text(lot.length_mm), str(lot.per_scan),
            ]  # fmt: skip


def ledger_rows() -> Rows:
    for one in StockMovement.objects.select_related("lot", "by").iterator():
        yield [
            one.at.isoformat(timespec="seconds"), one.kind, one.lot.item, one.lot.size, one.lot.number,
            str(one.quantity), one.from_place, one.to_place, one.by.name if one.by else "the record", one.why,
            str(one.entry_id or ""), "yes" if one.assumed else "",
        ]  # fmt: skip


def _text(value: Any) -> str:
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def as_csv(heads: Iterable[str], rows: Rows) -> bytes:
    """With the mark by which spreadsheets know UTF-8."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(heads)
    writer.writerows([guarded(cell) for cell in row] for row in rows)
    return out.getvalue().encode("utf-8-sig")


def as_xlsx(sheets: Iterable[tuple[str, Iterable[str], Rows]]) -> bytes:
    """Every cell a text: nothing in it is worked out."""
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    book = Workbook(write_only=True)
    for title, heads, rows in sheets:
        sheet = book.create_sheet(title)
        sheet.append(list(heads))
        for row in rows:
            cells = []
            for text in row:
                cell = WriteOnlyCell(sheet, value=ILLEGAL_CHARACTERS_RE.sub("", guarded(text)))
                cell.data_type = "s"
                cells.append(cell)
            sheet.append(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def file_answer(content: bytes, name: str, kind: str) -> HttpResponse:
    response = HttpResponse(content, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


CSV, XLSX = "text/csv; charset=utf-8", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
OF_PEOPLE = {
    "people": people_rows,
    "competencies": competency_rows,
    "fit-tests": fit_test_rows,
    "clearances": clearance_rows,
}


def _lists(request: HttpRequest) -> list[str]:
    """The lists that this visitor may have: what a clinician found is for occupational health alone."""
    health = "occupational-health" in visitor(request).roles
    return [one for one in OF_PEOPLE if one != "clearances" or health]


@door(GET="export-register")
def people_csv(request: HttpRequest) -> HttpResponse:
    sort = request.GET.get("of", "people")
    sort = sort if sort in _lists(request) else "people"
    return file_answer(as_csv(heads_of(sort), OF_PEOPLE[sort]()), f"{sort}.csv", CSV)


@door(GET="export-register")
def people_xlsx(request: HttpRequest) -> HttpResponse:
    sheets = [(SORTS[one].title[:31], heads_of(one), OF_PEOPLE[one]()) for one in _lists(request)]
    return file_answer(as_xlsx(sheets), "people.xlsx", XLSX)


@door(GET="export-stock")
def stock_csv(request: HttpRequest) -> HttpResponse:
    if request.GET.get("of") == "ledger":
        return file_answer(as_csv(LEDGER, ledger_rows()), "ledger.csv", CSV)
    return file_answer(as_csv(heads_of("stock"), stock_rows()), "stock.csv", CSV)


@door(GET="export-stock")
def stock_xlsx(request: HttpRequest) -> HttpResponse:
    sheets = [("Stock", heads_of("stock"), stock_rows()), ("Ledger", LEDGER, ledger_rows())]
    return file_answer(as_xlsx(sheets), "stock.xlsx", XLSX)

"""Importing a list: hand in a file, look at what it would change, take all of it or nothing."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from django.views.decorators.csrf import csrf_exempt, csrf_protect

from vestry.hospital.access.door import door
from vestry.hospital.access.models import User
from vestry.hospital.access.people import visitor
from vestry.hospital.registers import ledger
from vestry.hospital.registers.columns import SORTS
from vestry.hospital.registers.files import LARGEST, BadFile, Row, read_file, too_large
from vestry.hospital.registers.models import ImportDraft, PersonNote, RegisteredPerson, StockMovement
from vestry.hospital.registers.people_pages import enter
from vestry.hospital.registers.sorts import Read, read_rows
from vestry.hospital.registers.stock_pages import lot_like
from vestry.hospital.uploading import OneFile
from vestry.hospital.writing import writing
from vestry.trade.tables import DateOrder, RowProblem
from vestry.trade.told import told

OF_PEOPLE = ("people", "competencies", "fit-tests", "clearances")
ORDERS: tuple[tuple[DateOrder, Any], ...] = (
    ("unsaid", _("year first (2026-04-03), or such that no date can be read in two ways")),
    ("day-first", _("day first (3.4.2026 is 3 April)")),
    ("month-first", _("month first (4/3/2026 is 3 April)")),
)
Reads = Callable[[str, list[Row], DateOrder], object]
MANY = 60
KEPT = datetime.timedelta(days=1)


def may_import(user: User, sort: str) -> bool:
    """Clearances are occupational health's; fit tests both's; the rest is the lead's."""
    if sort == "clearances":
        return "occupational-health" in user.roles
    if sort == "fit-tests":
        return user.may("note-on-register")
    return user.may("edit-stock" if sort == "stock" else "edit-register")


class ImportForm(forms.Form):
    """Which list, in which order its dates are, and the file."""

    sort = forms.ChoiceField(label=_("What is in the file"))
    date_order = forms.ChoiceField(
        label=_("Dates are written"), choices=ORDERS, widget=forms.RadioSelect, initial="unsaid"
    )
    file = forms.FileField(
        label=_("File"),
        help_text=_("CSV in UTF-8, or XLSX (its first sheet). The first line holds the heads."),
        error_messages={"required": _("Choose a file."), "empty": _("The file is empty.")},
    )

    def __init__(self, *args: Any, sorts: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["sort"]
        field.choices = sorts


def takes_a_file(view: Any) -> Any:
    """A view that gets one file. The token of the form is looked at after the file's handler is in place."""
    checked = csrf_protect(view)

    def with_file(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        handler = OneFile(request, LARGEST)
        request.upload_handlers = [handler]
        request.one_file = handler  # type: ignore[attr-defined]
        answer: HttpResponse = checked(request, *args, **kwargs)
        return answer

    return csrf_exempt(with_file)


@door(GET="note-on-register", POST="note-on-register")
@takes_a_file
def import_people(request: HttpRequest) -> HttpResponse:
    return _hand_in(request, OF_PEOPLE, "/people/import/")


@door(GET="edit-stock", POST="edit-stock")
@takes_a_file
def import_stock(request: HttpRequest) -> HttpResponse:
    return _hand_in(request, ("stock",), "/stock/import/")


def _hand_in(request: HttpRequest, sorts: tuple[str, ...], address: str) -> HttpResponse:
    user = visitor(request)
    return take_file(request, [(one, SORTS[one].title) for one in sorts if may_import(user, one)], read_rows, address)


def take_file(request: HttpRequest, known: list[tuple[str, Any]], read: Reads, address: str) -> HttpResponse:
    """The page where a list is handed in. `known`: sorts and their names; `read`: raises BadFile with every problem."""
    form = ImportForm(request.POST or None, request.FILES or None, sorts=known)
    handler: OneFile = request.one_file  # type: ignore[attr-defined]
    problems: list[RowProblem] = []
    if request.method == "POST" and handler.too_large:
        form.errors.clear()
        problems = [RowProblem(0, "", too_large(handler.too_large))]
    elif request.method == "POST" and form.is_valid():
        try:
            rows = read_file(form.cleaned_data["file"].read())
            read(form.cleaned_data["sort"], rows, form.cleaned_data["date_order"])
            return HttpResponseRedirect(f"{address}{keep_draft(form, rows, visitor(request)).pk}/")
        except BadFile as bad:
            problems = bad.problems
    columns = [SORTS[one] for one, _ in known]
    context = {"form": form, "problems": problems, "columns": columns, "back": address.replace("import/", "")}
    return render(request, "registers/import.html", context, status=422 if request.method == "POST" else 200)


def keep_draft(form: forms.Form, rows: list[Row], by: User) -> ImportDraft:
    """The rows, kept until they are taken or a day has passed."""
    said = form.cleaned_data
    with writing():
        ImportDraft.objects.filter(at__lt=timezone.now() - KEPT).delete()
        return ImportDraft.objects.create(
            sort=said["sort"],
            file_name=str(said["file"].name)[:120],
            date_order=said["date_order"],
            rows=[[row.line, row.cells] for row in rows],
            by=by,
            at=timezone.now(),
        )


@door(GET="note-on-register", POST="note-on-register")
def people_draft(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    return _look(request, key, OF_PEOPLE, "/people/")


@door(GET="edit-stock", POST="edit-stock")
def stock_draft(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    return _look(request, key, ("stock",), "/stock/")


def _look(request: HttpRequest, key: uuid.UUID, sorts: tuple[str, ...], back: str) -> HttpResponse:
    """What the list would change, on the register as it is now; taking it."""
    user = visitor(request)
    draft = ImportDraft.objects.filter(pk=key, by=user, sort__in=sorts).first()
    if draft is None:
        raise Http404
    if not may_import(user, draft.sort):
        raise PermissionDenied("import")
    try:
        if request.method == "POST":
            says = _take(draft, user)
            messages.info(request, says)
            return HttpResponseRedirect(back)
        read = _read(draft)
    except BadFile as bad:
        context = {"draft": draft, "problems": bad.problems, "sort": SORTS[draft.sort], "back": back}
        return render(request, "registers/import-preview.html", context, status=422)
    context = {"draft": draft, "sort": SORTS[draft.sort], "back": back, **_preview(read)}
    return render(request, "registers/import-preview.html", context)


def _read(draft: ImportDraft) -> Read:
    rows = [Row(line, cells) for line, cells in draft.rows]
    order: Any = draft.date_order
    return read_rows(draft.sort, rows, order)


def _preview(read: Read) -> dict[str, Any]:
    names = {one.code: one.name for one in RegisteredPerson.objects.only("code", "name")}
    names |= {one.code: one.name for one in read.people}
    return {
        "people": read.people[:MANY],
        "people_count": len(read.people),
        "notes": [(one, names.get(one.code, one.code), _short(one.said)) for one in read.notes[:MANY]],
        "notes_count": len(read.notes),
        "stock": read.stock[:MANY],
        "stock_count": len(read.stock),
        "known": read.known,
        "many": MANY,
        "nothing": not (read.people or read.notes or read.stock),
    }


def _short(said: dict[str, Any]) -> str:
    """A note's content in one line, as it would be stored."""
    parts = []
    for name, value in said.items():
        if isinstance(value, dict):
            parts.append(_short(value))
        elif isinstance(value, list):
            parts.append(f"{len(value)} {name}" if value else "")
        elif value is not None:
            parts.append(f"{name.replace('-', ' ')} {value}")
    return ", ".join(part for part in parts if part)


def _take(draft: ImportDraft, by: User) -> str:
    """All of it in one transaction, read anew on the register as it is then."""
    with writing():
        read = _read(draft)
        now = timezone.now()
        for one in read.people:
            user = User.objects.filter(sign_in=one.sign_in).first() if one.sign_in else None
            enter(one.code, one.name, list(one.duties), user, by)
        people = {one.code: one for one in RegisteredPerson.objects.all()} if read.notes else {}
        for note in read.notes:
            PersonNote.objects.create(person=people[note.code], kind=note.kind, said=note.said, by=by, at=now)
        _receive(read, by)
        draft.delete()
    return gettext("Taken: %(len)s people, %(len2)s notes, %(len3)s lines of stock.") % {
        "len": len(read.people),
        "len2": len(read.notes),
        "len3": len(read.stock),
    }


def _receive(read: Read, by: User) -> None:
    rows = []
    for one in read.stock:
        lot = lot_like(one.lot, by)
        if isinstance(lot, str):
            raise BadFile([RowProblem(0, "expiry", told("%(lot)s: %(why)s", lot=one.lot["number"], why=lot))])
        if lot._state.adding:
            lot.save()
        rows.append(
            StockMovement(lot=lot, kind="received", quantity=one.quantity, to_place=one.place, at=timezone.now(), by=by)
        )
    ledger.write(rows)

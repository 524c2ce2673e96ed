"""Stock: what is on the shelf, receiving by scanner or by hand, one lot, counting, reserves."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterable
from typing import Any, cast

from csp.decorators import csp_update
from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext

from vestry.hospital import facts
from vestry.hospital.access.door import door
from vestry.hospital.access.models import User
from vestry.hospital.access.people import visitor
from vestry.hospital.language import WORDS
from vestry.hospital.registers import ledger
from vestry.hospital.registers.mapper import movement_value, reserves_in_force
from vestry.hospital.registers.models import (
    Balance,
    EntryGear,
    EntryPosting,
    StockLot,
    StockMovement,
    StockQuarantine,
    StockReserve,
)
from vestry.hospital.registers.posting import not_posted, post
from vestry.hospital.registers.stock_forms import (
    PLACES,
    CountForm,
    HoldForm,
    MoveForm,
    ReceiveForm,
    ReserveForm,
    ScanForm,
    stocked,
    supply_name,
)
from vestry.hospital.writing import writing
from vestry.stock import PAIRED, Level, Where, count, levels, where_used
from vestry.stock.gs1 import Scan
from vestry.trade import Catalogue
from vestry.trade.shelf import supplies

SOON = datetime.timedelta(days=60)
ON_A_PAGE = 100


@door(GET="see-stock")
def shelf(request: HttpRequest) -> HttpResponse:
    """By item and size: what may be used, its earliest expiry, the reserve; then the lots of one item."""
    stock = ledger.stock_now()
    item = request.GET.get("item", "")
    catalogue = facts.catalogue()
    rows = [level_told(one, stock.on, catalogue) for one in levels(stock.there, reserves_in_force())]
    lots = [one for one in stock.there if one.lot.item == item] if item else []
    page = Paginator(lots, ON_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "rows": rows,
        "short": [one for one in rows if one["level"].short],
        "item": item if any(one["level"].item == item for one in rows) else "",
        "item_name": name_of(item) if item else "",
        "page": page,
        "on": stock.on,
        "soon": stock.on + SOON,
        "not_posted": not_posted() if visitor(request).may("move-stock") else [],
        "wanting": wanting_told(),
    }
    return render(request, "registers/shelf.html", context)


def name_of(item: str) -> str:
    """The name of an item or a supply; its id where the words do not know it."""
    if item in supplies():
        return supply_name(item)
    return WORDS.item(item) if item in WORDS.file.item else item


def unit_of(item: str, catalogue: Catalogue, number: int = 2) -> str:
    """In what an item is counted."""
    known = catalogue.items.get(item)
    unit = "pair" if known is not None and known.kind in PAIRED else "piece"
    return unit if number == 1 else f"{unit}s"


def level_told(level: Level, on: datetime.date, catalogue: Catalogue) -> dict[str, Any]:
    return {
        "level": level,
        "name": name_of(level.item),
        "unit": unit_of(level.item, catalogue, level.usable),
        "soon": level.earliest is not None and level.earliest <= on + SOON,
    }


def wanting_told() -> list[dict[str, Any]]:
    """The last entries whose use could not all be put to a lot."""
    newest = EntryPosting.objects.exclude(wanting=[]).select_related("entry").order_by("-at")[:10]
    return [
        {
            "entry": one.entry,
            "what": [_wanted(two) for two in one.wanting],
        }
        for one in newest
    ]


def _wanted(one: dict[str, Any]) -> str:
    size = one["size"].upper() if one["size"] else gettext("size not known")
    return f"{name_of(one['item'])}, {size}: {one['quantity']}"


@door(POST="move-stock")
def post_entries(request: HttpRequest) -> HttpResponse:
    """Put down the use of closed entries that was not put down when they closed."""
    done = sum(post(one) for one in not_posted())
    says = (
        gettext("The use of %(done)s entries was put to the ledger.") % {"done": done}
        if done
        else gettext("Nothing was left to put down.")
    )
    messages.info(request, says)
    return HttpResponseRedirect("/stock/")


@door(GET="move-stock", POST="move-stock")
def receive(request: HttpRequest) -> HttpResponse:
    """Scan or type what came in."""
    act = request.POST.get("act")
    if act == "scan":
        return _scanned(request)
    form = ReceiveForm(request.POST if act == "receive" else None, initial={"to": "store", "per_scan": 1})
    if form.is_bound and form.is_valid():
        lot = _received(form, visitor(request))
        if lot is not None:
            messages.info(
                request,
                gettext("Received: %(cleaned_data_quantity)s of %(lot)s.")
                % {"cleaned_data_quantity": form.cleaned_data["quantity"], "lot": lot},
            )
            return HttpResponseRedirect(f"/stock/lots/{lot.pk}/")
    return _receive_page(request, form, ScanForm(), None, 422 if request.method == "POST" else 200)


@csp_update({"script-src": ["'wasm-unsafe-eval'"]})
def _decoding(request: HttpRequest) -> HttpResponse:
    return render(request, "registers/camera.html", {"scanning": ScanForm()})


@door(GET="move-stock")
def camera(request: HttpRequest) -> HttpResponse:
    """Scan with the camera: the one page that may run the decoder, which is shipped with us."""
    return cast(HttpResponse, _decoding(request))


def _scanned(request: HttpRequest) -> HttpResponse:
    """Fill the form from the code; go to the lot where it is known."""
    scanning = ScanForm(request.POST)
    if not scanning.is_valid():
        return _receive_page(request, ReceiveForm(initial={"to": "store"}), scanning, None, 422)
    found = scanning.read()
    form = ReceiveForm(initial=_filled(found))
    return _receive_page(request, form, ScanForm(), found, 200 if found.sort != "unread" else 422)


def _filled(found: Scan) -> dict[str, Any]:
    """What the code says, and what is known of other lots with this item number."""
    said: dict[str, Any] = {"to": "store", "gtin": found.gtin or "", "number": found.lot or "", "expiry": found.expiry}
    known = StockLot.objects.filter(gtin=found.gtin).order_by("-at").first() if found.gtin else None
    if known is not None:
        said |= {"item": known.item, "size": known.size, "model": known.model, "length_mm": known.length_mm}
        said |= {"per_scan": known.per_scan, "quantity": known.per_scan}
    return said


def _receive_page(
    request: HttpRequest, form: ReceiveForm, scanning: ScanForm, found: Scan | None, status: int
) -> HttpResponse:
    lots = StockLot.objects.filter(gtin=found.gtin, number=found.lot)[:5] if found and found.gtin and found.lot else []
    context = {"form": form, "scanning": scanning, "found": found, "lots": lots, "places": PLACES}
    return render(request, "registers/receive.html", context, status=status)


def _received(form: forms.Form, by: User) -> StockLot | None:
    said, now = form.cleaned_data, timezone.now()
    with writing():
        lot = lot_like(said, by)
        if isinstance(lot, str):
            form.add_error("number", lot)
            return None
        if lot._state.adding:
            lot.save()
        row = StockMovement(lot=lot, kind="received", quantity=said["quantity"], to_place=said["to"], at=now, by=by)
        ledger.write([row])
    return lot


def lot_like(said: dict[str, Any], by: User) -> StockLot | str:
    """The lot that is known by item, size, number and model, or a new one; a sentence where they disagree."""
    key = {name: said.get(name) or "" for name in ("item", "size", "number", "model")}
    known = StockLot.objects.filter(**key).first()
    if known is None:
        more = {"expiry": said.get("expiry"), "gtin": said.get("gtin") or "", "length_mm": said.get("length_mm")}
        return StockLot(**key, **more, per_scan=said.get("per_scan") or 1, by=by, at=timezone.now())
    if known.expiry != said.get("expiry"):
        stands = f"{known.expiry:%-d %B %Y}" if known.expiry else "none"
        return gettext("This lot is known, and its expiry is %(stands)s. Look at the label again.") % {"stands": stands}
    return known


@door(GET="see-stock", POST="move-stock")
def lot_page(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """One lot: where it stands, its ledger, where it was used; moving and counting it."""
    lot = get_object_or_404(StockLot.objects.select_related("by"), pk=key)
    if request.method != "POST":
        return _lot(request, lot)
    act = request.POST.get("act")
    form: forms.Form = CountForm(request.POST) if act == "count" else MoveForm(request.POST)
    if form.is_valid():
        problem = _count(form, lot, visitor(request)) if act == "count" else _move(form, lot, visitor(request))
        if problem is None:
            return HttpResponseRedirect(f"/stock/lots/{key}/")
        form.add_error(*problem)
    return _lot(request, lot, form, 422)


def _move(form: forms.Form, lot: StockLot, by: User) -> tuple[str | None, str] | None:
    said = form.cleaned_data
    if said["kind"] == "moved" and not said["to"]:
        return "to", gettext("Say where it is moved to.")
    if said["kind"] != "moved" and said["to"]:
        return "to", gettext("Only what is moved goes to a place. Leave it empty.")
    if said["kind"] == "moved" and said["to"] == said["start"]:
        return "to", gettext("It is there already.")
    if said["kind"] in ("damaged", "discarded") and not said["why"].strip():
        return "why", gettext("Say why.")
    ledger.write(
        [
            StockMovement(
                lot=lot,
                kind=said["kind"],
                quantity=said["quantity"],
                from_place=said["start"],
                to_place=said["to"],
                why=said["why"].strip(),
                at=timezone.now(),
                by=by,
            )
        ]
    )
    return None


def _count(form: forms.Form, lot: StockLot, by: User) -> tuple[str | None, str] | None:
    said = form.cleaned_data
    where = Where(str(lot.pk), said["place"])
    with writing():
        balance = Balance.objects.filter(lot=lot, place=said["place"]).first()
        found = count(where, said["counted"], {where: balance.quantity} if balance else {})
        if found.kind is None:
            return None
        if not said["why"].strip():
            return "why", gettext("The ledger says %(expected)s, you counted %(counted)s. Say what is known of it.") % {
                "expected": found.expected,
                "counted": found.counted,
            }
        more = found.kind == "counted-more"
        row = StockMovement(
            lot=lot,
            kind=found.kind,
            quantity=abs(found.difference),
            from_place="" if more else said["place"],
            to_place=said["place"] if more else "",
            why=said["why"].strip(),
            at=timezone.now(),
            by=by,
        )
        ledger.write([row])
    return None


def _lot(request: HttpRequest, lot: StockLot, bound: forms.Form | None = None, status: int = 200) -> HttpResponse:
    rows = lot.movements.select_related("by", "entry__wearer").order_by("-at", "-id")
    page = Paginator(rows, ON_A_PAGE).get_page(request.GET.get("page"))
    used = where_used(str(lot.pk), (movement_value(one) for one in rows.filter(entry__isnull=False)))
    stock = ledger.stock_now(items=[lot.item])
    there = stock.of_lot(lot.pk)
    quarantines = list(lot.quarantines.select_related("by"))
    start = {"start": there[0].place if there else "store", "place": there[0].place if there else "store"}
    context = {
        "lot": lot,
        "name": name_of(lot.item),
        "counted_in": unit_of(lot.item, facts.catalogue()),
        "there": there,
        "held": str(lot.pk) in ledger.held_now(),
        "expired": lot.expiry is not None and lot.expiry < stock.on,
        "page": page,
        "told": [(one, WORDS.term("movement", one.kind)) for one in page.object_list],
        "used": used,
        "scanned": scanned_only(lot),
        "quarantines": reversed(quarantines),
        "move": bound if isinstance(bound, MoveForm) else MoveForm(initial=start, auto_id="move-%s"),
        "count": bound if isinstance(bound, CountForm) else CountForm(initial=start, auto_id="count-%s"),
        "hold": HoldForm(auto_id="hold-%s"),
        "bound": bound,
    }
    return render(request, "registers/lot.html", context, status=status)


def scanned_only(lot: StockLot) -> list[EntryGear]:
    """Scans of this lot that the ledger does not have: the entry is not over, was a drill, or was posted before."""
    posted = StockMovement.objects.filter(lot=lot, assumed=False).exclude(entry=None).values("entry_id")
    return list(lot.gear.filter(back=None).exclude(entry__in=posted).select_related("entry__wearer"))


@door(POST="hold-lot")
def hold(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """Put a lot on hold, or let it go: whichever it is not."""
    lot = get_object_or_404(StockLot, pk=key)
    form = HoldForm(request.POST)
    if not form.is_valid():
        return _lot(request, lot, form, 422)
    with writing():
        act = "released" if str(lot.pk) in ledger.held_now() else "held"
        if request.POST.get("act") not in (None, "", act):
            form.add_error(None, gettext("Somebody has done this already."))
            return _lot(request, lot, form, 422)
        StockQuarantine.objects.create(
            lot=lot, act=act, why=form.cleaned_data["why"], by=visitor(request), at=timezone.now()
        )
    return HttpResponseRedirect(f"/stock/lots/{key}/")


@door(GET="see-stock", POST="edit-stock")
def reserves(request: HttpRequest) -> HttpResponse:
    """How many of each item are wanted at least."""
    form = ReserveForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        with writing():
            StockReserve.objects.create(**form.cleaned_data, by=visitor(request), at=timezone.now())
        return HttpResponseRedirect("/stock/reserves/")
    catalogue = facts.catalogue()
    rows = [(name_of(one.item), one, unit_of(one.item, catalogue)) for one in reserves_in_force()]
    context = {"form": form, "rows": sorted(rows, key=lambda one: (one[0], one[1].size or ""))}
    return render(request, "registers/reserves.html", context, status=422 if form.is_bound else 200)


def known_items() -> Iterable[str]:
    """Ids of the items of which stock may be kept."""
    return (key for key, _ in stocked())

"""Scanning the lots and powered units that those in an entry put on."""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from vestry.hospital import facts, running_facts
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.language import WORDS
from vestry.hospital.record.models import Entry
from vestry.hospital.record.reading import entry_led_by
from vestry.hospital.registers import ledger
from vestry.hospital.registers.gear_forms import GearForm
from vestry.hospital.registers.mapper import lot_value, unit_event_value, unit_value
from vestry.hospital.registers.models import (
    EntryGear,
    EntryGearBack,
    EntryPosting,
    StockLot,
    StockUnit,
    StockUnitEvent,
)
from vestry.hospital.registers.posting import gear_of, people_of, sizes_of
from vestry.hospital.registers.stock_pages import name_of, unit_of
from vestry.hospital.registers.unit_pages import told
from vestry.hospital.writing import writing
from vestry.sequence import Plan
from vestry.stock import Part, Trouble, consumed, lot_troubles, reused, team_use, unit_state, unit_troubles
from vestry.stock.gs1 import read_code
from vestry.stock.using import BROUGHT
from vestry.trade import Catalogue

PART_NAMES: Mapping[Part, Any] = {
    "wearer": gettext_lazy("wearer"),
    "observer": gettext_lazy("trained observer"),
    "assistant": gettext_lazy("doffing assistant"),
}
Thing = StockLot | StockUnit


@dataclass(frozen=True)
class Told:
    """A scanned thing with what is said of it before it is put on."""

    thing: Thing
    troubles: tuple[Trouble, ...]
    says: tuple[str, ...]

    @property
    def name(self) -> str:
        return name_of(self.thing.item)


@door(GET="lead-entry", POST="lead-entry")
def gear(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """What is worn by lot and unit, and the next scan."""
    entry = entry_led_by(visitor(request), key)
    people = _people(entry)
    if request.method != "POST":
        part = request.GET.get("part", "wearer")
        return _page(request, entry, GearForm(people=people, initial={"part": part, "quantity": 1}))
    if request.POST.get("act") == "back":
        return _taken_back(request, entry)
    form = GearForm(request.POST, people=people)
    if not form.is_valid():
        return _page(request, entry, form, status=422)
    return _scanned(request, entry, form)


def _people(entry: Entry) -> list[tuple[Part, str]]:
    return [(part, f"{person.name}, {PART_NAMES[part]}") for part, person in people_of(entry)]


def _scanned(request: HttpRequest, entry: Entry, form: GearForm) -> HttpResponse:
    said = form.cleaned_data
    found = things_of(said["code"], worn_by(entry, said["part"]))
    if said["chosen"]:
        found = [one for one in found if one.pk == said["chosen"]]
    if not found:
        form.add_error("code", _("Nothing here has this code. Receive the lot, or add the unit, first."))
        return _page(request, entry, form, status=422)
    if len(found) > 1:
        return _page(request, entry, form, choose=found, status=422)
    about = told_of(entry, said["part"], found[0])
    if about.troubles and not form.decided:
        return _page(request, entry, form, about=about, status=422)
    with writing():
        EntryGear.objects.create(
            entry=entry,
            part=said["part"],
            item=about.thing.item,
            lot=about.thing if isinstance(about.thing, StockLot) else None,
            unit=about.thing if isinstance(about.thing, StockUnit) else None,
            quantity=said["quantity"] if isinstance(about.thing, StockLot) else 1,
            code=said["code"].strip(),
            troubles=list(about.troubles),
            decided_by=said["decided_by"].strip() if about.troubles else "",
            reason=said["reason"].strip() if about.troubles else "",
            late=EntryPosting.objects.filter(entry=entry).exists(),
            by=visitor(request),
            at=timezone.now(),
        )
    messages.info(request, _("Taken: %(name)s, %(thing)s.") % {"name": about.name, "thing": label_of(about.thing)})
    return HttpResponseRedirect(f"/entries/{entry.pk}/gear/?part={said['part']}")


def _taken_back(request: HttpRequest, entry: Entry) -> HttpResponse:
    try:
        row = get_object_or_404(EntryGear, pk=uuid.UUID(str(request.POST.get("gear", ""))), entry=entry)
    except ValueError:
        form = GearForm(people=_people(entry))
        return _page(request, entry, form, status=422)
    with writing():
        if not EntryGearBack.objects.filter(gear=row).exists():
            EntryGearBack.objects.create(gear=row, by=visitor(request), at=timezone.now())
    return HttpResponseRedirect(f"/entries/{entry.pk}/gear/?part={row.part}")


def things_of(code: str, worn: Sequence[str] = ()) -> list[Thing]:
    """The lots and units that a code means: a serial number, a GS1 code, a lot number. Those that are worn first."""
    text = code.strip()
    units = list(StockUnit.objects.filter(serial__iexact=text)) if text else []
    if units:
        return [*units]
    scan = read_code(text, timezone.localdate().year)
    found: list[Thing] = []
    if scan.serial:
        found += StockUnit.objects.filter(serial=scan.serial)
    if not found and scan.gtin:
        lots = StockLot.objects.filter(gtin=scan.gtin)
        found += lots.filter(number=scan.lot) if scan.lot else lots.filter(balances__quantity__gt=0).distinct()
    if not found and text:
        found += StockLot.objects.filter(number__iexact=text)
    fitting = [one for one in found if one.item in worn]
    return fitting or found


def worn_by(entry: Entry, part: Part) -> tuple[str, ...]:
    """Items that this part puts on along the plan, the fresh gloves on the way out with them."""
    plan, catalogue = approved_of(entry.version_id).plan, facts.catalogue_of(entry.version.facts)
    if part == "wearer":
        return (*consumed(plan, catalogue), *reused(plan, catalogue))
    mine = (one for one in _member(plan, part) if catalogue.items[one].kind not in BROUGHT)
    return tuple(dict.fromkeys((*mine, *team_use(plan, part, catalogue))))


def _member(plan: Plan, part: Part) -> tuple[str, ...]:
    return next((one.worn for one in plan.team if one.role == part), ())


def told_of(entry: Entry, part: Part, thing: Thing) -> Told:
    """What is to be said of it before this person puts it on."""
    worn, today = worn_by(entry, part), timezone.localdate()
    if isinstance(thing, StockUnit):
        events = [unit_event_value(one) for one in StockUnitEvent.objects.filter(unit=thing)]
        state = unit_state(unit_value(thing), events, today, running_facts.standards())
        elsewhere = EntryGear.objects.filter(unit=thing, back=None).exclude(entry__stage__in=["closed", "abandoned"])
        troubles = unit_troubles(state, worn=worn, before=elsewhere.exists())
        whys = told(state.why)
        return Told(thing, troubles, tuple(_says(one, ", ".join(whys)) for one in troubles))
    mine = sizes_of(entry, part)
    size, model = size_for(thing.item, {key: one.size for key, one in mine.items()}, facts.catalogue()), None
    if thing.item in mine:
        model = mine[thing.item].model
    held = str(thing.pk) in ledger.held_now()
    found = lot_troubles(lot_value(thing), today, held=held, worn=worn, size=size, model=model)
    more = {"wrong-size": (size or "").upper(), "wrong-model": model or ""}
    if thing.expiry:
        more["expired"] = f"{thing.expiry:%-d %B %Y}"
    return Told(thing, found, tuple(_says(one, more.get(one, "")) for one in found))


def size_for(item: str, sizes: Mapping[str, str], catalogue: Catalogue) -> str | None:
    """Their size of an item, where it is known."""
    from vestry.stock import size_of

    return size_of(item, sizes, catalogue) if item in catalogue.items else sizes.get(item)


def _says(trouble: Trouble, more: str) -> str:
    says = WORDS.term("gear-trouble", trouble)
    return f"{says}: {more}" if more else says


def label_of(thing: Thing | None) -> str:
    """`lot A213B1, L` or `BU-1`."""
    if thing is None:
        return ""
    if isinstance(thing, StockUnit):
        return thing.serial
    size = "" if thing.size == "one-size" else f", {thing.size.upper()}"
    return f"{_('lot')} {thing.number}{size}"


def _page(
    request: HttpRequest,
    entry: Entry,
    form: GearForm,
    *,
    about: Told | None = None,
    choose: Sequence[Thing] = (),
    status: int = 200,
) -> HttpResponse:
    catalogue = facts.catalogue_of(entry.version.facts)
    rows = gear_of(entry)
    context = {
        "entry": entry,
        "form": form,
        "about": about,
        "label": label_of(about.thing) if about else "",
        "choose": [(one, name_of(one.item), label_of(one)) for one in choose],
        "parts": [
            {"part": part, "person": person, "name": PART_NAMES[part], "lines": _lines(entry, part, rows, catalogue)}
            for part, person in people_of(entry)
        ],
        "over": entry.stage in ("closed", "abandoned"),
        "posted": EntryPosting.objects.filter(entry=entry).exists(),
    }
    return render(request, "registers/gear.html", context, status=status)


def _lines(entry: Entry, part: Part, rows: Sequence[EntryGear], catalogue: Catalogue) -> list[dict[str, Any]]:
    """By item: how many are put on, and what was scanned of it; then what was scanned beside."""
    plan = approved_of(entry.version_id).plan
    wanted: Counter[str] = Counter(consumed(plan, catalogue) if part == "wearer" else team_use(plan, part, catalogue))
    for item in worn_by(entry, part):
        wanted.setdefault(item, 1)
    mine = [one for one in rows if one.part == part]
    for one in mine:
        wanted.setdefault(one.item, 0)
    return [
        {
            "name": name_of(item),
            "wanted": count,
            "unit": unit_of(item, catalogue, count),
            "scanned": [(one, label_of(one.lot or one.unit)) for one in mine if one.item == item],
            "missing": max(0, count - sum(one.quantity for one in mine if one.item == item)),
        }
        for item, count in wanted.items()
    ]

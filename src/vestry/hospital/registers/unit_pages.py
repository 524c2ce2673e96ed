"""Powered units: which are ready, what is due, and what happened to one."""

from __future__ import annotations

import uuid
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext

from vestry.hospital import running_facts
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.language import WORDS
from vestry.hospital.registers.mapper import unit_event_value, unit_value
from vestry.hospital.registers.models import StockUnit, StockUnitEvent
from vestry.hospital.registers.picking_pages import unit_states
from vestry.hospital.registers.stock_forms import UnitEventForm, UnitForm
from vestry.hospital.registers.stock_pages import name_of
from vestry.hospital.writing import writing
from vestry.stock import unit_state


@door(GET="see-stock", POST="edit-stock")
def units(request: HttpRequest) -> HttpResponse:
    """Every powered unit, those that are ready first; adding one."""
    form = UnitForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        said = {name: value for name, value in form.cleaned_data.items() if value not in (None, "")}
        with writing():
            if StockUnit.objects.filter(serial=said["serial"]).exists():
                form.add_error("serial", gettext("A unit with this serial number is there already."))
            else:
                row = StockUnit.objects.create(**said, by=visitor(request), at=timezone.now())
        if not form.errors:
            return HttpResponseRedirect(f"/stock/units/{row.pk}/")
    found = sorted(unit_states(timezone.localdate()), key=lambda one: (not one.ready, one.unit.item, one.unit.serial))
    rows = [(one, name_of(one.unit.item), told(one.why)) for one in found]
    context = {"form": form, "rows": rows, "ready": sum(one.ready for one in found)}
    return render(request, "registers/units.html", context, status=422 if form.is_bound else 200)


def told(why: tuple[str, ...]) -> list[str]:
    return [WORDS.term("unit-not-ready", one) for one in why]


@door(GET="see-stock", POST="move-stock")
def unit(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """One unit: its state, what happened to it, and what happens now."""
    row = get_object_or_404(StockUnit, pk=key)
    form = UnitEventForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        said: dict[str, Any] = form.cleaned_data
        with writing():
            StockUnitEvent.objects.create(
                unit=row,
                kind=said["kind"],
                passed=said["passed"] == "yes",
                minutes=said["minutes"],
                note=said["note"],
                by=visitor(request),
                at=timezone.now(),
            )
        return HttpResponseRedirect(f"/stock/units/{key}/")
    events = list(StockUnitEvent.objects.filter(unit=row).select_related("by"))
    state = unit_state(
        unit_value(row), [unit_event_value(one) for one in events], timezone.localdate(), running_facts.standards()
    )
    context = {
        "powered": row,
        "name": name_of(row.item),
        "state": state,
        "why": told(state.why),
        "events": [(one, WORDS.term("unit-event", one.kind)) for one in reversed(events)],
        "form": form,
    }
    return render(request, "registers/unit.html", context, status=422 if form.is_bound else 200)

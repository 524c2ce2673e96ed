"""What to lay out for an entry: first to expire first, with the fresh gloves for the doffing area; to print."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext

from vestry.hospital import facts, running_facts
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ProcedureVersion
from vestry.hospital.desk.standing import in_force
from vestry.hospital.record.models import Entry
from vestry.hospital.registers import ledger
from vestry.hospital.registers.able import ask
from vestry.hospital.registers.mapper import people_values, unit_event_value, unit_value
from vestry.hospital.registers.models import RegisteredPerson, StockUnit, StockUnitEvent
from vestry.hospital.registers.posting import NEAREST
from vestry.hospital.registers.stock_pages import name_of, unit_of
from vestry.stock import Picking, UnitState, picking, reused, takes, unit_state
from vestry.trade import Catalogue


@door(GET="see-stock")
def pick(request: HttpRequest) -> HttpResponse:
    """The list for one procedure and one person, or for nobody in particular."""
    versions = in_force()
    people = list(RegisteredPerson.objects.filter(active=True, duties__contains="wearer"))
    chosen = next((one for one in versions if str(one.pk) == request.GET.get("procedure")), None)
    person = next((one for one in people if str(one.pk) == request.GET.get("for")), None)
    context: dict[str, Any] = {"versions": versions, "people": people, "chosen": chosen, "person": person}
    if chosen is not None:
        context |= _listed(chosen, person)
        context["under_way"] = _under_way(request, chosen)
    return render(request, "registers/picking.html", context)


def _under_way(request: HttpRequest, version: ProcedureVersion) -> list[Entry]:
    """Entries along this version that are not over and that the visitor leads: what is put on there can be scanned."""
    user = visitor(request)
    if not user.may("lead-entry"):
        return []
    entries = Entry.objects.filter(version=version).exclude(stage__in=["closed", "abandoned"]).select_related("wearer")
    return list((entries if "shift-lead" in user.roles else entries.filter(observer=user))[:20])


def _listed(version: ProcedureVersion, person: RegisteredPerson | None) -> dict[str, Any]:
    plan, catalogue = approved_of(version.pk).plan, facts.catalogue_of(version.facts)
    stock = ledger.stock_now()
    sizes: dict[str, str] = {}
    models: dict[str, str] = {}
    if person is not None:
        for one in ask(version, "wearer", people_values([person]), stock).answers[0].sizes:
            sizes[one.item] = one.size
            if one.model:
                models[one.item] = one.model
    found = picking(takes(plan, catalogue, sizes, models), stock.there, NEAREST, any_size=person is None)
    again = reused(plan, catalogue)
    ready = [one for one in unit_states(stock.on) if one.ready] if again else []
    return {
        "areas": [
            (gettext("For putting on"), _rows(found, "donning", catalogue)),
            (gettext("For the doffing area, laid out before anybody goes in"), _rows(found, "doffing", catalogue)),
        ],
        "wanting": [(name_of(one.item), one.size, one.quantity) for one in found.wanting],
        "reused": [(name_of(one), [u.unit.serial for u in ready if u.unit.item == one]) for one in again],
        "on": stock.on,
    }


def _rows(found: Picking, area: str, catalogue: Catalogue) -> list[dict[str, Any]]:
    return [
        {
            "name": name_of(one.take.item),
            "size": one.there.lot.size,
            "model": one.there.lot.model or "",
            "lot": one.there.lot,
            "place": one.there.place,
            "quantity": one.quantity,
            "unit": unit_of(one.take.item, catalogue, one.quantity),
        }
        for one in found.picks
        if one.take.area == area
    ]


def unit_states(on: Any) -> list[UnitState]:
    """Every powered unit as it stands on a day: two queries."""
    events = [unit_event_value(one) for one in StockUnitEvent.objects.all()]
    by_unit: dict[str, list[Any]] = {}
    for one in events:
        by_unit.setdefault(one.unit, []).append(one)
    return [
        unit_state(unit_value(row), by_unit.get(str(row.pk), []), on, running_facts.standards())
        for row in StockUnit.objects.all()
    ]

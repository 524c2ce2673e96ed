"""What to lay out for an entry and its team: first to expire first, fresh gloves for the doffing area; to print."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, get_args

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext

from vestry.hospital import facts, running_facts
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ProcedureVersion
from vestry.hospital.desk.standing import in_force
from vestry.hospital.language import WORDS
from vestry.hospital.record.models import Entry
from vestry.hospital.registers import ledger
from vestry.hospital.registers.able import ask
from vestry.hospital.registers.mapper import people_values, unit_event_value, unit_value
from vestry.hospital.registers.models import RegisteredPerson, StockUnit, StockUnitEvent
from vestry.hospital.registers.posting import NEAREST
from vestry.hospital.registers.stock_pages import name_of, unit_of
from vestry.stock import Part, Picking, Take, UnitState, picking, reused, takes, unit_state
from vestry.trade import Catalogue

PARTS: tuple[Part, ...] = get_args(Part)
SENT: Mapping[Part, str] = {"wearer": "for", "observer": "observer", "assistant": "assistant"}
"""Under which name the page asks for whom."""


@dataclass(frozen=True)
class Laid:
    """One part of the team, and who takes it. None: nobody in particular."""

    part: Part
    people: list[RegisteredPerson]
    person: RegisteredPerson | None

    @property
    def sent(self) -> str:
        return SENT[self.part]

    @property
    def name(self) -> str:
        return WORDS.term("duty", self.part)


@door(GET="see-stock")
def pick(request: HttpRequest) -> HttpResponse:
    """The list for one procedure and its whole team, by name or nobody in particular: one paper."""
    versions = in_force()
    chosen = next((one for one in versions if str(one.pk) == request.GET.get("procedure")), None)
    everyone = list(RegisteredPerson.objects.filter(active=True))
    team = [_laid(part, everyone, request.GET.get(SENT[part])) for part in PARTS]
    named = Counter(one.person.pk for one in team if one.person)
    context: dict[str, Any] = {
        "versions": versions,
        "team": team,
        "chosen": chosen,
        "twice": [one.name for one in everyone if named[one.pk] > 1],
    }
    if chosen is not None:
        context |= _listed(chosen, team)
        context["under_way"] = _under_way(request, chosen)
    return render(request, "registers/picking.html", context)


def _laid(part: Part, everyone: Sequence[RegisteredPerson], key: str | None) -> Laid:
    people = [one for one in everyone if part in one.duties.split()]
    return Laid(part, people, next((one for one in people if str(one.pk) == key), None))


def _under_way(request: HttpRequest, version: ProcedureVersion) -> list[Entry]:
    """Entries along this version that are not over and that the visitor leads: what is put on there can be scanned."""
    user = visitor(request)
    if not user.may("lead-entry"):
        return []
    entries = Entry.objects.filter(version=version).exclude(stage__in=["closed", "abandoned"]).select_related("wearer")
    return list((entries if "shift-lead" in user.roles else entries.filter(observer=user))[:20])


def _listed(version: ProcedureVersion, team: Sequence[Laid]) -> dict[str, Any]:
    plan, catalogue = approved_of(version.pk).plan, facts.catalogue_of(version.facts)
    stock = ledger.stock_now()
    wanted: list[Take] = []
    for one in team:
        sizes, models = _sizes(version, one, stock)
        wanted += takes(plan, catalogue, sizes, models, one.part, any_size=one.person is None)
    found = picking(wanted, stock.there, NEAREST)
    names = {one.part: one.person.name if one.person else one.name for one in team}
    again = [(one.part, item) for one in team for item in reused(plan, catalogue, one.part)]
    ready = [one for one in unit_states(stock.on) if one.ready] if again else []
    return {
        "areas": [
            (gettext("For putting on"), _rows(found, "donning", catalogue, names)),
            (
                gettext("For the doffing area, laid out before anybody goes in"),
                _rows(found, "doffing", catalogue, names),
            ),
        ],
        "wanting": [(names[one.part], name_of(one.item), one.size, one.quantity) for one in found.wanting],
        "bare": [
            (names[member.role], [" / ".join(name_of(item) for item in place) for place in member.missing])
            for member in plan.team
            if member.missing
        ],
        "reused": [
            (names[part], name_of(item), [u.unit.serial for u in ready if u.unit.item == item]) for part, item in again
        ],
        "on": stock.on,
    }


def _sizes(version: ProcedureVersion, laid: Laid, stock: ledger.Stock) -> tuple[dict[str, str], dict[str, str]]:
    """Sizes and models by item, of whoever takes this part."""
    if laid.person is None:
        return {}, {}
    sizes = ask(version, laid.part, people_values([laid.person]), stock).answers[0].sizes
    return {one.item: one.size for one in sizes}, {one.item: one.model for one in sizes if one.model}


def _rows(found: Picking, area: str, catalogue: Catalogue, names: Mapping[Part, str]) -> list[dict[str, Any]]:
    """Part by part, as they are laid out; within one in the order of putting on."""
    return [
        {
            "for": names[one.take.part],
            "name": name_of(one.take.item),
            "size": one.there.lot.size,
            "model": one.there.lot.model or "",
            "lot": one.there.lot,
            "place": one.there.place,
            "quantity": one.quantity,
            "unit": unit_of(one.take.item, catalogue, one.quantity),
        }
        for one in sorted(found.picks, key=lambda pick: PARTS.index(pick.take.part))
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

"""How long a stay lasts, at the desk: form, answer, the same on paper and as a file. Nothing is stored."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from vestry import papers
from vestry.hospital import facts
from vestry.hospital.access.door import door
from vestry.hospital.desk.models import CaseRow, ProcedureVersion, Unit
from vestry.hospital.desk.standing import in_force
from vestry.hospital.forecasting.defaults import Begun, begun
from vestry.hospital.forecasting.form import DeliveryForm, StayForm, asked_stay, delivery_rows
from vestry.hospital.forecasting.people import Row, people_asked, rows_of
from vestry.hospital.forecasting.showing import marks_of, shown
from vestry.hospital.jobs.forecasting import State, answered
from vestry.hospital.language import words_now
from vestry.hospital.registers.mapper import reserves_in_force
from vestry.readiness import Stay, checked
from vestry.readiness.stay import Person, Reserve
from vestry.trade import BadFacts


@dataclass
class Asked:
    """What the address asks: procedure and form; what is wrong with it; the stay to be played, if nothing is."""

    versions: list[ProcedureVersion]
    begun: Begun | None = None
    form: StayForm | None = None
    deliveries: list[DeliveryForm] = field(default_factory=list)
    people: list[Row] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    stay: Stay | None = None


@door(GET="see-forecast")
def forecast(request: HttpRequest) -> HttpResponse:
    asked = _asked(request)
    state = answered(asked.stay, facts.catalogue()) if asked.stay else None
    context = _context(request, asked, state)
    return render(request, "forecasting/forecast.html", context, status=422 if asked.wrong else 200)


@door(GET="see-forecast")
def printed(request: HttpRequest) -> HttpResponse:
    """The same on paper; while it is being worked out, the page that waits for it."""
    asked = _asked(request)
    state = answered(asked.stay, facts.catalogue()) if asked.stay else None
    if asked.stay is None or state is None or state.found is None:
        return _not_yet(request, asked, state)
    pdf = papers.forecast_pdf(
        state.found,
        marks_of(asked.stay),
        words_now(),
        Unit.current().on_paper,
        timezone.localdate().isoformat(),
    )
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="forecast.pdf"'
    return response


@door(GET="see-forecast")
def found_json(request: HttpRequest) -> HttpResponse:
    """What the command prints with --json, of the same stay."""
    asked = _asked(request)
    state = answered(asked.stay, facts.catalogue()) if asked.stay else None
    if state is None or state.found is None:
        return _not_yet(request, asked, state)
    response = JsonResponse(state.found.first.as_json(), json_dumps_params={"indent": 2, "ensure_ascii": False})
    response["Content-Disposition"] = 'attachment; filename="forecast.json"'
    return response


@door(GET="see-forecast")
def stay_json(request: HttpRequest) -> HttpResponse:
    """The stay as the command reads it."""
    asked = _asked(request)
    if asked.stay is None:
        return _not_yet(request, asked, None)
    document = asked.stay.model_dump(mode="json", by_alias=True, exclude_none=True)
    text = json.dumps(document, indent=2, ensure_ascii=False)
    response = HttpResponse(text, content_type="application/json")
    response["Content-Disposition"] = 'attachment; filename="stay.json"'
    return response


def _not_yet(request: HttpRequest, asked: Asked, state: State | None) -> HttpResponse:
    status = 422 if asked.wrong else 200
    return render(request, "forecasting/forecast.html", _context(request, asked, state), status=status)


def _asked(request: HttpRequest) -> Asked:
    asked = Asked(in_force())
    version = _version(request, asked.versions)
    if version is None:
        return asked
    asked.begun = begun(version)
    if asked.begun.stay is None:
        return asked
    given = "hours" in request.GET
    defaults = asked.begun.defaults
    initial = {name: one.value for name, one in defaults.items() if one.value is not None}
    asked.form = StayForm(request.GET if given else initial, defaults)
    asked.deliveries = delivery_rows(request.GET) if given else []
    people, bad_people, asked.people = people_asked(rows_of(asked.begun.stay), request.GET if given else {})
    if not asked.form.is_valid():
        asked.wrong += _wrong(asked.form)
    for n, row in enumerate(asked.deliveries, 1):
        if not row.is_valid():
            asked.wrong += [f"{_('Delivery')} {n}, {one}" for one in _wrong(row)]
    if bad_people:
        asked.wrong.append(_("People on a shift: whole numbers from 0 to 200."))
    if not asked.wrong:
        _check(asked, asked.form, asked.begun.stay, people)
    return asked


def _wrong(form: forms.Form) -> list[str]:
    return [f"{form.fields[name].label}: {one}" for name, ones in form.errors.items() for one in ones]


def _check(asked: Asked, form: StayForm, begins: Stay, people: tuple[Person, ...]) -> None:
    """The stay, or what the core says is wrong with it."""
    said = form.cleaned_data
    deliveries = [one.cleaned_data for one in asked.deliveries]
    try:
        stay = asked_stay(begins, said, deliveries, people, _reserves(begins) if said["keep_reserves"] else ())
        asked.stay = checked(stay, facts.catalogue(), "the stay", {})
    except BadFacts as bad:
        asked.wrong += [f"{one.field}: {one.what}" if one.field else one.what for one in bad.problems]


def _reserves(stay: Stay) -> tuple[Reserve, ...]:
    there = {(one.item, one.size) for one in stay.stock}
    return tuple(
        Reserve(item=one.item, size=one.size or "one-size", count=one.least)
        for one in reserves_in_force()
        if (one.item, one.size or "one-size") in there
    )


def _version(request: HttpRequest, versions: list[ProcedureVersion]) -> ProcedureVersion | None:
    """The one that is asked for; else what the lead's table names for the hazard; else the first."""
    asked = request.GET.get("procedure", "")
    found = next((one for one in versions if str(one.pk) == asked), None)
    if found is None and (hazard := request.GET.get("hazard", "")):
        row = CaseRow.objects.filter(hazard=hazard[:120]).exclude(version=None).first()
        found = next((one for one in versions if row is not None and one.pk == row.version_id), None)
    return found or (versions[0] if versions else None)


def _context(request: HttpRequest, asked: Asked, state: State | None) -> dict[str, Any]:
    words = words_now()
    context: dict[str, Any] = {
        "versions": asked.versions,
        "begun": asked.begun,
        "form": asked.form,
        "wrong": asked.wrong,
        "state": state,
        "query": request.GET.urlencode(),
        "forecast_caution": words.term("forecast", "caution"),
    }
    if asked.begun and asked.begun.stay:
        stay = asked.begun.stay
        catalogue = facts.catalogue()
        context |= {
            "people": [
                {
                    "may": ", ".join(words.term("duty", one) for one in row.may),
                    "sizes": _sizes(row, words, catalogue),
                    "shifts": [(row.names[shift.id], shift.id, row.counts[shift.id]) for shift in stay.shifts],
                }
                for row in asked.people
            ],
            "shifts": stay.shifts,
            "deliveries": [*asked.deliveries, DeliveryForm(prefix=_free(asked.deliveries))],
            "items": [(one, words.item(one)) for one in dict.fromkeys(row.item for row in stay.stock)],
            "on_shelf": sum(row.count for row in stay.stock),
        }
    if asked.stay is not None and state is not None and state.found is not None:
        context["asked_pairs"] = [
            (name, value) for name, values in request.GET.lists() if name != "chart" for value in values
        ]
        context |= shown(state.found, asked.stay, words, request.GET.get("chart", ""))
    return context


def _sizes(row: Row, words: Any, catalogue: Any) -> str:
    """Sizes as they are worn, each kind once."""
    told: dict[str, str] = {}
    for item, size in row.sizes.items():
        if size != "one-size":
            told.setdefault(f"{catalogue.items[item].kind} {size}", f"{words.item_short(item)} {size.upper()}")
    return ", ".join(told.values())


def _free(rows: list[DeliveryForm]) -> str:
    taken = {row.prefix for row in rows}
    return next(f"d-{n}" for n in range(len(rows) + 1) if f"d-{n}" not in taken)

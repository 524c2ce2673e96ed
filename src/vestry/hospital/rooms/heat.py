"""Heat at the desk: the clock of an entry, readings of rooms, screening, prediction, what was measured."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext

from vestry.heat import (
    Conditions,
    IndexRefused,
    Outside,
    Predicted,
    Read,
    Reason,
    holds_for,
    measured,
    opening_clock,
    outside,
    screen,
    shortenings,
    wbgt,
)
from vestry.heat import allowed as allowed_minutes
from vestry.heat.strain import BODY_KG
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import PolicyVersion
from vestry.hospital.desk.standing import in_force
from vestry.hospital.jobs.heat import asked, kept
from vestry.hospital.language import WORDS
from vestry.hospital.numbers import written
from vestry.hospital.rooms.heat_forms import GearForm, IndexForm, ReadingForm, StrainForm
from vestry.hospital.rooms.heat_now import as_said, gear_now, gear_of, newest_readings, read_of, told
from vestry.hospital.rooms.mapper import operations, rooms
from vestry.hospital.rooms.models import HeatGear, HeatReading
from vestry.hospital.rooms.register import decimal
from vestry.hospital.writing import writing
from vestry.sequence import Policy
from vestry.trade.operations_values import ModelRange, StopRule, Told

SHOWN = 100


@door(GET="see-heat", POST="write-room-check")
def heat(request: HttpRequest) -> HttpResponse:
    """The clock that an entry would have now, and the readings it rests on."""
    if request.method != "POST":
        return _heat_page(request, ReadingForm())
    form = ReadingForm(request.POST)
    if not form.is_valid():
        return _heat_page(request, form, 422)
    said = form.cleaned_data
    with writing():
        HeatReading.objects.create(
            code=said["room"],
            air=decimal(said["air"]),
            humidity=decimal(said["humidity"]),
            speed=decimal(said["speed"]),
            radiant=None if said["radiant"] is None else decimal(said["radiant"]),
            written=form.written(),
            note=said["note"],
            by=visitor(request),
            at=timezone.now(),
        )
    _clocks(newest_readings(), {})
    return HttpResponseRedirect("/heat/")


def _heat_page(request: HttpRequest, form: ReadingForm, status: int = 200) -> HttpResponse:
    now, readings, names = timezone.now(), newest_readings(), {one.code: one.name for one in rooms()}
    fresh = holds_for(operations())
    logged = HeatReading.objects.select_related("by")[: SHOWN + 1]
    context = {
        "form": form,
        "limit": limit_now(),
        "clocks": _clocks(readings, names),
        "newest": [
            {"reading": one, "room": names.get(one.code, one.code), "old": now - one.at > fresh}
            for one in sorted(readings.values(), key=lambda one: one.code)
        ],
        "lines": [{"reading": one, "room": names.get(one.code, one.code)} for one in logged[:SHOWN]],
        "more": len(logged) > SHOWN,
        "holds": int(fresh.total_seconds() // 3600),
        "rooms": names,
        "stops": [_stop(one) for one in operations().all(StopRule)],
        "notes": [WORDS.term("heat", one) for one in ("policy-rules", "stop")],
        "measured": _measured(),
    }
    return render(request, "rooms/heat.html", context, status=status)


def limit_now() -> Mapping[str, Any]:
    """The unit's limit as its policy has it now, and where that comes from."""
    policy = Policy.model_validate(PolicyVersion.current())
    return {
        "minutes": policy.limit_minutes,
        "source": WORDS.term("certainty", policy.limit_source)
        if policy.limit_source in ("hospital", "invented")
        else policy.limit_source,
    }


def _clocks(readings: Mapping[str, HeatReading], names: Mapping[str, str]) -> list[dict[str, Any]]:
    """For each procedure in force: its clock in each room that was read, or why no heat is reckoned.

    What was not predicted yet is then worked out beside the request.
    """
    now, gear, found = timezone.now(), gear_now(), []
    for version in in_force():
        policy = approved_of(version.pk).plan.policy.limit_minutes
        mine = gear.get(version.procedure.slug)
        own = gear_of(mine) if mine else None
        places: list[tuple[str, Read | None]] = [
            (names.get(code, code), read_of(row)) for code, row in sorted(readings.items())
        ]
        rows = []
        for name, read in places or [("", None)]:
            clock = opening_clock(policy, read, own, now, operations(), ask=kept)
            rows.append(
                {
                    "room": name,
                    "clock": clock,
                    "says": told(as_said(clock), policy),
                    "reasons": _reasons(clock.reasons),
                }
            )
        if mine and mine.impermeable:
            rows = rows[:1]
        found.append({"version": version, "gear": mine, "policy": policy, "rows": rows})
    return found


def _stop(one: StopRule) -> Mapping[str, Any]:
    return {"says": WORDS.term("stop-rule", one.id), "value": one.value, **_source(one)}


def _source(one: Told) -> Mapping[str, Any]:
    source = operations().sources.get(one.source)
    return {
        "source": source.title if source else one.source,
        "publisher": source.publisher if source else one.source,
        "url": source.url if source else "",
        "year": getattr(one, "year", None),
        "certainty": WORDS.term("certainty", one.certainty),
        "note": one.note,
    }


def _measured() -> list[Mapping[str, Any]]:
    return [{"one": one, "what": WORDS.term("field-heat", one.what), **_source(one)} for one in measured(operations())]


@door(GET="set-heat-gear", POST="set-heat-gear")
def gear(request: HttpRequest) -> HttpResponse:
    """How warm each procedure's work and clothing are, by the unit's own word."""
    versions = in_force()
    procedures = [(one.procedure.slug, one.procedure.title) for one in versions]
    form = GearForm(request.POST if request.method == "POST" else None, procedures=procedures)
    if form.is_bound and form.is_valid():
        said, woven = form.cleaned_data, form.cleaned_data["vapour"] == "woven"
        with writing():
            HeatGear.objects.create(
                procedure=said["procedure"],
                metabolic=decimal(said["metabolic"]),
                impermeable=not woven,
                clothing=decimal(said["clothing"]) if woven else None,
                permeability=decimal(said["permeability"]) if woven else None,
                reason=said["reason"],
                by=visitor(request),
                at=timezone.now(),
            )
        _clocks(newest_readings(), {})
        return HttpResponseRedirect("/heat/gear/")
    titles, now = dict(procedures), gear_now()
    context = {
        "form": form,
        "lines": [{"title": titles[slug], "gear": now.get(slug)} for slug, _ in procedures],
        "ranges": _ranges(("clothing", "metabolic", "permeability")),
    }
    return render(request, "rooms/heat-gear.html", context, status=422 if form.is_bound else 200)


def _ranges(quantities: tuple[str, ...] = ()) -> list[Mapping[str, Any]]:
    return [
        {"range": one, "name": WORDS.term("heat-quantity", one.quantity), **_source(one)}
        for one in operations().all(ModelRange)
        if one.model == Conditions.edition and (not quantities or one.quantity in quantities)
    ]


@door(GET="see-heat")
def index(request: HttpRequest) -> HttpResponse:
    """Screening by the heat index: whether to look closer. It gives no minutes."""
    if not request.GET:
        return render(request, "rooms/heat-index.html", {"form": IndexForm()})
    form, found = IndexForm(request.GET), None
    if form.is_valid():
        try:
            found = _screened(form.cleaned_data)
        except IndexRefused as bad:
            field = bad.field.replace("-", "_")
            form.add_error(field if field in form.fields else None, bad.what)
    return render(request, "rooms/heat-index.html", {"form": form, "found": found}, status=200 if found else 422)


def _screened(said: Mapping[str, Any]) -> Mapping[str, Any]:
    value: Fraction | None = said["wbgt"]
    if value is None:
        value = wbgt(said["natural_wet"], said["globe"], said["sun_air"])
    found = screen(
        value,
        int(said["work"]),
        operations(),
        garment=said["garment"],
        hood=said["hood"],
        acclimatised=said["acclimatised"],
    )
    return {
        "wbgt": float(found.index),
        "over": found.over,
        "garment": WORDS.term("garment", said["garment"]),
        "hood": WORDS.term("garment", "hood") if said["hood"] else "",
        "work": WORDS.term("work-class", said["work"]),
        "rows": [
            {
                "family": WORDS.term("heat-family", row.family),
                "effective": float(row.effective),
                "added": [
                    {"name": WORDS.term("garment", one.garment), "celsius": one.celsius, **_source(one)}
                    for one in row.added
                ],
                "limits": [{"limit": one.limit, "over": one.over, **_source(one.limit)} for one in row.limits],
            }
            for row in found.rows
        ],
        "not_compared": WORDS.term("heat", "not-compared"),
        "notes": [WORDS.term("heat", one) for one in ("screening", "policy-rules", "stop")],
    }


@door(GET="see-heat")
def strain(request: HttpRequest) -> HttpResponse:
    """Predicted heat strain inside the model's ranges; what was measured where it does not hold."""
    if not request.GET:
        return render(request, "rooms/heat-strain.html", {"form": StrainForm(), "ranges": _ranges()})
    form, found = StrainForm(request.GET), None
    if form.is_valid():
        found = _predicted(form.cleaned_data)
    context = {"form": form, "found": found, "ranges": _ranges()}
    return render(request, "rooms/heat-strain.html", context, status=200 if found else 422)


def _predicted(said: Mapping[str, Any]) -> Mapping[str, Any]:
    conditions = Conditions(
        air=float(said["air"]),
        speed=float(said["speed"]),
        metabolic=float(said["metabolic"]),
        clothing=float(said["clothing"]),
        humidity=float(said["humidity"]),
        radiant=None if said["radiant"] is None else float(said["radiant"]),
        permeability=float(said["permeability"]),
        impermeable=said["impermeable"],
        acclimatised=said["acclimatised"],
    )
    limit = limit_now()
    reasons = outside(conditions, operations())
    found = Outside(reasons) if reasons else asked(conditions)
    if found is None:
        return {"waiting": True, "notes": []}
    if isinstance(found, Outside):
        return {
            "reasons": _reasons(found.reasons),
            "says": WORDS.term("heat", "outside"),
            "instead": WORDS.term("heat", "measured-instead"),
            "measured": _measured(),
            "limit": limit,
            "notes": [WORDS.term("heat", one) for one in ("policy-rules", "stop")],
        }
    clock = allowed_minutes(limit["minutes"], shortenings(found))
    return {
        "limits": _limits(found),
        "body": BODY_KG,
        "predicted": found,
        "clock": clock,
        "by": WORDS.term("heat-limit", clock.by),
        "limit": limit,
        "notes": [
            WORDS.term("heat", one)
            for one in (*(("beyond",) if found.core.minutes is not None else ()), "policy-rules", "stop")
        ],
    }


def _limits(found: Predicted) -> list[Mapping[str, Any]]:
    limits = (("core", found.core), ("loss-half", found.loss_half), ("loss-most", found.loss_most))
    return [{"name": WORDS.term("heat-limit", name), "minutes": limit.minutes} for name, limit in limits]


def _reasons(reasons: tuple[Reason, ...]) -> list[str]:
    return [
        f"{WORDS.term('heat-quantity', one.quantity)}: {WORDS.term('heat-reason', one.what)}{_between(one)}"
        for one in reasons
    ]


def _between(one: Reason) -> str:
    if one.value is None or one.low is None or one.high is None:
        return ""
    said = {"value": written(one.value, ".4g"), "low": written(one.low), "high": written(one.high)}
    return gettext(" (%(value)s; %(low)s to %(high)s)") % said

"""Disinfectant made up: worked out, then written in the log with what it was worked out to."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext

from vestry.hospital import running_facts
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.language import words_now
from vestry.hospital.rooms.forms import DisinfectantForm
from vestry.hospital.rooms.mapper import operations, rooms
from vestry.hospital.rooms.models import MadeUp
from vestry.hospital.rooms.on_paper import card_hash, told_traps
from vestry.hospital.writing import writing
from vestry.papers.sheet import short_hash
from vestry.room.dilution import CannotMake, Mix, contact_time, in_spoons, keeps, mix_liquid, mix_powder, mix_tablets
from vestry.room.traps import traps

DAY = 24.0


@door(GET="see-rooms", POST="make-up-disinfectant")
def disinfectant(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return _page(request, DisinfectantForm())
    form = DisinfectantForm(request.POST)
    mix = _mixed(form) if form.is_valid() else None
    if mix is None or form.errors:
        return _page(request, form, 422)
    if request.POST.get("act") != "made":
        return _page(request, form, worked_out=recipe_of(mix, form.cleaned_data))
    said, now = form.cleaned_data, timezone.now()
    to_work_by, _ = keeps(said["of"].id, operations())
    hours = to_work_by.hours if to_work_by and to_work_by.hours else DAY
    with writing():
        running_facts.keep(timezone.now())
        MadeUp.objects.create(
            code=said["room"],
            form=mix.form,
            stock=said["stock"] or f"{said['of'].percent or said['of'].mg_per_tablet:g}",
            wanted=said["wanted"].written,
            recipe=recipe_of(mix, said),
            operations=operations().digest,
            discard_at=now + timedelta(hours=hours),
            note=said["note"],
            by=visitor(request),
            at=now,
        )
    return HttpResponseRedirect("/rooms/disinfectant/#log")


def _mixed(form: DisinfectantForm) -> Mix | None:
    said = form.cleaned_data
    try:
        if "mg" in said:
            return mix_tablets(said["mg"], said["wanted"], said["litres"])
        make = mix_liquid if said["of"].form == "liquid" else mix_powder
        return make(said["strength"], said["wanted"], said["litres"])
    except CannotMake:
        form.add_error("wanted", words_now().term("dilution", "too-strong-wanted"))
        return None


def recipe_of(mix: Mix, said: Mapping[str, Any]) -> dict[str, Any]:
    """The recipe in plain numbers and words, as it is kept and shown; its traps by code and numbers."""
    words, of = words_now(), said["of"]
    contact = contact_time("surfaces", operations())
    spoons = in_spoons(mix.grams_in_all, of.id, operations()) if mix.grams_in_all is not None else None
    return {
        "from": words.term("chlorine-product", of.id),
        "wanted": f"{float(mix.wanted):.4g} %",
        "gives": f"{float(mix.gives):.4g} %",
        "litres": f"{float(mix.litres or 0):.4g}",
        "lines": [*_lines(mix), *([] if spoons is None else [_spoons(spoons.least, spoons.most)])],
        "notes": [
            words.term("dilution", one)
            for one in ("water-first", *(["settle"] if of.id == "hth" else []), "fresh", "contact")
        ],
        "contact": gettext("%(minutes)s min") % {"minutes": format(contact.minutes, "g")},
        "traps": [
            {"code": one.code} | {name: f"{float(value):.4g}" for name, value in one.numbers}
            for one in traps(
                mix,
                said.get("strength"),
                usual=not said.get("stock"),
                in_spoons=spoons is not None,
            )
        ],
    }


def _lines(mix: Mix) -> list[str]:
    if mix.stock_litres is not None and mix.water_litres is not None and mix.parts_water is not None:
        if mix.parts_water == 0:
            return [words_now().term("dilution", "undiluted")]
        return [
            gettext("%(float)s litres of stock") % {"float": format(float(mix.stock_litres), ".4g")},
            gettext("%(float)s litres of water") % {"float": format(float(mix.water_litres), ".4g")},
            gettext("that is 1 part of stock and %(float)s parts of water")
            % {"float": format(float(mix.parts_water), ".4g")},
        ]
    if mix.grams_in_all is not None:
        return [
            gettext("%(float)s g of powder in %(float2)s litres of water")
            % {"float": format(float(mix.grams_in_all), ".4g"), "float2": format(float(mix.litres or 0), ".4g")}
        ]
    return [
        gettext("%(tablets_in_all)s tablets in %(float)s litres of water")
        % {"tablets_in_all": mix.tablets_in_all, "float": format(float(mix.litres or 0), ".4g")}
    ]


def _spoons(least: Any, most: Any) -> str:
    return gettext("or %(float)s to %(float2)s level tablespoons, as published for this powder") % {
        "float": format(float(least), ".1f"),
        "float2": format(float(most), ".1f"),
    }


def _page(
    request: HttpRequest, form: DisinfectantForm, status: int = 200, worked_out: Mapping[str, Any] | None = None
) -> HttpResponse:
    names, now = {one.code: one.name for one in rooms()}, timezone.now()
    lines = [
        {
            "made": one,
            "room": names.get(one.code, one.code),
            "over": one.discard_at <= now,
            "hash": short_hash(card_hash(one)),
        }
        for one in MadeUp.objects.select_related("by")[:60]
    ]
    context: dict[str, Any] = {"form": form, "worked_out": worked_out, "lines": lines, "rooms": names}
    if worked_out is not None:
        context["traps"] = list(told_traps(worked_out["traps"]))
    return render(request, "rooms/disinfectant.html", context, status=status)

"""Bags on hold: closed, a result told, let go, handed over. Events are added; the state is folded from them."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext

from vestry.hospital import facts
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.access.table import ROLE_NAMES
from vestry.hospital.desk.models import PolicyVersion
from vestry.hospital.language import words_now
from vestry.hospital.rooms.forms import CloseBagForm, CollectForm, LetGoForm, ResultForm
from vestry.hospital.rooms.mapper import bags, operations, rooms
from vestry.hospital.rooms.models import BagHappened
from vestry.hospital.rooms.on_paper import list_hash
from vestry.hospital.writing import writing
from vestry.papers.sheet import short_hash
from vestry.room.bags import Act, Bag, cannot
from vestry.room.waste import amounts, routed, who_may
from vestry.sequence import Policy
from vestry.trade.jurisdictions import UNSTATED

# Four forms stand on one page: each has its name before those of its fields, so that no two fields share an id.
FORMS: dict[str, type[forms.Form]] = {
    "close": CloseBagForm,
    "result": ResultForm,
    "let_go": LetGoForm,
    "collect": CollectForm,
}


@door(GET="see-rooms", POST="close-bag")
def waste(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return _page(request)
    form = CloseBagForm(request.POST, prefix="close")
    if form.is_valid() and any(one.number == form.cleaned_data["number"] for one in bags()):
        form.add_error("number", gettext("this number was used before"))
    if not form.is_valid():
        return _page(request, close=form)
    said = form.cleaned_data
    told = ("number", "case", "room", "stream", "holds", "amount")
    return _happened(request, "closed", **{name: said[name] for name in told})


@door(POST="tell-result")
def result(request: HttpRequest) -> HttpResponse:
    form = ResultForm(request.POST, prefix="result")
    if not form.is_valid():
        return _page(request, result=form)
    return _happened(request, "result", **form.cleaned_data)


@door(POST="release-bag")
def let_go(request: HttpRequest) -> HttpResponse:
    form = LetGoForm(request.POST, prefix="let_go")
    _may_now(form, form.data.get("let_go-act", ""))
    if not form.is_valid():
        return _page(request, let_go=form)
    said = dict(form.cleaned_data)
    return _happened(request, said.pop("act"), **said)


@door(POST="collect-bag")
def collect(request: HttpRequest) -> HttpResponse:
    form = CollectForm(request.POST, prefix="collect")
    _may_now(form, "collected")
    if not form.is_valid():
        return _page(request, collect=form)
    return _happened(request, "collected", **form.cleaned_data)


def _may_now(form: forms.Form, act: str) -> None:
    """Refuse what speaks against itself. What happened all the same is written in the unit's own record, and told."""
    if not form.is_valid():
        return
    bag = next((one for one in bags() if one.number == form.cleaned_data["number"]), None)
    if bag is None:
        form.add_error("number", gettext("no bag of this number was closed here"))
        return
    words = words_now()
    for flag in cannot(act, bag):  # type: ignore[arg-type]
        form.add_error("number", words.term("bag-flag", flag))
    if act in ("released", "downgraded") and bag.stands != "on-hold":
        form.add_error("number", gettext("it is %(term)s already") % {"term": words.term("bag", bag.stands)})


def _happened(request: HttpRequest, act: Act, **said: Any) -> HttpResponse:
    person = visitor(request)
    with writing():
        BagHappened.objects.create(act=act, by=person, roles=sorted(person.roles), at=timezone.now(), **said)
    return HttpResponseRedirect("/rooms/waste/")


def _page(request: HttpRequest, **filled: forms.Form) -> HttpResponse:
    words, names = words_now(), {one.code: one.name for one in rooms()}
    context: dict[str, Any] = {name: filled.get(name) or form(prefix=name) for name, form in FORMS.items()}
    found = bags()
    context |= {
        "forms": context,
        "lines": [_line(one, names, words) for one in found],
        "held": sum(one.stands == "on-hold" for one in found),
        "list": short_hash(list_hash([one for one in found if one.stands == "on-hold"])),
        "may_release": [ROLE_NAMES[role] for role in who_may("release", operations()) if role in ROLE_NAMES],  # type: ignore[index]
        "ways": _ways(words),
        "amounts": amounts(operations(), patient_days=Fraction(1)),
        "rooms": names,
    }
    return render(request, "rooms/waste.html", context, status=422 if filled else 200)


def _line(bag: Bag, names: dict[str, str], words: Any) -> dict[str, Any]:
    return {
        "bag": bag,
        "stands": words.term("bag", bag.stands),
        "room": names.get(bag.room, bag.room),
        "stream": words.waste(bag.stream) if bag.stream else "",
        "events": [
            {
                "act": words.term("bag-act", one.act),
                "by": one.by,
                "at": one.at,
                "reason": one.reason,
            }
            for one in bag.events
        ],
        "flags": [words.term("bag-flag", one.flag) for one in bag.flags],
    }


def _ways(words: Any) -> list[dict[str, Any]]:
    """For every hazard where its waste goes under the unit's jurisdiction."""
    policy = Policy.model_validate(PolicyVersion.current())
    jurisdiction = policy.jurisdiction if policy.jurisdiction in facts.catalogue().jurisdictions else UNSTATED
    found = []
    for hazard in facts.catalogue().hazards:
        way = routed(hazard, facts.catalogue(), operations(), jurisdiction)
        found.append(
            {
                "hazard": words.hazard(hazard),
                "stream": words.waste(way.stream),
                "container": words.term("container", way.container),
                "held": way.held,
                "settled": way.settled,
                "certainty": words.term("certainty", way.stream_fact.certainty),
            }
        )
    return found

"""Pages of calls: taken, one call with everything at a glance, and the fragment that a wall asks for."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache

from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.call.forms import CallForm, LineForm
from vestry.hospital.call.models import Call
from vestry.hospital.call.overriding import of_call
from vestry.hospital.call.reading import ReadCall, glance, open_calls, read_call
from vestry.hospital.call.rules import DUTIES, may_of
from vestry.hospital.call.telling import (
    KINDS,
    STAYS,
    clock,
    line_told,
    part_told,
    start_told,
    stretch_told,
    team_told,
    whole_told,
)
from vestry.hospital.call.writing_calls import take, write_line
from vestry.hospital.ids import uuid7
from vestry.hospital.language import words_now
from vestry.hospital.registers.models import RegisteredPerson

SHOWN = 40


@never_cache
@door(GET="see-calls")
def calls(request: HttpRequest) -> HttpResponse:
    now = open_calls()
    keys = {one.key for one in now}
    past = [one for one in Call.objects.select_related("by")[: SHOWN + len(keys)] if str(one.pk) not in keys]
    words = words_now()
    return render(
        request,
        "call/calls.html",
        {
            "open": [{"call": one, "expected": clock(one.expected_at)} for one in now],
            "past": [{"call": one, "hazard": words.hazard(one.hazard)} for one in past],
        },
    )


@never_cache
@door(GET="see-calls")
def now_json(request: HttpRequest) -> HttpResponse:
    """The open calls at a glance, for whatever polls them. No names of people."""
    return JsonResponse({"calls": [one.as_json() for one in open_calls()]})


@door(GET="take-call", POST="take-call")
def new_call(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return render(request, "call/new.html", {"form": CallForm()})
    form = CallForm(request.POST)
    if not form.is_valid():
        return render(request, "call/new.html", {"form": form}, status=422)
    taken = take(form.cleaned_data, visitor(request), timezone.now())
    return HttpResponseRedirect(f"/calls/{taken.pk}/")


@never_cache
@door(GET="see-calls", POST="write-call")
def call(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    row = get_object_or_404(Call.objects.select_related("by"), pk=key)
    if request.method != "POST":
        return _page(request, row)
    form = LineForm(request.POST)
    back = form.is_valid() and form.cleaned_data["kind"] == "taken-back"
    if back and not row.lines.filter(pk=form.cleaned_data["item"]).exists():
        form.add_error("item", ValidationError(_("That line is not of this call.")))
    if not form.is_valid():
        return _page(request, row, form, 422)
    if not write_line(row, form.cleaned_data, visitor(request), timezone.now()):
        messages.info(request, _("That was written down already: once is enough."))
    return HttpResponseRedirect(f"/calls/{key}/#log" if form.cleaned_data["kind"] == "taken-back" else f"/calls/{key}/")


def _page(request: HttpRequest, row: Call, form: Any = None, status: int = 200) -> HttpResponse:
    read, words = read_call(row), words_now()
    state, night, start = read.state, read.night, read.start
    return render(
        request,
        "call/call.html",
        {
            "call": row,
            "glance": glance(read),
            "form": form,
            "hazard": words.hazard(row.hazard),
            "presentation": words.term("presentation", row.presentation),
            "tasks": [words.term("task", one) for one in row.tasks],
            "expected": clock(state.expected),
            "decision": str(KINDS[state.decision.kind]) if state.decision else str(STAYS[row.stays]),
            "decided": state.decision,
            "ended": state.ended,
            "ended_says": str(KINDS[state.ended.kind]) if state.ended else "",
            "night": night,
            "version": read.version,
            "team": read.team,
            "team_says": team_told(read.team.now),
            "needed": [part_told(duty, read.needed[duty]) for duty in DUTIES if read.needed[duty]],
            "start": start,
            "start_says": start_told(start),
            "stretches": [stretch_told(one) for one in start.stretches],
            "whole": whole_told(start),
            "people": _people(read),
            "to_make": [
                {"item": one, "made": state.made.get(one.id), "at": _made_at(state, one.id), "line": str(uuid7())}
                for one in read.calls
            ],
            "log": _log(read),
            "overrides": [one | {"rules": [rule_told(rule) for rule in one["rules"]]} for one in of_call(row)],
            "outsiders": row.outsiders.select_related("user", "briefed_by"),
            "entries": read.entries,
            "lines": [str(uuid7()) for _n in range(6)],
        },
        status=status,
    )


def _made_at(state: Any, item: str) -> str:
    return clock(state.made[item].when) if item in state.made else ""


def _people(read: ReadCall) -> list[dict[str, Any]]:
    """Everybody who may be called: those who answered first, then those who may act, then the rest."""
    words = words_now()
    rows = list(RegisteredPerson.objects.filter(active=True).select_related("user"))
    parts: dict[str, list[str]] = {}
    if read.version is not None:
        for duty in DUTIES:
            for person, answer in may_of(read.version, duty, rows).items():
                if answer.may:
                    parts.setdefault(person, []).append(words.term("duty", duty))
    found = []
    for one in rows:
        reply = read.state.replies.get(str(one.pk))
        may = (
            parts.get(str(one.pk), [])
            if read.version is not None
            else [words.term("duty", duty) for duty in DUTIES if duty in one.duties.split()]
        )
        fills = read.team.now.filled.get(str(one.pk))
        found.append(
            {
                "person": one,
                "may": may,
                "reply": reply,
                "says": str(KINDS[reply.says]) if reply else "",
                "due": clock(reply.due) if reply and reply.says == "coming" else "",
                "since": clock(reply.since) if reply else "",
                "late": bool(reply and reply.says == "coming" and reply.due and reply.due < read.now),
                "fills": words.term("duty", fills) if fills else "",
                "line": str(uuid7()),
            }
        )
    rank = {"arrived": 0, "coming": 1, "asked": 2, "no-answer": 3}
    return sorted(
        found,
        key=lambda one: (
            rank.get(one["reply"].says, 6) if one["reply"] else 4 if one["may"] else 5,
            one["person"].name,
        ),
    )


def _log(read: ReadCall) -> list[dict[str, Any]]:
    names = {key: one.name for key, one in read.people.items()}
    calls = {one.id: one.say for one in read.calls}
    return [line_told(one, names, calls) | {"line": str(uuid7())} for one in reversed(read.state.lines)]


def rule_told(rule: str) -> str:
    """A rule that was overridden, in words."""
    name, _sep, part = rule.partition(":")
    words = {
        "may-not": _("may not go in by the registers"),
        "not-on-register": _("not on the register"),
        "outsider": _("an outsider in this part"),
        "outsider-no-fit-test": _("no fit test is known"),
        "team": _("the minimum team is not here"),
        "area": _("the area is not all in order"),
        "person": _("the person was not found in order"),
        "signals": _("signals are not agreed"),
        "gear": _("the gear at hand cannot protect"),
    }
    says = str(words.get(name, name))
    return says if part in ("", "present") else f"{says}: {part}"

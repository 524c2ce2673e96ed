"""An entry is started: who goes in, for which call, and what refuses it unless a lead overrides it by name."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _

from vestry.hospital.access.door import door
from vestry.hospital.access.models import User
from vestry.hospital.access.people import visitor
from vestry.hospital.anteroom.forms import StartForm
from vestry.hospital.call.lead_pages import call_in
from vestry.hospital.call.models import Call, EntryOverride
from vestry.hospital.call.overriding import give, given_for, use
from vestry.hospital.call.rules import Refusal, refusals
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ProcedureVersion
from vestry.hospital.desk.standing import standing_of
from vestry.hospital.device import device_of
from vestry.hospital.record.models import Entry
from vestry.hospital.record.store import say
from vestry.hospital.rooms.heat_now import as_said, clock_at_opening
from vestry.hospital.writing import writing
from vestry.people.values import Duty


@door(GET="start-entry", POST="start-entry")
def start(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    version = get_object_or_404(
        ProcedureVersion.objects.select_related("procedure", "approved_by", "retirement").defer("approved"), pk=key
    )
    policy = approved_of(key).plan.policy
    call = call_in(request.GET if request.method == "GET" else request.POST)
    page: dict[str, Any] = {"version": version, "call": call}
    if request.method != "POST":
        own = {"observer": visitor(request).sign_in, "drill": bool(call and call.drill)}
        page["form"] = StartForm(initial=own, needs_assistant=policy.assistant)
        return render(request, "anteroom/start.html", page)
    form = StartForm(request.POST, needs_assistant=policy.assistant)
    page["form"] = form
    _stands(form, version, call)
    if not form.is_valid():
        return render(request, "anteroom/start.html", page, status=422)
    people: dict[Duty, User | None] = {
        "wearer": form.cleaned_data["wearer"],
        "observer": form.cleaned_data["observer"],
        "assistant": form.cleaned_data["assistant"],
    }
    refused = refusals(version, people, call, form.cleaned_data["drill"])
    if refused and not _overridden(request, form, version, people, refused):
        form.add_error(None, _("The rules refuse this entry. Nobody goes in unless a lead overrides it by name."))
        return render(request, "anteroom/start.html", page | {"refused": refused, "people": people}, status=422)
    entry = _open(request, version, form.cleaned_data, call, people, refused)
    mine = visitor(request) == entry.observer or "shift-lead" in visitor(request).roles
    then = "gear/" if "scan" in request.POST else ""
    return HttpResponseRedirect(f"/entries/{entry.pk}/{then}" if mine else "/")


def _stands(form: StartForm, version: ProcedureVersion, call: Call | None) -> None:
    """What speaks against starting at all, whoever would override it."""
    if not form.is_valid():
        return
    if version.retired:
        form.add_error(None, _("This version is retired. It starts no new entry."))
    elif not standing_of(version).may_start:
        form.add_error(None, _("A fact that this version uses is retired. It starts no new entry; the lead knows why."))
    elif call is not None and call.drill and not form.cleaned_data["drill"]:
        form.add_error("drill", _("The call is a drill, so its entries are drills."))


def _overridden(
    request: HttpRequest,
    form: StartForm,
    version: ProcedureVersion,
    people: dict[Duty, User | None],
    refused: tuple[Refusal, ...],
) -> bool:
    """Whether a lead gave an override for exactly this, or gives it now with reason and alternative."""
    if given_for(version, people, refused, timezone.now()):
        return True
    return all(_words(form.cleaned_data).values()) and visitor(request).may("override-entry")


def _words(said: dict[str, Any]) -> dict[str, str]:
    return {"reason": said["override_reason"].strip(), "alternative": said["override_alternative"].strip()}


def _open(
    request: HttpRequest,
    version: ProcedureVersion,
    said: dict[str, Any],
    call: Call | None,
    people: dict[Duty, User | None],
    refused: tuple[Refusal, ...],
) -> Entry:
    now = timezone.now()
    payload: dict[str, Any] = {who: one.sign_in for who, one in people.items() if one} | {"drill": said["drill"]}
    if said["one_press"]:
        payload["pace"] = "one-press"
    if said["room"]:
        payload["room"] = said["room"]
    limit = approved_of(version.pk).plan.policy.limit_minutes
    payload |= as_said(clock_at_opening(limit, version.procedure.slug, said["room"], now))
    with writing():
        entry = Entry.objects.create(
            version=version,
            wearer=said["wearer"],
            observer=said["observer"],
            assistant=said["assistant"],
            drill=said["drill"],
            room=said["room"],
            call=call,
            created_at=now,
        )
        kinds: list[tuple[str, dict[str, Any]]] = [("opened", payload)]
        if refused:
            kinds.append(("overridden", use(_override(request, version, said, call, people, refused), entry, now)))
        say(entry, visitor(request).sign_in, device_of(request), [(kind, what, now) for kind, what in kinds], now)
    return entry


def _override(
    request: HttpRequest,
    version: ProcedureVersion,
    said: dict[str, Any],
    call: Call | None,
    people: dict[Duty, User | None],
    refused: tuple[Refusal, ...],
) -> EntryOverride:
    now: datetime = timezone.now()
    given = given_for(version, people, refused, now)
    if given is not None:
        return given
    return give(version, call, people, refused, _words(said), visitor(request), now)

"""What a lead does by name: an outsider added in two minutes, an override for one entry."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _

from vestry.hospital.access.door import door
from vestry.hospital.access.models import User
from vestry.hospital.access.people import visitor
from vestry.hospital.call.forms import EntryOverrideForm, OutsiderForm
from vestry.hospital.call.models import Call
from vestry.hospital.call.overriding import give
from vestry.hospital.call.rules import refusals
from vestry.hospital.call.writing_calls import add_outsider
from vestry.hospital.desk.models import ProcedureVersion
from vestry.hospital.writing import writing
from vestry.people.values import Duty


def call_in(said: Any) -> Call | None:
    """The call that an address or a form names, if any."""
    try:
        return Call.objects.filter(pk=uuid.UUID(str(said.get("call", "")))).first()
    except ValueError:
        return None


@door(GET="add-outsider", POST="add-outsider")
def new_outsider(request: HttpRequest) -> HttpResponse:
    call = call_in(request.GET if request.method == "GET" else request.POST)
    form = OutsiderForm(request.POST or None)
    if request.method != "POST":
        return render(request, "call/outsider.html", {"form": OutsiderForm(), "call": call})
    if not form.is_valid():
        return render(request, "call/outsider.html", {"form": form, "call": call}, status=422)
    made = add_outsider(form.cleaned_data, call, visitor(request), timezone.now())
    messages.success(
        request, _("%(who)s can be chosen as the wearer of an entry, marked as an outsider.") % {"who": made.name}
    )
    return HttpResponseRedirect(f"/calls/{call.pk}/" if call else "/calls/")


@door(GET="override-entry", POST="override-entry")
def new_override(request: HttpRequest) -> HttpResponse:
    """An override for one entry that somebody else then starts: with these people, along this procedure."""
    asked = request.GET if request.method == "GET" else request.POST
    call = call_in(asked)
    try:
        key = uuid.UUID(str(asked.get("version", "")))
    except ValueError:
        return render(request, "call/override.html", {"versions": ProcedureVersion.objects.filter(retirement=None)})
    version = get_object_or_404(ProcedureVersion.objects.select_related("procedure").defer("approved"), pk=key)
    context: dict[str, Any] = {"version": version, "call": call}
    if request.method != "POST":
        form = EntryOverrideForm(initial={name: asked.get(name) for name in ("wearer", "observer", "assistant")})
        people = {duty: _person(asked.get(duty)) for duty in ("wearer", "observer", "assistant")}
        context["refused"] = refusals(version, people, call, drill=False)  # type: ignore[arg-type]
        return render(request, "call/override.html", context | {"form": form})
    form = EntryOverrideForm(request.POST)
    if not form.is_valid():
        return render(request, "call/override.html", context | {"form": form}, status=422)
    said = form.cleaned_data
    chosen: dict[Duty, User | None] = {
        "wearer": said["wearer"], "observer": said["observer"], "assistant": said["assistant"],
    }  # fmt: skip
    refused = refusals(version, chosen, call, drill=False)
    if not refused:
        form.add_error(None, _("Nothing refuses this entry: it needs no override."))
        return render(request, "call/override.html", context | {"form": form}, status=422)
    with writing():
        give(version, call, chosen, refused, said, visitor(request), timezone.now())
    messages.success(request, _("Written down under your name, for one entry, for the next twelve hours."))
    return HttpResponseRedirect(f"/calls/{call.pk}/" if call else "/calls/")


def _person(sign_in: Any) -> User | None:
    return User.objects.filter(sign_in=str(sign_in)).first() if sign_in else None

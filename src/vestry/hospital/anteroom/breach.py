"""A breach or exposure on the plain pages: the unit's first aid at once, then what the record needs of it."""

from __future__ import annotations

import uuid
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache

from vestry.entry import Event
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.device import device_of
from vestry.hospital.ids import uuid7
from vestry.hospital.record.first_aid import CALL, KINDS, SITE_WORDS, SITES, WHO, in_force
from vestry.hospital.record.reading import entry_led_by
from vestry.hospital.record.store import append


class BreachForm(forms.Form):
    """What the record needs: where, whom, and whether anything was reached. `ids` make it count once."""

    kind = forms.ChoiceField(choices=list(KINDS.items()), widget=forms.HiddenInput)
    ids = forms.CharField(max_length=100, widget=forms.HiddenInput)
    site = forms.ChoiceField(label=_("Where"), choices=list(SITE_WORDS.items()))
    who = forms.ChoiceField(label=_("Who"), choices=list(WHO.items()), initial="wearer")
    reached = forms.ChoiceField(choices=[("yes", "yes"), ("no", "no")])

    def clean_ids(self) -> list[str]:
        try:
            ids = [str(uuid.UUID(one)) for one in str(self.cleaned_data["ids"]).split(",")]
        except ValueError:
            ids = []
        if len(set(ids)) != 2 or any(one[14] != "7" for one in ids):
            raise forms.ValidationError(_("Two ids of version 7. Load the page anew."))
        return ids


@never_cache
@door(GET="lead-entry", POST="lead-entry")
def breach(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    entry = entry_led_by(visitor(request), key)
    asked = request.POST if request.method == "POST" else request.GET
    kind = asked.get("kind", "")
    if kind not in KINDS:
        return render(request, "anteroom/breach.html", {"entry": entry, "kinds": KINDS.items()})
    form = BreachForm(request.POST if request.method == "POST" else None, initial=_fresh(kind))
    sites = [(one, SITE_WORDS[one]) for one in SITES[kind]]
    form.fields["site"].choices = sites if len(sites) == 1 else [("", _("say where")), *sites]  # type: ignore[attr-defined]
    if request.method == "POST" and form.is_valid():
        append(entry, _events(request, entry, form.cleaned_data), timezone.now(), from_a_page=True)
        return HttpResponseRedirect(f"/entries/{key}/")
    texts = in_force()
    shown = {"entry": entry, "kind": kind, "name": KINDS[kind], "text": texts.get(kind), "call": texts.get(CALL)}
    return render(request, "anteroom/breach.html", shown | {"form": form}, status=422 if form.errors else 200)


def _fresh(kind: str) -> dict[str, str]:
    return {"kind": kind, "ids": f"{uuid7()},{uuid7()}"}


def _events(request: HttpRequest, entry: Any, said: dict[str, Any]) -> list[Event]:
    device, now = device_of(request), timezone.now().isoformat(timespec="milliseconds")
    kinds = ["breach", *(["exposure"] if said["reached"] == "yes" else [])]
    known = {str(one) for one in entry.events.filter(client_id__in=said["ids"]).values_list("client_id", flat=True)}
    return [
        Event(
            id=one,
            entry=str(entry.pk),
            kind=kind,
            payload={"site": said["site"], "sort": said["kind"], "who": said["who"]},
            actor=visitor(request).sign_in,
            device=device,
            clock=now,
            counter=number,  # counted when it is stored
            plan=entry.version.plan_hash,
        )
        for number, (one, kind) in enumerate(zip(said["ids"], kinds, strict=False))
        if one not in known
    ]

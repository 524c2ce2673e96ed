"""Records to read, the figure replayed, corrections and signatures, which are events too."""

from __future__ import annotations

import uuid
from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache

from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.device import device_of
from vestry.hospital.record import exporting
from vestry.hospital.record.kind_words import STAGES
from vestry.hospital.record.models import Entry, Event
from vestry.hospital.record.reading import note_read, record_for, records_for
from vestry.hospital.record.showing import show
from vestry.hospital.record.store import say
from vestry.hospital.retention.policies import held_entry

ON_A_PAGE = 50
READS = 20


class CorrectionForm(forms.Form):
    event = forms.UUIDField(required=False, widget=forms.HiddenInput)
    text = forms.CharField(label=_("What would be right"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))
    reason = forms.CharField(label=_("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))


@never_cache
@door(GET="see-records")
def records(request: HttpRequest) -> HttpResponse:
    page = Paginator(records_for(visitor(request)), ON_A_PAGE).get_page(request.GET.get("page"))
    entries = [(one, STAGES[one.stage]) for one in page]
    return render(request, "record/records.html", {"entries": entries, "page": page})


@never_cache
@door(GET="see-records")
def record(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    entry = record_for(visitor(request), key)
    note_read(visitor(request), "record", entry)
    return _page(request, entry, CorrectionForm(initial={"event": request.GET.get("correct")}))


def _page(request: HttpRequest, entry: Entry, form: CorrectionForm, status: int = 200) -> HttpResponse:
    shown = show(entry, request.GET.get("page", "1"), _at(request))
    person = visitor(request)
    asked = form["event"].value() or ""
    named = next((one for one in shown.rows if one["id"] == str(asked)), None)
    context = {
        "entry": entry,
        "shown": shown,
        "form": form,
        "named": named,
        "held": held_entry(entry.pk),
        "heads": exporting.heads(entry),
        "mine_to_sign": person.sign_in in shown.may_sign,
        "reads": entry.reads.select_related("by")[:READS] if person.may("take-records-away") else (),
    }
    return render(request, "record/record.html", context, status=status)


def _at(request: HttpRequest) -> int | None:
    said = request.GET.get("at", "")
    return int(said) if said.isascii() and said.isdigit() and len(said) < 7 else None


@never_cache
@door(GET="see-records")
def replay(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """One moment of the replay, for the page that is there already."""
    entry = record_for(visitor(request), key)
    return render(request, "record/_moment.html", {"entry": entry, "shown": show(entry, "1", _at(request) or 0)})


@door(POST="correct-record")
def correct(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    entry = record_for(visitor(request), key)
    form = CorrectionForm(request.POST)
    named = form.data.get("event") or ""
    if form.is_valid() and named and not Event.objects.filter(entry=entry, client_id=named).exists():
        form.add_error(None, _("This entry has no such event."))
    if not form.is_valid():
        return _page(request, entry, form, 422)
    said = {"text": form.cleaned_data["text"], "reason": form.cleaned_data["reason"]}
    _say(request, entry, "correction", said | ({"event": str(form.cleaned_data["event"])} if named else {}))
    return HttpResponseRedirect(f"/records/{key}/")


@door(POST="sign-record")
def sign(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """The observer and the wearer sign what the record says, once it is over."""
    entry = record_for(visitor(request), key)
    if visitor(request).sign_in in show(entry).may_sign:
        _say(request, entry, "signed", {})
    else:
        messages.info(request, _("Nothing was signed: observer and wearer sign once each, when the entry is over."))
    return HttpResponseRedirect(f"/records/{key}/")


def _say(request: HttpRequest, entry: Entry, kind: str, payload: dict[str, Any]) -> None:
    now = timezone.now()
    say(entry, visitor(request).sign_in, device_of(request), [(kind, payload, now)], now)


@never_cache
@door(GET="see-contradictions")
def contradictions(request: HttpRequest) -> HttpResponse:
    """Entries in which devices contradict each other."""
    found = records_for(visitor(request)).filter(contradictions__gt=0)
    page = Paginator(found, ON_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "record/contradictions.html", {"entries": page, "page": page})

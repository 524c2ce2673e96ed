"""Records to read, and corrections to them, which are events too."""

from __future__ import annotations

import uuid

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from vestry.entry import Event as EventValue
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.device import device_of
from vestry.hospital.ids import uuid7
from vestry.hospital.record.models import Event
from vestry.hospital.record.reading import record_for, records_for
from vestry.hospital.record.showing import show
from vestry.hospital.record.store import append


class CorrectionForm(forms.Form):
    text = forms.CharField(label=_("What would be right"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))
    reason = forms.CharField(label=_("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))


@door(GET="see-records")
def records(request: HttpRequest) -> HttpResponse:
    return render(request, "record/records.html", {"entries": records_for(visitor(request))[:200]})


@door(GET="see-records")
def record(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    entry = record_for(visitor(request), key)
    return render(request, "record/record.html", {"entry": entry, "shown": show(entry), "form": CorrectionForm()})


@door(POST="correct-record")
def correct(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    person = visitor(request)
    entry = record_for(person, key)
    form = CorrectionForm(request.POST)
    if not form.is_valid():
        return render(request, "record/record.html", {"entry": entry, "shown": show(entry), "form": form}, status=422)
    now, device = timezone.now(), device_of(request)
    append(
        entry,
        [
            EventValue(
                id=str(uuid7()),
                entry=str(entry.pk),
                kind="correction",
                payload=dict(form.cleaned_data),
                actor=person.sign_in,
                device=device,
                clock=now.isoformat(timespec="milliseconds"),
                counter=next_counter(device),
                plan=entry.version.plan_hash,
            )
        ],
        now,
    )
    return HttpResponseRedirect(f"/records/{key}/")


def next_counter(device: str) -> int:
    """The next number of a device that does not count for itself."""
    newest = Event.objects.filter(device=uuid.UUID(device)).order_by("-device_counter").first()
    return newest.device_counter + 1 if newest else 1

"""A cell of the roster changed by hand: checked by the replaying checker before it is written, or it is not written."""

from __future__ import annotations

import datetime
import uuid
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.coverage.models import RosterAct, RotaVersion
from vestry.hospital.coverage.naming import names_for
from vestry.hospital.coverage.pages import version_of
from vestry.hospital.coverage.showing import told_breach
from vestry.hospital.coverage.standing import Standing, standing_of
from vestry.hospital.language import words_now
from vestry.hospital.writing import writing
from vestry.roster import Act, troubles_of
from vestry.roster.keeping import with_change
from vestry.roster.rota import DUTIES, Assigned


class ChangeForm(forms.Form):
    """Where somebody is on one day, and why it is changed."""

    place = forms.ChoiceField(label=gettext_lazy("On this day"))
    reason = forms.CharField(label=gettext_lazy("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, data: Any, stands: Standing, initial: str) -> None:
        super().__init__(data, initial={"place": initial or "none"})
        words = words_now()
        field = self.fields["place"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [
            ("none", _("not asked")),
            *(
                (f"{shift.id}/{duty}", f"{shift.id}: {words.term('roster-duty', duty)}")
                for shift in stands.rota.shifts
                for duty in DUTIES
            ),
        ]


@door(GET="take-roster", POST="take-roster")
def change(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """One person on one day."""
    version = version_of(key)
    stands = standing_of(version)
    person, day = _cell(request, stands)
    if stands.kept.roster is None:
        raise Http404
    at = _at(stands, person, day)
    form = ChangeForm(request.POST or None, stands, f"{at.shift}/{at.duty}" if at else "")
    problems: list[str] = []
    if request.method == "POST" and form.is_valid():
        problems = _write(request, version, person, day, form.cleaned_data)
        if not problems:
            week = (day - stands.rota.starts).days // 7 + 1
            return HttpResponseRedirect(f"/coverage/{version.pk}/?week={week}#people")
    context = {
        "version": version,
        "person": person,
        "name": names_for(request).of(person),
        "day": day,
        "form": form,
        "problems": problems,
        "week": (day - stands.rota.starts).days // 7 + 1,
    }
    return render(request, "coverage/change.html", context, status=422 if request.method == "POST" else 200)


def _cell(request: HttpRequest, stands: Standing) -> tuple[str, datetime.date]:
    """Person and day of the address; what is not of this rota is not there."""
    person = request.GET.get("person", "")
    try:
        day = datetime.date.fromisoformat(request.GET.get("day", ""))
    except ValueError:
        raise Http404 from None
    if person not in {one.id for one in stands.now.people} or not stands.rota.starts <= day <= stands.last_day:
        raise Http404
    return person, day


def _at(stands: Standing, person: str, day: datetime.date) -> Assigned | None:
    return next((one for one in stands.kept.roster or () if one.person == person and one.day == day), None)


def _write(
    request: HttpRequest, version: RotaVersion, person: str, day: datetime.date, said: dict[str, Any]
) -> list[str]:
    """Written, or why not in words. Asked and written under one lock, so that no two changes break a rule together."""
    shift, _slash, duty = said["place"].partition("/")
    with writing():
        stands = standing_of(version)
        roster = stands.kept.roster or ()
        gone = _at(stands, person, day)
        come = Assigned(person=person, day=day, shift=shift, duty=duty) if duty else None
        if gone == come:
            return [_("Nothing would change.")]
        words, names = words_now(), names_for(request)
        broken = troubles_of(stands.now, roster, with_change(roster, gone, come))
        if broken:
            return [told_breach(one, stands, names, words) for one in broken]
        act = Act(kind="changed", gone=gone, come=come)
        RosterAct.objects.create(
            rota=version,
            act=act.model_dump(mode="json", by_alias=True),
            reason=said["reason"],
            by=visitor(request),
            at=timezone.now(),
        )
    return []

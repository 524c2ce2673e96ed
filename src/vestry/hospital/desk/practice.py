"""Who has practised a procedure: closed entries and drills along it, and what the lead has written down by hand."""

from __future__ import annotations

import datetime
import uuid
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from vestry.hospital.access.door import door
from vestry.hospital.access.models import User
from vestry.hospital.access.people import visitor, with_role
from vestry.hospital.desk.models import Practice, ProcedureVersion
from vestry.hospital.record.first_aid import WHO
from vestry.hospital.record.models import Entry
from vestry.hospital.writing import writing

ROLES = ("wearer", "observer", "assistant")
GO_IN = ("staff-member", "trained-observer")


@dataclass(frozen=True)
class Practised:
    """One time that someone practised a version, or another with the very same plan."""

    person: str
    role: str
    sort: str
    on: datetime.date
    told_by: str

    @property
    def as_told(self) -> str:
        """In which part, in words."""
        return str(WHO.get(self.role, self.role))

    @property
    def sort_told(self) -> str:
        """Drill or entry, in words."""
        return gettext("drill") if self.sort == "drill" else gettext("entry")


@dataclass(frozen=True)
class PractisedBy:
    """Who practised it, newest first; how many of those who may go in have done so as the wearer."""

    times: tuple[Practised, ...]
    wearers: int
    may_go_in: int

    @property
    def says(self) -> str:
        """In the unit's words, for pages and sheets."""
        return gettext("by %(wearers)s of %(may_go_in)s who may go in") % {
            "wearers": self.wearers,
            "may_go_in": self.may_go_in,
        }


def practised_by(version: ProcedureVersion) -> PractisedBy:
    """Practice of this version: a version with the same plan counts, since it is the same steps."""
    times = [*_in_entries(version.plan_hash), *_by_hand(version.plan_hash)]
    may_go_in = set(with_role(*GO_IN).values_list("name", flat=True))
    wearers = {one.person for one in times if one.role == "wearer"}
    return PractisedBy(
        tuple(sorted(times, key=lambda one: (one.on, one.person), reverse=True)),
        len(wearers & may_go_in),
        len(may_go_in),
    )


def _in_entries(plan_hash: str) -> list[Practised]:
    entries = Entry.objects.filter(version__plan_hash=plan_hash, stage="closed").select_related(
        "wearer", "observer", "assistant"
    )
    return [
        Practised(
            person.name, role, "drill" if entry.drill else "entry", entry.created_at.date(), gettext("the record")
        )
        for entry in entries
        for role, person in (("wearer", entry.wearer), ("observer", entry.observer), ("assistant", entry.assistant))
        if person is not None
    ]


def _by_hand(plan_hash: str) -> list[Practised]:
    rows = Practice.objects.filter(version__plan_hash=plan_hash).select_related("person", "by")
    return [Practised(one.person.name, one.role, one.sort, one.on, one.by.name) for one in rows]


class PracticeForm(forms.Form):
    """Someone practised this version where the record does not say so."""

    person = forms.ModelChoiceField(
        User.objects.none(), label=_("Who"), empty_label=_("choose"), to_field_name="sign_in"
    )
    role = forms.ChoiceField(
        label=_("As"),
        choices=[("wearer", _("wearer")), ("observer", _("trained observer")), ("assistant", _("doffing assistant"))],
    )
    sort = forms.ChoiceField(label=_("In"), choices=[(Practice.DRILL, _("a drill")), (Practice.ENTRY, _("an entry"))])
    on = forms.DateField(label=_("On"), widget=forms.DateInput(attrs={"type": "date"}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        person: Any = self.fields["person"]
        person.queryset = with_role(*GO_IN)
        person.error_messages["invalid_choice"] = gettext("Who: nobody of that name may go in.")
        if not self.is_bound:
            self.fields["on"].initial = timezone.localdate()

    def clean_on(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["on"]
        if not timezone.localdate() - datetime.timedelta(days=5 * 366) <= day <= timezone.localdate():
            raise forms.ValidationError(gettext("A day within the last five years, not after today."))
        return day


@door(POST="record-practice")
def record_practice(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    from vestry.hospital.desk.procedures import procedure_page, version_of  # it shows the practice

    version = version_of(key)
    form = PracticeForm(request.POST)
    if not form.is_valid():
        return procedure_page(request, version, practice_form=form, status=422)
    with writing():
        Practice.objects.create(version=version, by=visitor(request), at=timezone.now(), **form.cleaned_data)
    return HttpResponseRedirect(f"/procedures/{key}/#practice")

"""A rota as a form: shifts with what each needs, and the rules. People come from the register."""

from __future__ import annotations

import datetime
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from vestry.hospital.coverage.asking import members
from vestry.hospital.desk.models import ProcedureVersion
from vestry.roster import Rota, checked
from vestry.roster.rota import MOST_DAYS, MOST_PEOPLE, Need, RotaShift, Rules
from vestry.trade import BadFacts, Problem

SHIFT_ROWS = 3
DUTIES = ("inside", "observing", "assisting")


def _whole(label: Any, least: int, most: int, **more: Any) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=least, max_value=most, **more)


class RotaForm(forms.Form):
    """The rota but its shifts."""

    title = forms.CharField(label=_("Title"), max_length=200)
    procedure = forms.ChoiceField(
        label=_("Qualified along"), help_text=_("Who counts as qualified follows from the register and this procedure.")
    )
    starts = forms.DateField(
        label=_("First day"),
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={"invalid": _("a day, such as 2027-03-01")},
    )
    days = _whole(_("Days"), 1, MOST_DAYS)
    rest_hours = _whole(_("Hours of rest between shifts"), 0, 72)
    most_in_seven_days = _whole(_("Shifts in seven days at most"), 1, 7)
    most_hours_in_seven_days = _whole(_("Hours in seven days at most"), 1, 168)
    most_days_in_a_row = _whole(_("Days in a row at most"), 1, 42)
    most_inside_in_seven_days = _whole(_("Shifts inside in seven days at most"), 0, 7, required=False)
    minutes_inside = _whole(_("Minutes inside at once at most"), 1, 1440)
    don = _whole(_("Minutes to dress"), 1, 1440)
    doff = _whole(_("Minutes to undress"), 1, 1440)
    rest = _whole(_("Minutes of rest after"), 0, 1440)
    reason = forms.CharField(label=_("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, data: Any, versions: list[ProcedureVersion], initial: dict[str, Any]) -> None:
        super().__init__(data, initial=initial)
        field = self.fields["procedure"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(str(one.pk), f"{one.procedure.title}, {_('version')} {one.number}") for one in versions]
        self.fields["most_inside_in_seven_days"].help_text = _("empty: as any other")


class ShiftForm(forms.Form):
    """One shift of every day, and how many it needs for each duty. A row may be left empty."""

    use_required_attribute = False

    name = forms.SlugField(label=_("Shift"), max_length=40)
    from_hour = _whole(_("begins at hour"), 0, 23)
    hours = _whole(_("lasts hours"), 1, 24)
    inside = _whole(_("inside"), 0, 12)
    observing = _whole(_("observing"), 0, 12)
    assisting = _whole(_("assisting"), 0, 12)


class ActForm(forms.Form):
    """Taking a proposal: exactly the one that was seen."""

    proposal = forms.CharField(max_length=64)


class ReasonForm(forms.Form):
    """Leaving a proposal."""

    reason = forms.CharField(label=_("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))


class BroughtForm(forms.Form):
    """A rota written elsewhere."""

    text = forms.CharField(
        label=_("The rota, as TOML or JSON"),
        max_length=400_000,
        widget=forms.Textarea(attrs={"rows": 12, "class": "code", "spellcheck": "false"}),
    )
    reason = forms.CharField(label=_("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))


def rota_asked(said: dict[str, Any], shifts: list[dict[str, Any]], version: ProcedureVersion) -> Rota:
    """The rota of a filled form, with the people of the register. BadFacts with what is wrong."""
    people = members(version, said["starts"], said["days"])
    if len(people) > MOST_PEOPLE:
        raise BadFacts([Problem("rota", 0, "people", f"{len(people)} may be asked; a rota holds {MOST_PEOPLE}")])
    needs = [
        Need.model_validate({"duty": duty, "people": shift[duty], "shifts": (shift["name"].lower(),)})
        for shift in shifts
        for duty in DUTIES
        if shift[duty]
    ]
    if not needs:
        raise BadFacts([Problem("rota", 0, "needs", "no shift needs anybody")])
    rules = Rules(**{name: said[name] for name in Rules.model_fields if said.get(name) is not None})
    return checked(
        Rota(
            title=said["title"],
            starts=said["starts"],
            days=said["days"],
            shifts=tuple(
                RotaShift(id=one["name"].lower(), from_hour=one["from_hour"], hours=one["hours"]) for one in shifts
            ),
            people=people,
            needs=tuple(needs),
            rules=rules,
        )
    )


def next_monday(today: datetime.date) -> datetime.date:
    return today + datetime.timedelta(days=-today.weekday() % 7)

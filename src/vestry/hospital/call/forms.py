"""Forms of calls. Whoever fills them is on the telephone: little is asked, and what is not known may stay open."""

from __future__ import annotations

import datetime
import re
import uuid
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from vestry.call.happened import CALL_KINDS, OF_A_PERSON
from vestry.hospital import facts
from vestry.hospital.access.models import User
from vestry.hospital.access.people import with_role
from vestry.hospital.call.telling import STAYS
from vestry.hospital.desk.forms import TASKS, OverrideForm
from vestry.hospital.language import words_now
from vestry.hospital.registers.models import RegisteredPerson

_CODE = re.compile(r"^[a-z0-9]+(-[a-z0-9]+)*$")
_MANY_DIGITS = re.compile(r"\d{6,}")
_TIME = re.compile(r"^(\d{1,2})[:.](\d{2})$")
LATE = datetime.timedelta(hours=12)
MOST_MINUTES = 24 * 60


class Moment(forms.CharField):
    """A time of day (19:40) or minutes from now (25). `past`: the nearest one gone by; else the nearest to come."""

    def __init__(self, past: bool = False, **more: Any) -> None:
        self.past = past
        super().__init__(max_length=10, **more)

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        return moment(text, timezone.localtime(), self.past) if text else None


def moment(text: str, now: datetime.datetime, past: bool) -> datetime.datetime:
    """What was typed as a moment near `now`. ValidationError where it is neither a time of day nor minutes."""
    if text.isascii() and text.isdigit() and len(text) <= 4 and int(text) <= MOST_MINUTES:
        minutes = datetime.timedelta(minutes=int(text))
        return now - minutes if past else now + minutes
    found = _TIME.match(text)
    if found is None or int(found[1]) > 23 or int(found[2]) > 59:
        raise forms.ValidationError(_("A time of day (19:40) or minutes (25)."))
    at = now.replace(hour=int(found[1]), minute=int(found[2]), second=0, microsecond=0)
    day = datetime.timedelta(days=1)
    if past and at > now + datetime.timedelta(minutes=1):
        return at - day
    # Somebody due at 23:50 and written down at 00:05 was due a quarter of an hour ago, not tomorrow night.
    if not past and at < now - LATE:
        return at + day
    if not past and at > now + LATE:
        return at - day if at - now > day - datetime.timedelta(hours=1) else at
    return at


class CallForm(forms.Form):
    """A call is taken."""

    code = forms.CharField(
        label=_("Case code"),
        max_length=40,
        help_text=_("Your own code. Never a name, a date of birth or a patient number."),
    )
    hazard = forms.ChoiceField(label=_("Hazard"))
    presentation = forms.ChoiceField(label=_("Presentation"), widget=forms.RadioSelect)
    tasks = forms.MultipleChoiceField(label=_("What the team will do"), widget=forms.CheckboxSelectMultiple)
    expected_at = Moment(
        label=_("Patient expected"), required=False, help_text=_("A time of day (19:40) or minutes from now (45).")
    )
    stays = forms.ChoiceField(label=_("Until transfer, or to stay"), widget=forms.RadioSelect, initial="undecided")
    hours = forms.IntegerField(label=_("For how many hours"), min_value=1, max_value=2160, initial=24)
    note = forms.CharField(
        label=_("What else was said"), required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("No names of patients."),
    )  # fmt: skip
    drill = forms.BooleanField(label=_("This is a drill"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        words, known = words_now(), facts.catalogue().hazards
        hazards = sorted(known, key=lambda one: (one != "suspected-hcid", words.hazard(one)))
        choices: Any = self.fields
        choices["hazard"].choices = [(one, words.hazard(one)) for one in hazards]
        choices["presentation"].choices = [(one, words.term("presentation", one)) for one in ("dry", "wet")]
        choices["tasks"].choices = [(one, words.term("task", one)) for one in TASKS]
        choices["tasks"].initial = ["care"]
        choices["stays"].choices = list(STAYS.items())

    def clean_code(self) -> str:
        code = str(self.cleaned_data["code"]).strip().lower()
        if not _CODE.match(code):
            raise forms.ValidationError(_("Small letters, digits and hyphens: ward-2"))
        if _MANY_DIGITS.search(code):
            raise forms.ValidationError(_("That looks like a number or date of a patient. Use a code of your own."))
        return code


class LineForm(forms.Form):
    """One line on a call."""

    line = forms.UUIDField()
    kind = forms.ChoiceField(choices=[(one, one) for one in CALL_KINDS])
    person = forms.ModelChoiceField(RegisteredPerson.objects.all(), required=False)
    item = forms.CharField(max_length=60, required=False)
    due = Moment(required=False, label=_("Here at"))
    when = Moment(past=True, required=False, label=_("When it happened"))
    note = forms.CharField(max_length=400, required=False)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        kind = said.get("kind")
        if kind in OF_A_PERSON and not said.get("person") and "person" not in self.errors:
            self.add_error("person", _("Say who."))
        if kind in ("made", "taken-back") and not said.get("item"):
            self.add_error("item", _("Say which."))
        if kind == "taken-back" and said.get("item"):
            try:
                said["item"] = str(uuid.UUID(said["item"]))
            except ValueError:
                self.add_error("item", _("A line of this call."))
        if kind == "expected" and not said.get("due") and "due" not in self.errors:
            self.add_error("due", _("Say when the patient is expected."))
        return said


class OutsiderForm(forms.Form):
    """Somebody of no register, in two minutes."""

    name = forms.CharField(label=_("Name or code"), max_length=80)
    comes_as = forms.CharField(
        label=_("Comes as"), max_length=80, help_text=_("A specialist, a parent, ambulance crew, an engineer.")
    )
    respirator = forms.ChoiceField(label=_("Respirator"), widget=forms.RadioSelect, initial="not-known")
    model = forms.CharField(
        label=_("Which model and size fits"), max_length=60, required=False, help_text=_("Where a fit test is known.")
    )
    glove = forms.ChoiceField(label=_("Gloves"), required=False)
    gown = forms.ChoiceField(label=_("Gown"), required=False)
    briefed_by = forms.ModelChoiceField(
        User.objects.none(), label=_("Briefed by"), to_field_name="sign_in", empty_label=_("choose")
    )
    consents = forms.BooleanField(label=_("Was told the risk, and goes in by their own consent"))
    note = forms.CharField(label=_("What else is known"), required=False, max_length=400)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: Any = self.fields
        fields["respirator"].choices = [
            ("fitted", _("a fit test is known")),
            ("powered", _("a powered hood instead")),
            ("not-known", _("not known")),
        ]
        unknown = ("", _("not known"))
        fields["glove"].choices = [unknown, *((one, one.upper()) for one in ("xs", "s", "m", "l", "xl"))]
        fields["gown"].choices = [unknown, *((one, one.upper()) for one in ("s", "m", "l", "xl", "xxl"))]
        fields["briefed_by"].queryset = with_role("trained-observer", "shift-lead", "programme-lead")

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if said.get("respirator") == "fitted" and not said.get("model"):
            self.add_error("model", _("Say which model and size, or choose that it is not known."))
        return said


class EntryOverrideForm(OverrideForm):
    """For one entry: who goes in, watches, helps, and why although the rules refuse. The same words as for gear."""

    field_order = ("wearer", "observer", "assistant", "reason", "alternative")
    wearer = forms.ModelChoiceField(User.objects.all(), label=_("Wearer"), to_field_name="sign_in")
    observer = forms.ModelChoiceField(User.objects.all(), label=_("Trained observer"), to_field_name="sign_in")
    assistant = forms.ModelChoiceField(
        User.objects.all(), label=_("Doffing assistant"), to_field_name="sign_in", required=False, empty_label=_("none")
    )


class ListForm(forms.Form):
    """A unit's own list: one item a line, `what must be so | what to do while it is not`."""

    items = forms.CharField(
        label=_("Items, one a line"),
        widget=forms.Textarea(attrs={"rows": 14}),
        max_length=12_000,
        help_text=_("What must be so, then a bar, then what to do while it is not: Seat clean. | Wipe it."),
    )
    reason = forms.CharField(label=_("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from vestry.hospital.retention.words import HELD_WORDS, SORT_WORDS
from vestry.retention import HELD_SORTS, LEAST_DAYS, MOST_DAYS, SORTS


class PolicyForm(forms.Form):
    """How long a sort is kept."""

    sort = forms.ChoiceField(label=_("Data"), choices=[(one, SORT_WORDS[one]) for one in SORTS])
    days = forms.IntegerField(
        label=_("Kept for, in days"),
        required=False,
        min_value=LEAST_DAYS,
        max_value=MOST_DAYS,
        help_text=_("From the last word on it. 3650 are ten years. Left empty: for ever, which holds at once."),
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )
    reason = forms.CharField(label=_("Reason"), max_length=400, widget=forms.Textarea(attrs={"rows": 2}))
    source = forms.CharField(
        label=_("Law or rule that says so"),
        max_length=400,
        required=False,
        help_text=_("As your hospital cites it. It is written into the record with each removal."),
    )

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if said.get("days") and not said.get("source"):
            self.add_error("source", ValidationError(_("What is let go needs the law or rule that says so.")))
        return said


class HoldForm(forms.Form):
    """What must stay."""

    sort = forms.ChoiceField(label=_("Hold"), choices=[(one, HELD_WORDS[one]) for one in HELD_SORTS])
    named = forms.CharField(
        label=_("Which"),
        max_length=120,
        help_text=_(
            "Of an entry its id, as in the address of its record; of a person the sign-in name or staff code; of a "
            "breach or exposure its number."
        ),
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    reason = forms.CharField(label=_("Reason"), max_length=400, widget=forms.Textarea(attrs={"rows": 2}))


class ReasonForm(forms.Form):
    """Why."""

    reason = forms.CharField(label=_("Reason"), max_length=400, widget=forms.Textarea(attrs={"rows": 2}))


class ConfirmForm(forms.Form):
    """The second person's word on a removal."""

    sure = forms.BooleanField(label=_("I have read what goes. It cannot be brought back from here."))

"""The form of a scan onto somebody in an entry."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from vestry.stock import Part


class GearForm(forms.Form):
    """A code, on whom, and how many. What is told of it is decided by a name with a reason, or it is not put on."""

    code = forms.CharField(
        label=_("Code"),
        max_length=500,
        strip=False,
        help_text=_("Scan it, or type the lot number, the serial number of a powered unit, or what is printed."),
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false", "autofocus": True}
        ),
    )
    part = forms.ChoiceField(label=_("Put on by"), widget=forms.RadioSelect)
    quantity = forms.IntegerField(label=_("How many"), initial=1, min_value=1, max_value=20)
    chosen = forms.UUIDField(required=False, widget=forms.HiddenInput)
    decided_by = forms.CharField(label=_("Decided by"), max_length=120, required=False)
    reason = forms.CharField(label=_("Reason"), max_length=500, required=False)

    def __init__(self, *args: Any, people: list[tuple[Part, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["part"].choices = people  # type: ignore[attr-defined]

    @property
    def decided(self) -> bool:
        """Whether somebody stands for it with a reason."""
        return bool(self.cleaned_data["decided_by"].strip() and self.cleaned_data["reason"].strip())

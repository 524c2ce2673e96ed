from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class SignInForm(forms.Form):
    sign_in = forms.CharField(
        label=_("Sign-in name"),
        max_length=60,
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}),
    )
    password = forms.CharField(
        label=_("Password"),
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def clean_sign_in(self) -> str:
        return str(self.cleaned_data["sign_in"]).lower()

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from vestry.hospital.access.models import User
from vestry.hospital.access.table import ROLE_NAMES, ROLES

_CODE: dict[str, Any] = {"autocomplete": "one-time-code", "inputmode": "text", "spellcheck": "false"}


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


class CodeForm(forms.Form):
    """A code of the second factor."""

    code = forms.CharField(
        label=_("Code"),
        max_length=30,
        help_text=_("Six digits from your phone, or one of your spare codes."),
        widget=forms.TextInput(attrs=_CODE),
    )


class PasswordForm(forms.Form):
    """A first or a new password, with the code from the administrator."""

    sign_in = forms.CharField(
        label=_("Sign-in name"),
        max_length=60,
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}),
    )
    code = forms.CharField(label=_("Set-up code"), max_length=30, widget=forms.TextInput(attrs=_CODE))
    password = forms.CharField(
        label=_("New password"),
        max_length=200,
        strip=False,
        help_text=_("At least twelve characters. Several words are easier to keep than signs."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    again = forms.CharField(
        label=_("New password, once more"),
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean_password(self) -> str:
        password = str(self.cleaned_data["password"])
        validate_password(password)
        return password

    def clean_again(self) -> str:
        again = str(self.cleaned_data["again"])
        if "password" in self.cleaned_data and again != self.cleaned_data["password"]:
            raise ValidationError(_("The two are not the same."))
        return again


class PasskeyForm(forms.Form):
    """A new passkey. `answer` is the browser's."""

    name = forms.CharField(
        label=_("Name"), max_length=60, help_text=_("By which you know it again: the desk's computer, the blue key.")
    )
    password = forms.CharField(
        label=_("Your password, once more"),
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    answer = forms.CharField(max_length=20_000, widget=forms.HiddenInput)

    def clean_name(self) -> str:
        name = str(self.cleaned_data["name"])
        if not name.isprintable():
            raise ValidationError(_("A name that can be printed."))
        return name


class OwnPasswordForm(forms.Form):
    """One's own password once more, before something that matters."""

    password = forms.CharField(
        label=_("Your password, once more"),
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class RolesForm(forms.Form):
    """The roles of somebody who is there already."""

    roles = forms.MultipleChoiceField(
        label=_("Roles"),
        required=False,
        choices=[(role, ROLE_NAMES[role]) for role in ROLES],
        widget=forms.CheckboxSelectMultiple,
    )
    reason = forms.CharField(label=_("Reason"), max_length=400)


class PersonForm(forms.Form):
    """Somebody new."""

    name = forms.CharField(label=_("Name"), max_length=120)
    sign_in = forms.RegexField(
        r"^[a-z0-9][a-z0-9._-]{0,59}$",
        label=_("Sign-in name"),
        help_text=_("Lower-case letters, digits, dots and hyphens."),
        error_messages={"invalid": _("Lower-case letters, digits, dots and hyphens, at most 60.")},
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}),
    )
    roles = forms.MultipleChoiceField(
        label=_("Roles"),
        choices=[(role, ROLE_NAMES[role]) for role in ROLES],
        widget=forms.CheckboxSelectMultiple,
    )

    def clean_name(self) -> str:
        name = str(self.cleaned_data["name"])
        if not name.isprintable():
            raise ValidationError(_("A name that can be printed."))
        return name

    def clean_sign_in(self) -> str:
        sign_in = str(self.cleaned_data["sign_in"])
        if User.objects.filter(sign_in=sign_in).exists():
            raise ValidationError(_("Somebody has this sign-in name already."))
        return sign_in


class ReasonForm(forms.Form):
    """Why an access changes."""

    reason = forms.CharField(label=_("Reason"), max_length=400)


class AccountForm(ReasonForm):
    """The account of somebody at the hospital's own sign-in."""

    subject = forms.CharField(
        label=_("What the hospital's own sign-in knows them by"),
        max_length=255,
        help_text=_("Its subject, sign for sign. An account that is not linked is told it when it tries to sign in."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}),
    )
    field_order = ("subject", "reason")

    def clean_subject(self) -> str:
        subject = str(self.cleaned_data["subject"])
        if not subject.isprintable():
            raise ValidationError(_("A subject that can be printed."))
        return subject

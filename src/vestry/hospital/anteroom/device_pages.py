"""Pages at the desk: enrol a tablet, take its enrolment back; one's own badge and PIN."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache

from vestry.hospital.access import slowing
from vestry.hospital.access.door import ACCOUNT, ACCOUNT_AT, FRESH, door
from vestry.hospital.access.people import visitor
from vestry.hospital.anteroom import tablets
from vestry.hospital.anteroom.models import Tablet

EASY = frozenset({"123456", "654321", "012345", "123123", "112233", "121212"})


class CodeForm(forms.Form):
    name = forms.CharField(
        label=_("Name of the tablet"), max_length=60, help_text=_("As it is written on it, for example: Anteroom 1")
    )


class RevokeForm(forms.Form):
    reason = forms.CharField(label=_("Reason"), max_length=400)


class BadgeForm(forms.Form):
    badge = forms.CharField(
        label=_("Badge code"),
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
        help_text=_("Scan it or type what is printed on it."),
    )
    pin = forms.RegexField(
        r"^[0-9]{6,12}$",
        label=_("PIN, six to twelve digits"),
        error_messages={"invalid": _("Six to twelve digits.")},
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password", "inputmode": "numeric"}),
    )
    password = forms.CharField(
        label=_("Your password, once more"),
        strip=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, asks_password: bool = True, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not asks_password:
            del self.fields["password"]

    def clean_badge(self) -> str:
        badge = str(self.cleaned_data["badge"]).strip()
        if not badge.isprintable():
            raise forms.ValidationError(gettext("Letters and digits that can be printed."))
        return badge

    def clean_pin(self) -> str:
        pin = str(self.cleaned_data["pin"])
        if len(set(pin)) == 1 or pin in EASY:
            raise forms.ValidationError(gettext("Too easy to guess. Choose another."))
        return pin


@never_cache
@door(GET="manage-tablets", POST="manage-tablets")
def tablet_list(request: HttpRequest) -> HttpResponse:
    form, code, status = CodeForm(), None, 200
    if request.method == "POST":
        form = CodeForm(request.POST)
        if form.is_valid():
            code = tablets.new_code(form.cleaned_data["name"], visitor(request), timezone.now())
        else:
            status = 422
    return _list(request, status, form=form, code=code)


def _list(request: HttpRequest, status: int, **more: Any) -> HttpResponse:
    listed = Tablet.objects.select_related("code__by", "revocation__by")
    return render(
        request,
        "anteroom/tablets.html",
        {"tablets": listed, "minutes": int(tablets.CODE_FOR.total_seconds() // 60), "form": CodeForm()} | more,
        status=status,
    )


@door(POST="manage-tablets")
def revoke(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    tablet = get_object_or_404(Tablet, pk=key)
    form = RevokeForm(request.POST)
    if not form.is_valid():
        return _list(request, 422, refusing=tablet, why=form)
    tablets.revoke(tablet, visitor(request), form.cleaned_data["reason"], timezone.now())
    messages.info(
        request, gettext("%(name)s is not enrolled any more. What it has not sent stays on it.") % {"name": tablet.name}
    )
    return HttpResponseRedirect("/tablets/")


def signed_in_just_now(request: HttpRequest, now: datetime) -> bool:
    """Whether they signed in by the hospital's own account so lately that nobody else sits here meanwhile."""
    at = request.session.get(ACCOUNT_AT)
    return isinstance(at, float) and 0 <= now.timestamp() - at <= FRESH


@never_cache
@door(GET="set-own-badge", POST="set-own-badge")
def own_badge(request: HttpRequest) -> HttpResponse:
    """Set them, with the password typed once more; by the hospital's own account, just after signing in with it."""
    person, now, by_account = visitor(request), timezone.now(), ACCOUNT in request.session
    form = BadgeForm(asks_password=not by_account)
    if request.method == "POST":
        form, address = BadgeForm(request.POST, asks_password=not by_account), slowing.address_of(request)
        if by_account and not signed_in_just_now(request, now):
            form.add_error(None, gettext("Sign in once more with the hospital's own account, then set them."))
            return _badge(request, form, 422)
        if form.is_valid() and slowing.too_many(person.sign_in, address, now):
            form.add_error(None, gettext("Too many tries. Wait a quarter of an hour."))
            return _badge(request, form, 429)
        if form.is_valid() and not by_account and not person.check_password(form.cleaned_data["password"]):
            slowing.failed(person.sign_in, address, now)
            form.add_error("password", gettext("That is not your password."))
        elif form.is_valid():
            if tablets.set_badge(person, form.cleaned_data["badge"], form.cleaned_data["pin"], now):
                messages.info(
                    request, gettext("Badge and PIN are set. They hold from the next entry that a tablet takes.")
                )
                return HttpResponseRedirect("/badge/")
            form.add_error("badge", gettext("This badge is someone else's."))
        return _badge(request, form, 422)
    return _badge(request, form, 200)


def _badge(request: HttpRequest, form: BadgeForm, status: int) -> HttpResponse:
    known, by_account = tablets.badge_of(visitor(request)), ACCOUNT in request.session
    context = {"form": form, "known": known, "by_account": by_account}
    context["asks_again"] = by_account and not signed_in_just_now(request, timezone.now())
    return render(request, "anteroom/badge.html", context, status=status)

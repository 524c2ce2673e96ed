"""One's own passkeys: made, named, removed."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache

from vestry.hospital.access import passkeys, second, slowing
from vestry.hospital.access.door import MISSING, door
from vestry.hospital.access.forms import OwnPasswordForm, PasskeyForm
from vestry.hospital.access.models import Passkey, User
from vestry.hospital.access.people import visitor
from vestry.hospital.access.refusals import note


@never_cache
@door(GET="set-own-second-factor", POST="set-own-second-factor")
def own(request: HttpRequest) -> HttpResponse:
    """One's passkeys, and a new one: its name, the password, and what the browser made."""
    user, now = visitor(request), timezone.now()
    form, status = PasskeyForm(request.POST or None), 200
    if request.method == "POST":
        status, address = 422, slowing.address_of(request)
        if slowing.too_many(user.sign_in, address, now):
            form.add_error(None, gettext("Too many tries. Wait a quarter of an hour."))
            status = 429
        elif form.is_valid():
            said = form.cleaned_data
            if not user.check_password(said["password"]):
                slowing.failed(user.sign_in, address, now)
                form.add_error("password", gettext("That is not your password."))
            elif passkeys.register(request, user, said["name"], said["answer"], now):
                request.session.pop(MISSING, None)
                request.session.cycle_key()
                messages.info(request, gettext("The passkey is yours. Signing in asks for it after the password."))
                return HttpResponseRedirect("/second-factor/passkeys/")
            else:
                note(request, "a passkey that does not hold")
                form.add_error(None, gettext("The passkey was not taken: it was made for another page, or too late."))
    why = passkeys.hindered(request)
    context: dict[str, Any] = {
        "form": form,
        "listed": passkeys.of(user),
        "hindered": why,
        "options": "" if why else passkeys.to_register(request, user),
        "most": passkeys.MOST,
    }
    return render(request, "access/passkeys.html", context, status=status)


@door(POST="set-own-second-factor")
def end(request: HttpRequest, number: int) -> HttpResponse:
    """Remove one, with the password; not the last way in where a role asks for a second factor."""
    user, now, asked = visitor(request), timezone.now(), OwnPasswordForm(request.POST)
    one, address = Passkey.objects.filter(pk=number, user=user, ended=None).first(), slowing.address_of(request)
    if one is None:
        messages.info(request, gettext("You have no such passkey, or not any more."))
    elif slowing.too_many(user.sign_in, address, now):
        messages.info(request, gettext("Too many tries. Wait a quarter of an hour."))
    elif not asked.is_valid() or not user.check_password(asked.cleaned_data["password"]):
        slowing.failed(user.sign_in, address, now)
        messages.info(request, gettext("That is not your password. Nothing was changed."))
    elif second.required(user) and _last(user):
        messages.info(
            request, gettext("Your role asks for a second factor, and this is your last. Set up another first.")
        )
    else:
        passkeys.end([one], user, "", now)
        messages.info(request, gettext("The passkey is removed. Delete it on the device too."))
    return HttpResponseRedirect("/second-factor/passkeys/")


def _last(user: User) -> bool:
    return user.second_factor is None and len(passkeys.of(user)) == 1

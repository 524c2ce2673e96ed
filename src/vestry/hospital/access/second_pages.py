"""One's own second factor: set up, renewed, ended."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache

from vestry.hospital.access import second, slowing
from vestry.hospital.access.door import MISSING, door
from vestry.hospital.access.forms import CodeForm, OwnPasswordForm
from vestry.hospital.access.people import visitor

NEW = "second-factor-to-be"


@never_cache
@door(GET="set-own-second-factor", POST="set-own-second-factor")
def own(request: HttpRequest) -> HttpResponse:
    """Show a new secret; put it in force when the phone has shown that it has it."""
    user, now = visitor(request), timezone.now()
    secret = request.session.setdefault(NEW, second.new_secret())
    form, asked, status = CodeForm(request.POST or None), OwnPasswordForm(request.POST or None), 200
    if request.method == "POST":
        status, address = 422, slowing.address_of(request)
        if slowing.too_many(user.sign_in, address, now):
            form.add_error(None, gettext("Too many tries. Wait a quarter of an hour."))
            status = 429
        elif form.is_valid() and asked.is_valid():
            if not user.check_password(asked.cleaned_data["password"]):
                slowing.failed(user.sign_in, address, now)
                asked.add_error("password", gettext("That is not your password."))
            elif second.fits(secret, form.cleaned_data["code"], now) is None:
                slowing.failed(user.sign_in, address, now)
                form.add_error("code", gettext("This code does not fit. Is the phone's clock right?"))
            else:
                spare = second.set_up(user, secret, now)
                del request.session[NEW]
                request.session.pop(MISSING, None)
                request.session.cycle_key()
                return render(request, "access/spare-codes.html", {"spare": spare})
    factor = user.second_factor
    context = {
        "form": form,
        "asked": asked,
        "factor": factor,
        "spare_left": second.spare_left(factor) if factor else 0,
        "required": second.required(user),
        "secret": " ".join(secret[place : place + 4] for place in range(0, len(secret), 4)),
        "qr": mark_safe(second.qr(second.address(secret, user))),
    }
    return render(request, "access/second-factor.html", context, status=status)


@door(POST="set-own-second-factor")
def end(request: HttpRequest) -> HttpResponse:
    """End it, with the password; not where a role asks for one."""
    user, now, asked = visitor(request), timezone.now(), OwnPasswordForm(request.POST)
    address = slowing.address_of(request)
    if second.required(user):
        messages.info(request, gettext("Your role asks for a second factor. Set up a new one instead."))
    elif slowing.too_many(user.sign_in, address, now):
        messages.info(request, gettext("Too many tries. Wait a quarter of an hour."))
    elif not asked.is_valid() or not user.check_password(asked.cleaned_data["password"]):
        slowing.failed(user.sign_in, address, now)
        messages.info(request, gettext("That is not your password. Nothing was changed."))
    elif second.end(user, user, "", now):
        messages.info(request, gettext("The second factor is ended. Your password alone signs you in."))
    return HttpResponseRedirect("/second-factor/")

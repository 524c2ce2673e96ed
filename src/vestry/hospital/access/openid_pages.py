"""Signing in by the hospital's own sign-in: away to it, and back."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache

from vestry.hospital.access import accounts, openid, second, slowing
from vestry.hospital.access.door import ACCOUNT, ACCOUNT_AT, MISSING, door
from vestry.hospital.access.forms import SignInForm
from vestry.hospital.access.models import HospitalAccount
from vestry.hospital.access.refusals import note
from vestry.hospital.access.views import BACKEND, OUT, TOO_MANY, WAITING, sign_in_page, wanted

AWAY = "hospital-sign-in"
"""In a session: what waits for somebody who is at the hospital's own sign-in."""


@never_cache
@door(GET="sign-in")
def begin(request: HttpRequest) -> HttpResponse:
    """Send the browser to the hospital's own sign-in; `again` asks anew who sits here, of somebody who came by it."""
    own, now = settings.OWN_SIGN_IN, timezone.now()
    if own is None:
        return HttpResponseRedirect("/sign-in/")
    if request.user.is_authenticated and not ("again" in request.GET and ACCOUNT in request.session):
        return HttpResponseRedirect(wanted(request))
    if slowing.too_many_from(slowing.address_of(request), now):
        return _not(request, gettext(TOO_MANY), 429)
    try:
        address, kept = openid.begin(own, request.build_absolute_uri("/sign-in/hospital/back/"), now)
    except openid.Unreachable as why:
        return _unreachable(request, why)
    request.session[AWAY] = {**kept, "next": wanted(request)}
    return HttpResponseRedirect(address)


@never_cache
@door(GET="sign-in")
def back(request: HttpRequest) -> HttpResponse:
    """Let in who comes back with a token that holds and an account that is linked. What waited is used up by a try."""
    own, now, address = settings.OWN_SIGN_IN, timezone.now(), slowing.address_of(request)
    kept = request.session.pop(AWAY, None)
    if own is None or (kept is None and request.user.is_authenticated):
        return HttpResponseRedirect("/" if request.user.is_authenticated else "/sign-in/")
    if slowing.too_many_from(address, now):
        return _not(request, gettext(TOO_MANY), 429)
    try:
        known = openid.finish(own, kept, request.GET.dict(), now)
    except openid.Unreachable as why:
        return _unreachable(request, why)
    except openid.Refused as why:
        slowing.failed("", address, now)
        note(request, str(why))
        return _not(
            request, gettext("The hospital's own sign-in did not let you in, or its answer does not hold."), 422
        )
    account = accounts.holder(own.issuer, known.subject)
    if account is None:
        slowing.failed("", address, now)
        note(request, "an account of the hospital's own sign-in that is linked to nobody who may sign in")
        return _not(
            request,
            gettext(
                "The hospital knows you, but this account is linked to nobody who may sign in here. Ask the "
                "administrator to link it (People and roles), and read them this:"
            ),
            403,
            subject=known.subject,
        )
    if not accounts.used(account, kept["nonce"], strong=known.strong, now=now):
        note(request, "an identity token that was taken already")
        return _not(
            request, gettext("The hospital's own sign-in did not let you in, or its answer does not hold."), 422
        )
    return _further(request, account, known, kept["next"])


def _further(request: HttpRequest, account: HospitalAccount, known: openid.Known, further: str) -> HttpResponse:
    """In; or first to our second factor, where the hospital's own sign-in asked for none."""
    user = account.user
    by = {ACCOUNT: account.pk, ACCOUNT_AT: timezone.now().timestamp(), OUT: known.out}
    if not known.strong and user.has_second_factor:
        request.session.flush()
        waiting = {"user": user.pk, "at": timezone.now().timestamp(), "next": further, "by": by}
        request.session[WAITING] = waiting
        return HttpResponseRedirect("/sign-in/second/")
    slowing.succeeded(user.sign_in)
    login(request, user, backend=BACKEND)
    request.session.update(by)
    if not known.strong and second.required(user):
        request.session[MISSING] = True
        return HttpResponseRedirect("/second-factor/")
    return HttpResponseRedirect(further)


def _unreachable(request: HttpRequest, why: openid.Unreachable) -> HttpResponse:
    note(request, str(why))
    told = gettext("The hospital's own sign-in cannot be used now. Sign in with your password and second factor.")
    return _not(request, told, 503)


def _not(request: HttpRequest, told: str, status: int, subject: str = "") -> HttpResponse:
    return sign_in_page(request, SignInForm(), status, told=told, subject=subject)

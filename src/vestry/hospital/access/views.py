"""Signing in, with a second factor where there is one, and out; setting a password with a code."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import authenticate, login, logout
from django.core.exceptions import NON_FIELD_ERRORS
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext, gettext_noop
from django.views.decorators.cache import never_cache

from vestry.hospital.access import giving, passkeys, second, slowing
from vestry.hospital.access.door import ACCOUNT, MISSING, door
from vestry.hospital.access.forms import CodeForm, PasswordForm, SignInForm
from vestry.hospital.access.models import SetUpCode, User
from vestry.hospital.access.refusals import note
from vestry.hospital.language import COOKIE, known
from vestry.hospital.writing import writing

BACKEND = "django.contrib.auth.backends.ModelBackend"
WAITING = "second-factor-waits-for"
OUT = "hospital-account-out"
"""In a session: where somebody who came by the hospital's own sign-in signs out there."""
FOR_A_CODE = 5 * 60
TOO_MANY = gettext_noop("Too many tries. Wait a quarter of an hour, or ask the administrator.")


@door(GET="sign-in", POST="sign-in")
def sign_in(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return sign_in_page(request, SignInForm(), 200)
    form = SignInForm(request.POST)
    if not form.is_valid():
        return sign_in_page(request, form, 422)
    name, address, now = form.cleaned_data["sign_in"], slowing.address_of(request), timezone.now()
    if slowing.too_many(name, address, now):
        form.add_error(None, gettext(TOO_MANY))
        return sign_in_page(request, form, 429)
    user = authenticate(request, username=name, password=form.cleaned_data["password"])
    if user is None:
        slowing.failed(name, address, now)
        note(request, "a sign-in that does not fit")
        form.add_error(None, gettext("Name and password do not fit together."))
        return sign_in_page(request, form, 422)
    if user.has_second_factor:
        # Not signed in yet: only who it would be is kept, for as long as a code needs.
        request.session.flush()
        request.session[WAITING] = {"user": user.pk, "at": now.timestamp(), "next": wanted(request)}
        return HttpResponseRedirect("/sign-in/second/")
    slowing.succeeded(name)
    login(request, user)
    if second.required(user):
        request.session[MISSING] = True
        return HttpResponseRedirect("/second-factor/")
    return HttpResponseRedirect(wanted(request))


@never_cache
@door(GET="sign-in", POST="sign-in")
def second_step(request: HttpRequest) -> HttpResponse:
    """The code, after the password was right."""
    waiting, now = request.session.get(WAITING), timezone.now()
    user = User.objects.filter(pk=waiting["user"], is_active=True).first() if waiting else None
    if not waiting or user is None or now.timestamp() - waiting["at"] > FOR_A_CODE:
        request.session.flush()
        return HttpResponseRedirect("/sign-in/")
    form, status, address = CodeForm(request.POST or None), 200, slowing.address_of(request)
    answer = request.POST.get("passkey", "")
    if answer:
        form = CodeForm()
    if request.method == "POST":
        status = 422
        if slowing.too_many(user.sign_in, address, now):
            _say(form, gettext(TOO_MANY))
            status = 429
        elif answer:
            if passkeys.take(request, user, answer, now):
                return _let_in(request, user, waiting)
            slowing.failed(user.sign_in, address, now)
            note(request, f"a passkey that does not fit, for {user.sign_in}")
            form.errors[NON_FIELD_ERRORS] = form.error_class(
                [gettext("This passkey does not fit, or the page was too old.")]
            )
        elif form.is_valid():
            if second.take(user, form.cleaned_data["code"], now):
                return _let_in(request, user, waiting)
            slowing.failed(user.sign_in, address, now)
            note(request, f"a second factor that does not fit, for {user.sign_in}")
            form.add_error("code", gettext("This code does not fit, or was used already. Wait for the next one."))
    context = {
        "form": form,
        "codes": user.second_factor is not None,
        "by_account": "by" in waiting,
        **_passkey(request, user),
    }
    return render(request, "access/second-step.html", context, status=status)


def _say(form: CodeForm, what: str) -> None:
    """Above the form, also where no code was typed into it."""
    form.errors[NON_FIELD_ERRORS] = form.error_class([what])


def _let_in(request: HttpRequest, user: User, waiting: dict[str, Any]) -> HttpResponse:
    slowing.succeeded(user.sign_in)
    login(request, user, backend=BACKEND)
    request.session.pop(WAITING, None)
    request.session.update(waiting.get("by", {}))
    return HttpResponseRedirect(waiting["next"])


def _passkey(request: HttpRequest, user: User) -> dict[str, str | bool]:
    """What the page asks a browser for, where this person has passkeys; or why it cannot here."""
    if not passkeys.of(user):
        return {"passkeys": False}
    why = passkeys.hindered(request)
    return {"passkeys": True, "hindered": why, "options": "" if why else passkeys.to_sign_in(request, user)}


@never_cache
@door(GET="sign-in", POST="sign-in")
def first_time(request: HttpRequest) -> HttpResponse:
    """Set a password with a code from the administrator."""
    form, now, address, status = PasswordForm(request.POST or None), timezone.now(), slowing.address_of(request), 200
    if request.method == "POST":
        status = 422
        name = str(request.POST.get("sign_in", ""))[:60].lower()
        if slowing.too_many(name, address, now):
            form.add_error(None, gettext(TOO_MANY))
            status = 429
        elif form.is_valid():
            held = giving.holder(name, form.cleaned_data["code"], now)
            if held is not None and _set(*held, form.cleaned_data["password"], now):
                messages.info(request, gettext("Your password is set. Sign in with it."))
                return HttpResponseRedirect("/sign-in/")
            slowing.failed(name, address, now)
            note(request, "a set-up code that does not fit")
            form.add_error("code", gettext("Name and code do not fit together, or the code is too old or used."))
    return render(request, "access/first-time.html", {"form": form}, status=status)


def _set(user: User, code: SetUpCode, password: str, now: datetime) -> bool:
    try:
        giving.set_password(user, code, password, now)
    except IntegrityError:
        return False
    return True


@door(POST="sign-out")
def sign_out(request: HttpRequest) -> HttpResponse:
    by_account, out = ACCOUNT in request.session, request.session.get(OUT, "")
    logout(request)
    if by_account:
        return render(request, "access/signed-out.html", {"out": out})
    return HttpResponseRedirect("/sign-in/")


@door(POST="choose-language")
def language(request: HttpRequest) -> HttpResponse:
    """Choose the language of the pages: kept with whoever is signed in, and with the browser for the next sign-in."""
    tag = request.POST.get("language", "")
    response = HttpResponseRedirect(wanted(request))
    if known(tag):
        response.set_cookie(COOKIE, tag, max_age=365 * 24 * 3600, httponly=True, samesite="Lax", secure=settings.HTTPS)
        if isinstance(request.user, User):
            with writing():
                User.objects.filter(pk=request.user.pk).update(language=tag)
    return response


def sign_in_page(request: HttpRequest, form: SignInForm, status: int, **more: str) -> HttpResponse:
    """The page to sign in at. `more` tells why the hospital's own sign-in let nobody in."""
    context = {"form": form, "next": wanted(request), "own": settings.OWN_SIGN_IN is not None, **more}
    return render(request, "access/sign-in.html", context, status=status)


def wanted(request: HttpRequest) -> str:
    """Where the visitor was going, if that is a page of ours."""
    target = request.POST.get("next") or request.GET.get("next") or "/"
    ours = url_has_allowed_host_and_scheme(target, {request.get_host()}, require_https=request.is_secure())
    return target if ours else "/"

"""Signing in and out; who has which role."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth import authenticate, login, logout
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext

from vestry.hospital.access import slowing
from vestry.hospital.access.door import door
from vestry.hospital.access.forms import SignInForm
from vestry.hospital.access.models import User
from vestry.hospital.language import COOKIE, known
from vestry.hospital.writing import writing


@door(GET="sign-in", POST="sign-in")
def sign_in(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return _page(request, SignInForm(), 200)
    form = SignInForm(request.POST)
    if not form.is_valid():
        return _page(request, form, 422)
    name, address, now = form.cleaned_data["sign_in"], str(request.META.get("REMOTE_ADDR", ""))[:45], timezone.now()
    if slowing.too_many(name, address, now):
        form.add_error(None, gettext("Too many tries. Wait a quarter of an hour, or ask the administrator."))
        return _page(request, form, 429)
    user = authenticate(request, username=name, password=form.cleaned_data["password"])
    if user is None:
        slowing.failed(name, address, now)
        form.add_error(None, gettext("Name and password do not fit together."))
        return _page(request, form, 422)
    slowing.succeeded(name)
    login(request, user)
    return HttpResponseRedirect(_next(request))


@door(POST="sign-out")
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return HttpResponseRedirect("/sign-in/")


@door(POST="choose-language")
def language(request: HttpRequest) -> HttpResponse:
    """Choose the language of the pages: kept with whoever is signed in, and with the browser for the next sign-in."""
    tag = request.POST.get("language", "")
    response = HttpResponseRedirect(_next(request))
    if known(tag):
        response.set_cookie(COOKIE, tag, max_age=365 * 24 * 3600, httponly=True, samesite="Lax", secure=settings.HTTPS)
        if isinstance(request.user, User):
            with writing():
                User.objects.filter(pk=request.user.pk).update(language=tag)
    return response


@door(GET="see-people")
def people(request: HttpRequest) -> HttpResponse:
    listed = User.objects.prefetch_related("grants").order_by("name")
    return render(request, "access/people.html", {"people": listed})


def _page(request: HttpRequest, form: SignInForm, status: int) -> HttpResponse:
    return render(request, "access/sign-in.html", {"form": form, "next": _next(request)}, status=status)


def _next(request: HttpRequest) -> str:
    """Where the visitor was going, if that is a page of ours."""
    target = request.POST.get("next") or request.GET.get("next") or "/"
    ours = url_has_allowed_host_and_scheme(target, {request.get_host()}, require_https=request.is_secure())
    return target if ours else "/"

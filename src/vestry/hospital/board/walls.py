"""A wall's own board: read without signing in, by a secret address that nobody is told.

A lead gives a code for one wall, and ends it again. The address opens the board and nothing else.
"""

from __future__ import annotations

import secrets
import uuid
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache

from vestry.hospital.access import codes, slowing
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.access.refusals import note
from vestry.hospital.anteroom.wearer_link import code_of
from vestry.hospital.board.models import Wall, WallCode, WallEnded, WallOpened
from vestry.hospital.board.views import board_answer, figure_answer, page_answer
from vestry.hospital.writing import writing

CODE_FOR = timedelta(minutes=15)
CODE_LENGTH = 10
LOG_AGAIN = timedelta(hours=1)
"""A wall that is loaded over and over from one place is logged once in so long."""
LOG_SHOWN = 5


def new_code(name: str, by: Any, now: datetime) -> str:
    """A code for one wall of this name. It is told once and not kept."""
    code = codes.new_code(CODE_LENGTH)
    with writing():
        WallCode.objects.create(code_hash=codes.proof_of(code), name=name, by=by, at=now)
    return code


def opened_by(code: str, now: datetime) -> str | None:
    """The secret of a new wall; None where the code is unknown, used or too old."""
    secret = secrets.token_urlsafe(24)
    with writing():
        rows = WallCode.objects.filter(code_hash=codes.proof_of(codes.plain(code)), at__gt=now - CODE_FOR, wall=None)
        found = rows.first()
        if found is None:
            return None
        Wall.objects.create(code=found, name=found.name, secret_hash=codes.proof_of(secret), at=now)
    return secret


# ---- at the desk ----


class WallForm(forms.Form):
    name = forms.CharField(
        label=gettext_lazy("Name of the wall"),
        max_length=60,
        help_text=gettext_lazy("Where it hangs, for example: Corridor, east"),
    )


class EndForm(forms.Form):
    reason = forms.CharField(label=gettext_lazy("Reason"), max_length=400)


class CodeForm(forms.Form):
    code = forms.CharField(
        label=gettext_lazy("Code"),
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false", "autocapitalize": "characters"}),
    )


@never_cache
@door(GET="manage-walls", POST="manage-walls")
def walls(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return _list(request, 200)
    form = WallForm(request.POST)
    if not form.is_valid():
        return _list(request, 422, form=form)
    code = new_code(form.cleaned_data["name"], visitor(request), timezone.now())
    address = request.build_absolute_uri("/wall/")
    scan = code_of(f"{address}?code={code}")
    return _list(request, 200, form=form, code=code, address=address, scan=scan)


def _list(request: HttpRequest, status: int, **more: Any) -> HttpResponse:
    rows = [
        (one, one.opened.all()[:LOG_SHOWN], one.opened.count())
        for one in Wall.objects.select_related("code__by", "ended__by")
    ]
    context = {"walls": rows, "minutes": int(CODE_FOR.total_seconds() // 60), "form": WallForm()} | more
    return render(request, "board/walls.html", context, status=status)


@door(POST="manage-walls")
def end(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """Its address is worth nothing from here on. Twice does no harm."""
    wall, form = get_object_or_404(Wall, pk=key), EndForm(request.POST)
    if not form.is_valid():
        return _list(request, 422, why=form)
    with writing():
        if not WallEnded.objects.filter(wall=wall).exists():
            reason = form.cleaned_data["reason"]
            WallEnded.objects.create(wall=wall, by=visitor(request), reason=reason, at=timezone.now())
    messages.info(request, _("%(name)s shows the board no longer.") % {"name": wall.name})
    return HttpResponseRedirect("/board/walls/")


# ---- on the wall ----


@never_cache
@door(GET="open-wall", POST="open-wall")
def begin(request: HttpRequest) -> HttpResponse:
    """Where the code is typed. A scanned one is filled in already; only the press uses it up."""
    if request.method != "POST":
        return render(
            request, "board/wall-code.html", {"form": CodeForm(initial={"code": request.GET.get("code", "")})}
        )
    form, now, address = CodeForm(request.POST), timezone.now(), slowing.address_of(request)
    who = f"wall {address}"[:60]
    if slowing.too_many(who, address, now):
        form.add_error(None, _("Too many tries. Wait a quarter of an hour."))
        return render(request, "board/wall-code.html", {"form": form}, status=429)
    if form.is_valid():
        secret = opened_by(form.cleaned_data["code"], now)
        if secret is not None:
            return HttpResponseRedirect(f"/wall/{secret}/")
        slowing.failed(who, address, now)
        note(request, "a code that opens no wall")
        form.add_error("code", _("No wall opens by this code. A code holds for a quarter of an hour, once."))
    return render(request, "board/wall-code.html", {"form": form}, status=422)


@never_cache
@door(GET="open-wall")
def wall(request: HttpRequest, secret: str) -> HttpResponse:
    found = _found(request, secret)
    _log(request, found)
    response = page_answer(request, f"/wall/{secret}/", lasting=True)
    response["X-Robots-Tag"] = "noindex"
    response["Referrer-Policy"] = "no-referrer"
    return response


@door(GET="open-wall")
def wall_now(request: HttpRequest, secret: str) -> HttpResponse:
    _found(request, secret)
    return board_answer(request, f"/wall/{secret}/")


@door(GET="open-wall")
def wall_figure(request: HttpRequest, secret: str) -> HttpResponse:
    _found(request, secret)
    return figure_answer(request)


def _found(request: HttpRequest, secret: str) -> Wall:
    found = Wall.objects.filter(secret_hash=codes.proof_of(secret), ended=None).first()
    if found is None:
        note(request, "the address of no wall, or of one that was ended")
        raise Http404("no such wall, or not any more")
    return found


def _log(request: HttpRequest, found: Wall) -> None:
    now, address = timezone.now(), slowing.address_of(request)
    with writing():
        if not found.opened.filter(address=address, at__gt=now - LOG_AGAIN).exists():
            WallOpened.objects.create(wall=found, address=address, at=now)

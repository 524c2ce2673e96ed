"""Pages for what went wrong, in plain words and with the way forward."""

from __future__ import annotations

import sys
from typing import Any

from django.db import OperationalError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils.translation import gettext


def _page(request: HttpRequest, status: int, title: str, says: str) -> HttpResponse:
    return render(request, "error.html", {"title": title, "says": says, "status": status}, status=status)


def bad_request(request: HttpRequest, exception: Any = None) -> HttpResponse:
    return _page(
        request,
        400,
        gettext("That could not be read"),
        gettext(
            "What was sent is too large, cut short or in another encoding. Nothing was stored. Go back and try again."
        ),
    )


def refused(request: HttpRequest, exception: Any = None) -> HttpResponse:
    return _page(
        request,
        403,
        gettext("Not for your role"),
        gettext("Your roles do not include this. Nothing was changed. If you need it tonight, ask the shift lead."),
    )


def not_found(request: HttpRequest, exception: Any = None) -> HttpResponse:
    return _page(
        request,
        404,
        gettext("There is nothing here"),
        gettext("The address is wrong, or what it names is not for you to see."),
    )


def not_allowed(request: HttpRequest, allowed: list[str]) -> HttpResponse:
    response = _page(
        request,
        405,
        gettext("Not in this way"),
        gettext("This page cannot be asked for in this way. Nothing was changed."),
    )
    response["Allow"] = ", ".join(allowed)
    return response


def failed(request: HttpRequest) -> HttpResponse:
    """Even when the database is gone: no user, no context. A database that is busy, full or away is told as such."""
    if not isinstance(sys.exc_info()[1], OperationalError):
        return HttpResponse(render_to_string("500.html"), status=500)
    if request.path.startswith("/tablet/") and request.path != "/tablet/":
        told: HttpResponse = JsonResponse({"problems": [{"field": "", "what": "not stored: try again"}]}, status=503)
    else:
        told = HttpResponse(render_to_string("503.html"), status=503)
    told["Retry-After"] = "5"
    return told


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    return _page(
        request,
        403,
        gettext("Your page was too old"),
        gettext(
            "It was open for long, or cookies are switched off. Nothing was stored. Load the page anew and try again."
        ),
    )

"""Every refusal, one line each: when, who, from where, what was asked and why it was refused. Nothing of what was sent.

The lines are JSON, in `refused.log` of the data folder. What someone typed is never in them:
a password is typed into the field of a name sooner or later. Pages are named by their pattern: an address can hold
a secret, as a calendar feed's does.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Callable
from datetime import UTC, datetime

from django.http import HttpRequest, HttpResponse

log = logging.getLogger("vestry.refused")
WHY = {
    400: "could not be read",
    401: "nobody is identified",
    403: "not for this role, or no token of this page or tablet",
    404: "not there, or not theirs",
    405: "not in this way",
    409: "overtaken",
    413: "too large",
    422: "does not hold",
    429: "too many tries",
}
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE")
_NOTED = "vestry.refused"


def note(request: HttpRequest, why: str) -> None:
    """Why this request is refused, or a part of it; in words of ours, without anything that was sent."""
    request.META.setdefault(_NOTED, []).append(why)


class RefusalMiddleware:
    """Writes the line once the answer is known."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        noted = request.META.get(_NOTED, [])
        if 400 <= response.status_code < 500 or noted:
            why = "; ".join(dict.fromkeys(noted)) or WHY.get(response.status_code, "refused")
            log.warning("%s", json.dumps(_line(request, response.status_code, why), ensure_ascii=True))
        return response


def _line(request: HttpRequest, status: int, why: str) -> dict[str, object]:
    route = request.resolver_match.route if request.resolver_match else None
    return {
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "who": _who(request),
        "from": str(request.META.get("REMOTE_ADDR", ""))[:45],
        "what": f"{_method(request)} {'no page of ours' if route is None else '/' + str(route)}",
        "status": status,
        "why": why,
    }


def _method(request: HttpRequest) -> str:
    method = request.method or ""
    return method if method in METHODS else "another method"


def _who(request: HttpRequest) -> str:
    tablet = request.META.get("vestry.tablet")
    if tablet is not None:
        return f"tablet {tablet.pk}"
    # Only who was asked for already: a refusal asks nothing more of the database.
    user = getattr(request, "_cached_user", None)
    return str(user.sign_in) if user is not None and user.is_authenticated else "nobody signed in"

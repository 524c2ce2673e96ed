"""The door of every page: which action each of its methods is. No door, no entry.

@door(GET="see-plans", POST="plan-case")
def page(request): ...
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from typing import Any, TypeVar
from urllib.parse import urlencode

from django.conf import settings
from django.contrib.auth import logout
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.utils.translation import gettext

from vestry.hospital.access.refusals import note
from vestry.hospital.access.table import ENROLLED, TABLE, allowed

log = logging.getLogger("vestry.access")
MISSING = "second-factor-is-missing"
"""In a session: whoever signed in needs a second factor and has none yet. Until then one page is open to them."""
ACCOUNT = "hospital-account"
"""In a session: the account of the hospital's own sign-in by which somebody came."""
ACCOUNT_AT = "hospital-account-at"
"""In a session: when they last signed in by it, in seconds since 1970."""
FRESH = 5 * 60
"""Seconds for which that stands in place of a password typed once more."""
_WITHOUT = frozenset({"sign-in", "sign-out", "set-own-second-factor"})
View = TypeVar("View", bound=Callable[..., HttpResponse])


def door(**actions: str) -> Callable[[View], View]:
    """Declare the action that each method of a view is. A method that is not named is refused."""

    def fit(view: View) -> View:
        view.doors = actions  # type: ignore[attr-defined]
        return view

    return fit


def doors_of(view: Callable[..., Any]) -> Mapping[str, str] | None:
    """The actions of a view's methods; None where none were declared."""
    doors: Mapping[str, str] | None = getattr(view, "doors", None)
    return doors


class DoorMiddleware:
    """Stands before every view, also those that forgot to ask."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: Any, kwargs: Any
    ) -> HttpResponse | None:
        doors = doors_of(view)
        if doors is None:
            log.error("no door was declared for %s", request.path)
            raise PermissionDenied("This page has no door, so nobody may pass.")
        action = doors.get("GET" if request.method == "HEAD" else request.method or "")
        if action is None:
            from vestry.hospital.errors import not_allowed  # templates need the settings

            return not_allowed(request, sorted(doors))
        if TABLE.get(action) == ENROLLED:
            return self._tablet(request, action)
        user: Any = request.user
        signed_in = user.is_authenticated and user.is_active and not self._unlinked(request)
        if signed_in and action not in _WITHOUT and request.session.get(MISSING):
            return HttpResponseRedirect("/second-factor/")
        if allowed(action, user.roles if signed_in else (), signed_in=signed_in):
            return None
        if not signed_in and request.method in ("GET", "HEAD"):
            return HttpResponseRedirect(f"{settings.LOGIN_URL}?{urlencode({'next': request.get_full_path()})}")
        note(request, f"{action} is not for this role" if signed_in else f"{action} without being signed in")
        raise PermissionDenied(action)

    def _unlinked(self, request: HttpRequest) -> bool:
        """Whether they came by an account of the hospital's own sign-in that is not theirs any more."""
        account = request.session.get(ACCOUNT)
        if account is None:
            return False
        from vestry.hospital.access.models import HospitalAccountEnded  # models need the apps

        if not HospitalAccountEnded.objects.filter(account=account).exists():
            return False
        logout(request)
        return True

    def _tablet(self, request: HttpRequest, action: str) -> HttpResponse | None:
        """Let in whoever brings the token of a tablet that is enrolled. The answer to all others is JSON."""
        from vestry.hospital.anteroom.tablets import admit  # models need the apps

        if admit(request):
            return None
        note(request, f"{action} without the token of a tablet that is enrolled")
        return JsonResponse(
            {"problems": [{"field": "", "what": gettext("this tablet is not enrolled, or not any more")}]}, status=403
        )

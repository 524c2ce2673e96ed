"""Which device speaks: an id of its own in a long-lived cookie, told apart from who is signed in on it."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse

COOKIE = "vestry-device"
_UUID = re.compile(r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$")


def device_of(request: HttpRequest) -> str:
    """The id of the device that asks."""
    return str(request.META["vestry.device"])


class DeviceMiddleware:
    """Gives a device its id at its first visit."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        known = request.COOKIES.get(COOKIE, "")
        device = known if _UUID.match(known) else str(uuid.uuid4())
        request.META["vestry.device"] = device
        response = self.get_response(request)
        if device != known:
            response.set_cookie(
                COOKIE, device, max_age=5 * 365 * 24 * 3600, httponly=True, samesite="Strict", secure=settings.HTTPS
            )
        return response

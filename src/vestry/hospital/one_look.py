"""A request is answered on one set of facts: which overlay is in force is asked once, however often it is needed."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from vestry.hospital import facts


class OneLookMiddleware:
    """Around everything that shows or writes."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with facts.looked_up_once():
            return self.get_response(request)

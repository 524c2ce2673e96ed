"""Scripts, styles and drawings go over the wire packed: a tablet's page is some fifty of them.

Only what every visitor may have, and never a page: a packed page that repeats what was asked beside what is secret can
be told from its size.
"""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware

PACKED = (".js", ".css", ".svg", ".json")  # fonts are packed already


class PackingMiddleware(GZipMiddleware):
    """Packs the static files; a part of a file is sent as it is, for its place is told in bytes of the whole."""

    def process_request(self, request: HttpRequest) -> None:
        """A browser asks with the mark of a packed file; what it has is compared without it (RFC 9110, 13.1.2)."""
        if request.path.startswith(settings.STATIC_URL) and (known := request.META.get("HTTP_IF_NONE_MATCH")):
            request.META["HTTP_IF_NONE_MATCH"] = known.removeprefix("W/")

    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        """The response packed, if it is a whole static file of a sort that gets smaller."""
        if not request.path.startswith(settings.STATIC_URL) or not request.path.endswith(PACKED):
            return response
        if response.status_code != 200 or "Range" in request.headers:
            return response
        return super().process_response(request, response)

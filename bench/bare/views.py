"""The least that a page can do: read what was sent, write one row in one transaction as the product writes, answer.

It stands behind the same middleware and the same door as every page, and needs nobody to be signed in.
"""

from __future__ import annotations

import json

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt

from bench.bare.models import BareRow
from vestry.hospital.access.door import door
from vestry.hospital.writing import writing

PAGE = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Bare</title></head><body>
<h1>0</h1><button type="button">Next</button></body></html>"""


@csrf_exempt
@door(GET="open-tablet", POST="open-tablet")
def bare(request: HttpRequest) -> HttpResponse:
    """Send: one row. Fetch: one row is read."""
    if request.method == "POST":
        with writing():
            row = BareRow.objects.create(said=json.loads(request.body), at=timezone.now())
        return JsonResponse({"row": row.pk})
    return JsonResponse({"row": BareRow.objects.order_by("-pk").values_list("pk", flat=True).first()})


@door(GET="open-tablet")
def bare_page(request: HttpRequest) -> HttpResponse:
    """A page with one key and one number."""
    return HttpResponse(PAGE)

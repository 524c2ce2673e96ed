"""How long an order takes, by item: what the unit keeps, and the judgement that stands where it keeps nothing."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone

from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.registers.mapper import lead_times_kept
from vestry.hospital.registers.models import StockLeadTime
from vestry.hospital.registers.stock_forms import LeadTimeForm
from vestry.hospital.registers.stock_pages import name_of
from vestry.hospital.writing import writing
from vestry.trade.staying import load_stay_figures


@door(GET="see-stock", POST="edit-stock")
def lead_times(request: HttpRequest) -> HttpResponse:
    """What is kept, with who wrote it and when; a new one is a new row."""
    kept = lead_times_kept()
    form = LeadTimeForm(request.POST if request.method == "POST" else None, kept=kept.keys())
    if form.is_bound and form.is_valid():
        with writing():
            StockLeadTime.objects.create(**form.cleaned_data, by=visitor(request), at=timezone.now())
        return HttpResponseRedirect("/stock/lead-times/")
    rows = sorted(((name_of(item), one) for item, one in kept.items() if item), key=lambda row: row[0])
    context = {"form": form, "rows": rows, "of_all": kept.get(""), "figure": load_stay_figures().find("lead-hours")}
    return render(request, "registers/lead-times.html", context, status=422 if form.is_bound else 200)

"""The estimates that amounts rest on, as the desk shows them: those in force, and what the hospital laid over ours."""

from __future__ import annotations

from collections import Counter
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext

from vestry.hospital import facts
from vestry.hospital.access.door import door
from vestry.hospital.language import words_now
from vestry.hospital.numbers import written
from vestry.trade import Evidence
from vestry.trade.evidence import EvidenceRecord
from vestry.trade.law import Law


@door(GET="see-facts")
def records(request: HttpRequest) -> HttpResponse:
    """The estimates of one quantity that amounts rest on, with law, range, source, certainty and trust."""
    now = facts.estimates()
    quantities = sorted({one.quantity for one in now.evidence.records.values()})
    asked = request.GET.get("quantity", "")
    quantity = asked if asked in quantities else quantities[0]
    own = {one.theirs.id for one in now.evidence.shadowed}
    rows = [
        {**estimate_told(one, now.evidence), "own": one.id in own}
        for one in sorted(now.evidence.records.values(), key=lambda record: record.id)
        if one.quantity == quantity
    ]
    counts = Counter(one.quantity for one in now.evidence.records.values())
    context = {
        "quantities": [(one, one.replace("-", " "), counts[one]) for one in quantities],
        "quantity": quantity,
        "rows": rows,
        "estimates": estimates_told(now.evidence),
        "problems": now.problems,
        "digest": now.evidence.digest,
    }
    return render(request, "desk/estimates.html", context)


def estimate_told(record: EvidenceRecord, evidence: Evidence) -> dict[str, Any]:
    """One estimate as it is read."""
    words = words_now()
    conditions = record.when.given_conditions()
    return {
        "id": record.id,
        "quantity": record.quantity.replace("-", " "),
        "law": law_told(record.law),
        "unit": record.unit.replace("-", " "),
        "range": gettext("%(range_0)s to %(range_1)s")
        % {"range_0": format(record.range[0], "g"), "range_1": format(record.range[1], "g")}
        if record.range
        else "",
        "when": "; ".join(f"{name.replace('_', ' ')} {_condition(value)}" for name, value in conditions.items()),
        "drawn": {"once": gettext("once for a run"), "each": gettext("anew at each touch")}[record.drawn],
        "certainty": words.term("certainty", record.certainty),
        "source": evidence.sources[record.source].title if record.source in evidence.sources else record.source,
        "trust": record.trust,
        "note": record.note or "",
    }


def _condition(value: Any) -> str:
    return (
        ", ".join(value)
        if isinstance(value, tuple)
        else gettext("from %(from)s below %(end)s") % {"from": written(value.from_), "end": written(value.end)}
    )


def law_told(law: Law) -> str:
    """A distribution in words: its kind and its numbers."""
    numbers = ", ".join(f"{name} {written(number)}" for name, number in law.parameters().items())
    return f"{law.kind.replace('-', ' ')}: {numbers}"


def estimates_told(evidence: Evidence) -> list[dict[str, Any]]:
    """Every estimate of the hospital's own, beside ours that it lies over."""
    told = []
    for one in evidence.shadowed:
        theirs = estimate_told(one.theirs, evidence)
        ours = estimate_told(one.shipped, evidence) if one.shipped else None
        told.append(
            {
                "id": one.theirs.id,
                "quantity": theirs["quantity"],
                "change": gettext("laid over") if ours else "added",
                "differs": [
                    {"field": field, "ours": ours[field] if ours else "", "theirs": theirs[field]}
                    for field in ("law", "unit", "range", "when", "drawn", "source", "certainty", "trust")
                    if ours is None or ours[field] != theirs[field]
                ],
                "because": one.theirs.because,
            }
        )
    return told

"""A record taken away: whole as JSON, its events as CSV, on paper as PDF. Each is written down as read."""

from __future__ import annotations

import textwrap
import uuid
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache

from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.desk.models import Unit
from vestry.hospital.language import words_now
from vestry.hospital.record import exporting
from vestry.hospital.record.models import Entry
from vestry.hospital.record.reading import note_read, record_for
from vestry.hospital.record.showing import RecordShown, show
from vestry.papers.record import Part, record_pdf


def _taken(request: HttpRequest, key: uuid.UUID) -> Entry:
    entry = record_for(visitor(request), key)
    note_read(visitor(request), "export", entry)
    return entry


def _file(content: bytes | str, sort: str, name: str, inline: bool = False) -> HttpResponse:
    response = HttpResponse(content, content_type=sort)
    response["Content-Disposition"] = f'{"inline" if inline else "attachment"}; filename="{name}"'
    return response


@never_cache
@door(GET="take-records-away")
def as_json(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    entry = _taken(request, key)
    return _file(exporting.as_json(entry, visitor(request)), "application/json", f"record-{key}.json")


@never_cache
@door(GET="take-records-away")
def as_csv(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    return _file(exporting.events_csv(_taken(request, key)), "text/csv; charset=utf-8", f"record-{key}.csv")


@never_cache
@door(GET="take-records-away")
def on_paper(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    entry = _taken(request, key)
    unit, now = Unit.current(), timezone.now()
    title = _("Record of an entry: %(wearer)s, %(on)s UTC") % {
        "wearer": entry.wearer.name, "on": entry.created_at.strftime("%Y-%m-%d %H:%M"),
    }  # fmt: skip
    shown = show(entry, None)
    standing = [_("Drill")] if entry.drill else []
    standing += [_("Invented for demonstration")] if unit.invented else []
    pdf = record_pdf(
        title,
        _parts(entry, shown),
        words_now(),
        lead=[f"{entry.version.procedure.title}, {_('version')} {entry.version.number}. {shown.stage}."],
        standing=" · ".join(standing),
        heads=[f"{name}: {head}" for name, head in exporting.heads(entry)],
        heads_title=_("Heads of the chains, as anchors"),
        none=_("None was recorded."),
        unit=unit.name,
        printed_on=now.strftime("%Y-%m-%d %H:%M UTC"),
    )
    return _file(pdf, "application/pdf", f"record-{key}.pdf", inline=True)


def _parts(entry: Entry, shown: RecordShown) -> list[Part]:
    pairs = (_("What"), _("As recorded"))
    when = (_("Time"), _("What"), _("By"))

    def brief(rows: list[dict[str, Any]]) -> list[tuple[str, ...]]:
        return [(one["at"], _said(one["kind"], one["step"], one["says"]), one["by"]) for one in rows]

    followed = [
        (_("Plan"), " ".join(textwrap.wrap(entry.version.plan_hash, 32))),
        (_("Approved by"), entry.version.approved_by.name),
    ]
    otherwise = [
        (one["at"], one["step"], _said(one["what"], one["note"]), one["answer"] or _("hold card: decided on the spot"))
        for one in shown.deviations
    ]
    apart = [
        (one["about"], "; ".join(f"{side['device']}: {side['says']}, {side['at']}" for side in one["sides"]))
        for one in shown.contradicted
    ]
    injected = [(one["at"], _said(one["step"], one["what"]), one["met"]) for one in shown.injected]
    removed = [
        (one["on"], _("what %(places)s events said") % {"places": one["places"]}, one["policy"])
        for one in shown.removed
    ]
    corrected = [(one["at"], one["before"] or _("the record as a whole"), one["text"], f"{one['by']}: {one['reason']}")
                 for one in shown.corrections]  # fmt: skip
    return [
        Part(_("Who and when"), pairs, (50, 0), [*shown.people, *shown.clocks, *followed]),
        *([Part(_("Content removed"), (_("Day"), _("What"), _("Under")), (24, 50, 0), removed)] if removed else []),
        Part(_("Deviations and answers"), (_("Time"), _("At step"), _("What"), _("Answer")), (20, 50, 0, 40),
             otherwise),
        Part(_("Near-misses"), when[:2], (22, 0), [(one["at"], one["step"]) for one in shown.near_misses]),
        Part(_("Breaches and exposures"), when, (22, 0, 40), brief(shown.reached)),
        *([Part(_("Put in for the drill"), (_("Time"), _("What"), _("Answered")), (22, 0, 50), injected)]
          if injected else []),
        Part(_("Decided on the spot"), when, (22, 0, 40), brief(shown.decided)),
        Part(_("Checks"), when, (22, 0, 40), brief(shown.checks)),
        Part(_("Where devices contradict each other"), (_("About"), _("What each says")), (60, 0), apart),
        Part(_("To look at"), when[:2], (22, 0), [(one["at"], one["what"]) for one in shown.flags]),
        Part(_("Corrections"), (_("When"), _("What was said"), _("What would be right"), _("By, and why")),
             (26, 50, 0, 45), corrected),
        Part(_("Signatures"), when, (22, 0, 40), brief(shown.signed)),
        Part(_("As it went"), (_("No."), _("Time"), _("What"), _("By")), (12, 20, 0, 34),
             [_line(one) for one in shown.rows]),
    ]  # fmt: skip


def _line(one: dict[str, Any]) -> tuple[str, ...]:
    marks = [_("written down late")] if one["late"] else []
    marks += [_("taken back")] if one["gone"] else []
    marks += [*one["flags"], *(_("corrected: %(text)s") % {"text": other["text"]} for other in one["corrected"])]
    says = _said(str(one["kind"]), one["step"], one["says"])
    says += f" [{'; '.join(marks)}]" if marks else ""
    return str(one["number"]), one["at"] or _("not written"), says, " ".join(filter(None, (one["by"], one["device"])))


def _said(*parts: str) -> str:
    return ", ".join(part for part in parts if part)

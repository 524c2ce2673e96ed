"""Late transcription: an entry that was led by the printed sheet is written down afterwards, and marked so everywhere.

1. Times are as written. Where none is written the event says so (`untimed`), and stands where the sheet has it.
2. A sheet that looks like an entry that is there already is said to be, and is written down only as another pass.
3. Steps that the record has are left as they are: a sheet may go on where a tablet failed.
"""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterator
from typing import Any

from django.contrib import messages
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache

from vestry.entry import KINDS, EntryState
from vestry.hospital.access.door import door
from vestry.hospital.access.models import User
from vestry.hospital.access.people import visitor
from vestry.hospital.anteroom.presses import done_events
from vestry.hospital.record.mapper import led_of
from vestry.hospital.record.models import Entry, paper_of
from vestry.hospital.record.naming import Namer
from vestry.hospital.record.paper_form import Line, LinesForm, PaperForm
from vestry.hospital.record.reading import record_for
from vestry.hospital.record.store import events_of, say, state_of
from vestry.hospital.writing import writing

Said = tuple[str, dict[str, Any], datetime.datetime]
_LIKELY_THE_SAME = datetime.timedelta(hours=3)
_HALF_A_DAY = datetime.timedelta(hours=12)


@never_cache
@door(GET="transcribe-entry", POST="transcribe-entry")
def begin(request: HttpRequest) -> HttpResponse:
    """Which sheet it is. What looks like an entry that is there already is said, with the way to it."""
    form = PaperForm(request.POST if request.method == "POST" else None, initial={"day": timezone.localdate()})
    alike: list[Entry] = []
    if request.method == "POST" and form.is_valid():
        alike = list(_alike(form)[:10])
        if alike and not form.cleaned_data["another"]:
            form.add_error("another", _("There is an entry of this person at about this time. Look at it first."))
        if not form.errors:
            return HttpResponseRedirect(f"/records/{_open(request, form).pk}/transcribe/")
    shown = {"form": form, "alike": alike}
    return render(request, "record/transcribe-begin.html", shown, status=422 if form.errors else 200)


def _alike(form: PaperForm) -> QuerySet[Entry]:
    """Entries of the same wearer within hours of it, whoever wrote them down."""
    began = form.began_at()
    near = (began - _LIKELY_THE_SAME, began + _LIKELY_THE_SAME)
    return (
        Entry.objects.select_related("version__procedure", "wearer", "observer")
        .defer("version__approved")
        .filter(Q(created_at__range=near) | Q(entered_at__range=near), wearer=form.cleaned_data["wearer"])
    )


def _open(request: HttpRequest, form: PaperForm) -> Entry:
    said, began = form.cleaned_data, form.began_at()
    people = {who: said[who] for who in ("wearer", "observer", "assistant") if said[who]}
    opened: dict[str, Any] = {name: one.sign_in for name, one in people.items()}
    with writing():
        entry = Entry.objects.create(
            version=said["version"], room=said["room"], drill=said["drill"], created_at=began, **people
        )
        late = {"by": said["observer"].sign_in} | ({"note": said["note"]} if said["note"] else {})
        _say(
            visitor(request),
            entry,
            [
                ("opened", opened | {"drill": said["drill"], "pace": "one-press"}, began),
                ("late-transcribed", late, began),
            ],
        )
    return entry


@never_cache
@door(GET="transcribe-entry", POST="transcribe-entry")
def transcribe(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """The sheet's lines. Written in one go, and again for what came to light later, until it is at its end."""
    entry = record_for(visitor(request), key)
    if request.method == "POST":
        with writing():  # two who write the same sheet, or one press that arrives twice, come one after the other
            state, lines = _now(entry)
            if state.over:
                messages.info(request, _("This entry is at its end: what is to be added is a correction."))
                return HttpResponseRedirect(f"/records/{key}/")
            form = LinesForm(lines, request.POST)
            if form.is_valid():
                _say(visitor(request), entry, list(_events(entry, form, state)))
                return HttpResponseRedirect(f"/records/{key}/")
    else:
        state, lines = _now(entry)
        form = LinesForm(lines)
    shown = {"entry": entry, "form": form, "lines": lines, "over": state.over, "left": form.lines}
    return render(request, "record/transcribe.html", shown, status=422 if form.errors else 200)


def _now(entry: Entry) -> tuple[EntryState, list[Line]]:
    led = led_of(entry.version)
    state = state_of(entry)
    course, namer = led.course(state.course) or led.plan, Namer(entry, led)
    done = {one.step for one in state.steps if one.course == course.name and one.done}
    return state, [
        Line(number, one.id, namer.step(one.id, course).partition(". ")[2] or one.id, one.id in done)
        for number, one in enumerate(course.steps, 1)
    ]


def _events(entry: Entry, form: LinesForm, state: EntryState) -> Iterator[Said]:
    said, led = form.cleaned_data, led_of(entry.version)
    course = led.course(state.course) or led.plan
    steps = {one.id: one for one in course.steps}
    latest = _latest(entry, state)
    if not any(one.device == paper_of(entry) for one in events_of(entry)):
        yield "late-transcribed", {"by": entry.observer.sign_in}, latest
    for line in form.lines:
        written = said.get(f"at-{line.number}")
        latest = _after(latest, written)
        untimed = {} if written else {"untimed": True}
        otherwise = said.get(f"otherwise-{line.number}")
        if otherwise:
            told = {"step": line.step, "events": ["something-else"], "note": otherwise}
            yield "deviation", told | untimed, latest
            yield "resumed", {"step": line.step, "reason": "written-down-late"}, latest
        how = form.how(line, said)
        if how:
            for kind, payload in done_events(how, [steps[line.step]]):
                carries = {one.name for one in KINDS[kind]}
                yield kind, payload | (untimed if "untimed" in carries else {}), latest
    if said["ended"]:
        written = said["ended_at"]
        untimed = {} if written else {"untimed": True}
        latest = _after(latest, written)
        yield said["ended"], {"reason": said["why"]} if said["ended"] == "abandoned" else untimed, latest


def _latest(entry: Entry, state: EntryState) -> datetime.datetime:
    """Where the sheet goes on: after all that was said before."""
    clocks = [one.clock for one in events_of(entry)]
    return datetime.datetime.fromisoformat(max(clocks)) if clocks else entry.created_at


def _after(latest: datetime.datetime, written: datetime.time | None) -> datetime.datetime:
    """The moment of a time of day on a sheet: past midnight where it is much earlier than the one before it."""
    if written is None:
        return latest
    moment = datetime.datetime.combine(latest.date(), written, datetime.UTC)
    return moment + datetime.timedelta(days=1) if latest - moment > _HALF_A_DAY else moment


def _say(person: User, entry: Entry, said: list[Said]) -> None:
    say(entry, person.sign_in, paper_of(entry), said, timezone.now())

"""One's own shifts, and calendar feeds: of one's own shifts for everybody, of the team for those who see it."""

from __future__ import annotations

import datetime
import uuid

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from icalendar import Calendar

from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.coverage.models import RosterFeed
from vestry.hospital.coverage.standing import Standing, own_shifts, taken_in
from vestry.hospital.language import words_now
from vestry.hospital.registers.models import RegisteredPerson
from vestry.hospital.writing import writing
from vestry.roster.calendar import calendar
from vestry.roster.rota import Assigned
from vestry.trade.words import Words

BACK, AHEAD = datetime.timedelta(days=14), datetime.timedelta(days=90)


@door(GET="see-own-shifts")
def mine(request: HttpRequest) -> HttpResponse:
    """The shifts that one is asked for, from today on."""
    user, words, today = visitor(request), words_now(), timezone.localdate()
    person = RegisteredPerson.objects.filter(user=user, active=True).first()
    found = own_shifts(taken_in(today, today + AHEAD), person.code, today) if person else []
    shifts = [
        {
            "day": one.day,
            "shift": one.shift,
            "from": _hours(stands, one)[0],
            "to": _hours(stands, one)[1],
            "duty": words.term("roster-duty", one.duty),
        }
        for stands, one in found
    ]
    context = {
        "person": person,
        "shifts": shifts,
        "feeds": RosterFeed.objects.filter(by=user, ended_at=None).exclude(person=None).order_by("-at"),
        "feed_url": request.session.pop("new-roster-feed", None),
        "caution_said": words.term("roster", "caution"),
    }
    return render(request, "coverage/mine.html", context)


def _hours(stands: Standing, one: Assigned) -> tuple[int, int]:
    shift = next(shift for shift in stands.rota.shifts if shift.id == one.shift)
    return shift.from_hour, (shift.from_hour + shift.hours) % 24


@door(POST="see-own-shifts")
def new_feed(request: HttpRequest) -> HttpResponse:
    """A feed: its address is shown once, and is the only key to it."""
    user = visitor(request)
    of_team = request.POST.get("of") == "team"
    if of_team and not user.may("see-coverage"):
        raise PermissionDenied
    person = None if of_team else RegisteredPerson.objects.filter(user=user, active=True).first()
    if person is None and not of_team:
        raise Http404
    secret, feed = RosterFeed.made_for(user, person, timezone.now())
    with writing():
        feed.save()
    request.session["new-roster-feed"] = request.build_absolute_uri(f"/coverage/feeds/{secret}.ics")
    return HttpResponseRedirect("/coverage/#feed" if of_team else "/coverage/mine/#feed")


@door(POST="see-own-shifts")
def end_feed(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    rows = RosterFeed.objects.filter(pk=key, by=visitor(request), ended_at=None)
    own = rows.exclude(person=None).exists()
    with writing():
        rows.update(ended_at=timezone.now())
    return HttpResponseRedirect(
        "/coverage/mine/#feed" if own or not visitor(request).may("see-coverage") else "/coverage/#feed"
    )


@door(GET="read-feed")
def feed(request: HttpRequest, secret: str) -> HttpResponse:
    """Shifts for a calendar that signs in nowhere: one's own without a name, the team's by staff code."""
    row = RosterFeed.of(secret)
    needed = "see-coverage" if row is not None and row.person_id is None else "see-own-shifts"
    if row is None or not row.by.may(needed):
        raise Http404
    today, words = timezone.localdate(), words_now()
    response = HttpResponse(
        _calendar(taken_in(today - BACK, today + AHEAD), row.person.code if row.person else "", words),
        content_type="text/calendar; charset=utf-8",
    )
    response["Cache-Control"] = "private, max-age=3600"
    return response


def _calendar(found: list[Standing], person: str, words: Words) -> bytes:
    """All rosters that were taken in one calendar; where two hold a day, the newer one counts."""

    def says(one: Assigned) -> str:
        duty = f"{words.term('roster-duty', one.duty)} ({one.shift})"
        return duty if person else f"{one.person}: {duty}"

    stamp = timezone.now().astimezone(datetime.UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    zone = timezone.get_current_timezone()
    whole: Calendar | None = None
    days: set[datetime.date] = set()
    for stands in found:
        assert stands.roster is not None, "only those taken are found"
        free = tuple(one for one in stands.roster.assigned if one.day not in days)
        part = Calendar.from_ical(
            calendar(stands.rota, stands.roster.model_copy(update={"assigned": free}), stamp, says, zone, person)
        )
        days |= {stands.rota.starts + datetime.timedelta(days=n) for n in range(stands.rota.days)}
        if whole is None:
            whole = part
        else:
            for event in part.walk("VEVENT"):
                whole.add_component(event)
    if whole is None:
        whole = Calendar()
        whole.add("prodid", "-//Vestry//Roster//EN")
        whole.add("version", "2.0")
    return bytes(whole.to_ical())

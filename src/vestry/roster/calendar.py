"""A roster as a calendar (RFC 5545), for anybody's own: one event for each shift of each person."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, time, timedelta, tzinfo
from hashlib import sha256

from vestry.roster.found import Roster
from vestry.roster.rota import Assigned, Rota

Name = Callable[[Assigned], str]


def calendar(
    rota: Rota, roster: Roster, stamp: datetime, summary: Name, zone: tzinfo | None = None, person: str = ""
) -> bytes:
    """The calendar, lines ended and folded as the standard says.

    stamp     when it was made, in UTC: there is no clock here
    summary   what an event is called
    zone      the hospital's time zone; None: times without one, read as local wherever they are shown
    person    only theirs
    An event keeps its UID as long as person, day, shift and rota stay, so a calendar read again replaces what it had.
    """
    from icalendar import Calendar, Event

    found = Calendar()
    found.add("prodid", "-//Vestry//Roster//EN")
    found.add("version", "2.0")
    shifts = {one.id: one for one in rota.shifts}
    for one in roster.assigned:
        if person and one.person != person:
            continue
        shift = shifts[one.shift]
        begins = datetime.combine(one.day, time(shift.from_hour))
        event = Event()
        event.add("uid", uid(rota, one))
        event.add("dtstamp", stamp)
        event.add("dtstart", begins.replace(tzinfo=zone))
        event.add("dtend", (begins + timedelta(hours=shift.hours)).replace(tzinfo=zone))
        event.add("summary", summary(one))
        found.add_component(event)
    if zone is not None:
        found.add_missing_timezones()
    return bytes(found.to_ical())


def uid(rota: Rota, one: Assigned) -> str:
    """A name for one person's shift that stays the same from one reading to the next."""
    named = "|".join((rota.title, rota.starts.isoformat(), one.person, one.day.isoformat(), one.shift))
    return f"{sha256(named.encode()).hexdigest()[:32]}@roster.vestry.invalid"

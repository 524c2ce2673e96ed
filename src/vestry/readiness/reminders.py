"""Reminders as a calendar feed (RFC 5545): for each link that will not hold, the last day on which it does.

All-day events with a reminder a week before. The same link for the same day keeps its UID: a calendar that reads the
feed again changes the event and makes no second one. No name of a person stands in it.
"""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Iterable

from vestry.readiness.telling import NO_NAMES, TellsNames, told_link, told_mend, told_stands, told_why
from vestry.readiness.tonight import Link, Tonight
from vestry.trade.words import Words

A_WEEK = datetime.timedelta(days=7)
PRODUCT = "-//Vestry//Readiness//EN"


def calendar(
    answers: Iterable[Tonight], words: Words, stamp: datetime.datetime, unit: str, names: TellsNames = NO_NAMES
) -> bytes:
    """The feed for these answers.

    stamp   the moment at which it was worked out, in UTC (DTSTAMP)
    unit    the hospital's name, before each summary
    """
    from icalendar import Alarm, Calendar, Event  # takes its time to load

    feed = Calendar()
    feed.add("prodid", PRODUCT)
    feed.add("version", "2.0")
    seen = set()
    for answer in answers:
        for link in answer.links:
            on = _day(link, answer)
            if on is None or (link.name, on) in seen:
                continue
            seen.add((link.name, on))
            event = Event()
            event.add("uid", _uid(unit, link, on))
            event.add("dtstamp", stamp)
            event.add("dtstart", on)
            event.add("dtend", on + datetime.timedelta(days=1))  # exclusive: the day itself is the last
            event.add("summary", f"{unit}: {told_link(link, words, names)}")
            event.add("description", _says(link, words, names))
            alarm = Alarm()
            alarm.add("action", "DISPLAY")
            alarm.add("description", f"{unit}: {told_link(link, words, names)}")
            alarm.add("trigger", -A_WEEK)
            event.add_component(alarm)
            feed.add_component(event)
    return bytes(feed.to_ical())


def _day(link: Link, answer: Tonight) -> datetime.date | None:
    """The last day on which it holds; today for what does not hold now; None for what holds past the horizon."""
    return answer.question.on if link.state == "not-ready" else link.until


def _uid(unit: str, link: Link, on: datetime.date) -> str:
    return hashlib.sha256(f"{unit}/{link.name}/{on}".encode()).hexdigest()[:32] + "@vestry"


def _says(link: Link, words: Words, names: TellsNames) -> str:
    lines = [told_stands(link, words), *(told_why(one, words) for one in link.why)]
    lines += [told_mend(one, words, TellsNames(names.procedures, names.rooms, {})) for one in link.mend]
    return "\n".join(filter(None, (*dict.fromkeys(lines), words.finding("ready.caution"))))

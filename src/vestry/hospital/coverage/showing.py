"""A roster in words and tables for the page, one week at a time."""

from __future__ import annotations

import datetime
from typing import Any

from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext as _

from vestry.hospital.coverage.naming import Names, named
from vestry.hospital.coverage.standing import Standing
from vestry.roster import Roster
from vestry.roster.needing import Grid
from vestry.roster.replaying import Breach
from vestry.roster.rota import Assigned, Member
from vestry.roster.telling import headlines, told_closing, why_not
from vestry.trade.words import Words

ONE_DAY = datetime.timedelta(days=1)
ABLE = ("inside", "observing", "assisting")


def week_of(request: HttpRequest, stands: Standing) -> int:
    """The week that is asked for, else that of today, else the first."""
    weeks = -(-stands.rota.days // 7)
    said = request.GET.get("week", "")
    if said.isascii() and said.isdigit() and 1 <= int(said) <= weeks:
        return int(said) - 1
    today = (timezone.localdate() - stands.rota.starts).days
    return today // 7 if 0 <= today < stands.rota.days else 0


def shown(stands: Standing, found: Roster, names: Names, week: int, words: Words) -> dict[str, Any]:
    """What the page lays out."""
    first = stands.rota.starts + ONE_DAY * 7 * week
    days = [first + ONE_DAY * n for n in range(min(7, stands.rota.days - 7 * week))]
    told = named(found, names)
    return {
        "found": found,
        "told": headlines(found, words),
        "week": week + 1,
        "weeks": _weeks(stands, found),
        "days": days,
        "cover": _cover(told, days, words),
        "people": _people(stands, found, days, names, words),
        "gaps": [
            {
                "day": gap.day,
                "shift": gap.shift,
                "duty": words.term("roster-duty", gap.duty),
                "needed": gap.needed,
                "there": gap.there,
                "why": why_not(gap, words),
                "week": (gap.day - stands.rota.starts).days // 7 + 1,
            }
            for gap in found.gaps
        ],
        "closing": told_closing(told.closing, words),
        "loads": told.loads,
        "broken": [told_breach(one, stands, names, words) for one in stands.broken],
        "rules": stands.rota.rules,
        "shifts": stands.rota.shifts,
        "today": timezone.localdate(),
        "roster_caution": words.term("roster", "caution"),
    }


def told_breach(one: Breach, stands: Standing, names: Names, words: Words) -> str:
    """What does not hold, in a sentence."""
    day = stands.rota.starts + ONE_DAY * one.day
    return f"{names.of(one.person)}, {day:%-d %B}: {words.term('roster-broken', one.rule)}."


def _weeks(stands: Standing, found: Roster) -> list[dict[str, Any]]:
    weeks = []
    for number in range(-(-stands.rota.days // 7)):
        first = stands.rota.starts + ONE_DAY * 7 * number
        empty = sum(gap.needed - gap.there for gap in found.gaps if first <= gap.day < first + ONE_DAY * 7)
        weeks.append({"number": number + 1, "first": first, "empty": empty})
    return weeks


def _cover(told: Roster, days: list[datetime.date], words: Words) -> list[dict[str, Any]]:
    """Rows of shift and duty, a cell for each day: who, and how many places stay empty."""
    rows = {(row.day, row.shift, row.duty): row for row in told.grid if row.day in days}
    kinds = dict.fromkeys((shift, duty) for _, shift, duty in rows)
    return [
        {
            "shift": shift,
            "duty": words.term("roster-duty", duty),
            "cells": [rows.get((day, shift, duty)) for day in days],
        }
        for shift, duty in kinds
    ]


def _people(
    stands: Standing, found: Roster, days: list[datetime.date], names: Names, words: Words
) -> list[dict[str, Any]]:
    """A row for each person, a cell for each day: their place, whether they are away, whether it still holds."""
    grid = Grid(stands.now)
    at: dict[tuple[str, datetime.date], Assigned] = {(one.person, one.day): one for one in found.assigned}
    broken: dict[tuple[str, datetime.date], list[str]] = {}
    for one in stands.broken:
        key = one.person, stands.rota.starts + ONE_DAY * one.day
        broken.setdefault(key, []).append(words.term("roster-broken", one.rule))
    rows = []
    for person in stands.now.people:
        cells = []
        for day in days:
            place = at.get((person.id, day))
            cells.append(
                {
                    "day": day,
                    "shift": place.shift if place else "",
                    "duty": words.term("roster-duty", place.duty) if place else "",
                    "away": any(one.from_ <= day <= one.until for one in person.away),
                    "off": [one.shift for one in person.off if one.day == day],
                    "broken": broken.get((person.id, day), []),
                }
            )
        rows.append(
            {
                "code": person.id,
                "name": names.of(person.id),
                "may": [_able(person, able, grid, days, words) for able in ABLE if able in person.may],
                "cells": cells,
            }
        )
    return sorted(rows, key=lambda row: row["name"])


def _able(person: Member, able: Any, grid: Grid, days: list[datetime.date], words: Words) -> str:
    word, last = words.term("roster-duty", able), person.until.get(able)
    return word if last is None else f"{word} {_('to')} {last:%-d %b}"


def history(stands: Standing, names: Names, words: Words) -> list[dict[str, Any]]:
    """What was done with the rota, newest first."""
    rows = []
    for row in reversed(stands.acts):
        kind = row.act["kind"]
        if kind == "taken":
            says = _("Proposal taken")
        elif kind == "left":
            says = _("Proposal left")
        else:
            says = " ".join(filter(None, (_place(row.act.get("gone"), _("no longer"), names, words),
                                          _place(row.act.get("come"), _("now"), names, words))))  # fmt: skip
        rows.append({"says": says, "reason": row.reason, "by": row.by.name, "at": row.at})
    return rows


def _place(said: Any, how: str, names: Names, words: Words) -> str:
    if not said:
        return ""
    one = Assigned.model_validate(said)
    duty = words.term("roster-duty", one.duty)
    return f"{names.of(one.person)}, {one.day:%-d %B}: {how} {duty} ({one.shift})."

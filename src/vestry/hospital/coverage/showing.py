"""A roster in words and tables for the page, one week at a time."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext as _

from vestry.hospital.coverage.naming import Names, named
from vestry.hospital.coverage.standing import Standing
from vestry.roster import Roster
from vestry.roster.replaying import Breach
from vestry.roster.rota import Assigned, Member
from vestry.roster.telling import headlines, told_closing, why_not
from vestry.trade.words import Words

ONE_DAY = datetime.timedelta(days=1)
ON_A_PAGE = 40
ABLE = ("inside", "observing", "assisting")


def week_of(request: HttpRequest, stands: Standing) -> int:
    """The week that is asked for, else that of today, else the first."""
    weeks = -(-stands.rota.days // 7)
    said = request.GET.get("week", "")
    if said.isascii() and said.isdigit() and 1 <= int(said) <= weeks:
        return int(said) - 1
    today = (timezone.localdate() - stands.rota.starts).days
    return today // 7 if 0 <= today < stands.rota.days else 0


@dataclass(frozen=True)
class Sought:
    """Whose rows are shown: a part of a name or code, and which page of them. Empty: those that the rota asks."""

    name: str = ""
    page: str = ""

    @classmethod
    def by(cls, request: HttpRequest) -> Sought:
        return cls(request.GET.get("find", "").strip()[:80], request.GET.get("page", ""))


def shown(
    stands: Standing, found: Roster, names: Names, week: int, words: Words, sought: Sought = Sought()
) -> dict[str, Any]:
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
        **_people(stands, found, days, names, words, sought),
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
        "loads": [one for one in told.loads if one.shifts],
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
    stands: Standing, found: Roster, days: list[datetime.date], names: Names, words: Words, sought: Sought
) -> dict[str, Any]:
    """One page of people by name: those that the rota asks or the roster has, or whoever is looked for."""
    everyone = {one.id: one for one in stands.now.people}
    mine = {one.id for one in stands.rota.people} | {one.person for one in found.assigned}
    by_name = sorted((names.of(code), code) for code in everyone)
    part = sought.name.casefold()
    listed = [
        (name, code)
        for name, code in by_name
        if (part in name.casefold() or part in code.casefold() if part else code in mine)
    ]
    page = Paginator(listed, ON_A_PAGE).get_page(sought.page)
    at: dict[str, dict[datetime.date, Assigned]] = {}
    for one in found.assigned:
        at.setdefault(one.person, {})[one.day] = one
    broken: dict[tuple[str, datetime.date], list[str]] = {}
    for fault in stands.broken:
        key = fault.person, stands.rota.starts + ONE_DAY * fault.day
        broken.setdefault(key, []).append(words.term("roster-broken", fault.rule))
    rows = [
        {
            "code": code,
            "name": name,
            "may": [_able(everyone[code], able, words) for able in ABLE if able in everyone[code].may],
            "cells": [_cell(everyone[code], day, at.get(code, {}), broken, words) for day in days],
        }
        for name, code in page.object_list
    ]
    return {"people": rows, "page": page, "find": sought.name, "others": len(everyone) - len(mine & set(everyone))}


def _cell(
    person: Member,
    day: datetime.date,
    at: Mapping[datetime.date, Assigned],
    broken: Mapping[tuple[str, datetime.date], list[str]],
    words: Words,
) -> dict[str, Any]:
    """Somebody's place on a day, whether they are away, whether it still holds."""
    place = at.get(day)
    return {
        "day": day,
        "shift": place.shift if place else "",
        "duty": words.term("roster-duty", place.duty) if place else "",
        "away": any(one.from_ <= day <= one.until for one in person.away),
        "broken": broken.get((person.id, day), []),
    }


def _able(person: Member, able: Any, words: Words) -> str:
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

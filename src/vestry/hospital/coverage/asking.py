"""Whom a rota can ask: the people of the register, what each is qualified for and until when, and when they are away.

Sizes on the shelf are not asked: an order mends them. A qualification that begins within the rota is not counted on.
"""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Collection, Mapping, Sequence

from vestry.hospital import facts, running_facts
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ProcedureVersion
from vestry.hospital.registers.able import system_now
from vestry.hospital.registers.mapper import people_values
from vestry.hospital.registers.models import RegisteredPerson
from vestry.people import May, Person, need_of
from vestry.people.values import Duty
from vestry.readiness import Here
from vestry.readiness.going import Answers, Going
from vestry.roster import Rota
from vestry.roster.rota import Able, Away, Member

ABLE: tuple[tuple[Duty, Able], ...] = (("wearer", "inside"), ("observer", "observing"), ("assistant", "assisting"))
ONE_DAY = datetime.timedelta(days=1)


def members(
    version: ProcedureVersion, starts: datetime.date, days: int, only: Collection[str] | None = None
) -> tuple[Member, ...]:
    """Those on the register who may do something along this procedure at the start of the rota, by staff code.

    only    nobody but those of these codes is looked at
    """
    asked = RegisteredPerson.objects.filter(active=True).order_by("code")
    if only is not None:
        asked = asked.filter(code__in=list(only))
    rows = {str(one.pk): one for one in asked}
    people = people_values(rows.values())
    here = Here(procedures=(), people=tuple(people), system=system_now())
    plan, catalogue, standards = approved_of(version.pk).plan, facts.catalogue(), running_facts.standards()
    going = Going(here, starts, days - 1, catalogue, standards, sizes=False)
    may: dict[Able, Mapping[str, datetime.date | None]] = {
        able: _untils(going.ahead(need_of(plan, catalogue, duty, version.procedure.slug)), starts)
        for duty, able in ABLE
    }
    found = []
    for person in people:
        able = tuple(one for _, one in ABLE if person.id in may[one])
        if able:
            last = {one: day for one in able if (day := may[one][person.id]) is not None}
            code = rows[person.id].code
            found.append(Member(id=code, may=able, until=last, away=_away(person, starts, days)))
    return tuple(found)


def _untils(days: Sequence[Answers], starts: datetime.date) -> dict[str, datetime.date | None]:
    """Who is qualified on the first day, and the last day on which they are; None: all through the rota.

    Being away is no lack of qualification. A day on which nobody's answer turned is the day before's own.
    """
    found: dict[str, datetime.date | None] = {person: None for person, said in days[0].items() if _qualified(said)}
    left = set(found)
    for number, (before, answers) in enumerate(itertools.pairwise(days)):
        if answers is not before:
            for person in [one for one in left if answers[one] is not before[one] and not _qualified(answers[one])]:
                found[person] = starts + ONE_DAY * number
                left.remove(person)
    return found


def _qualified(said: May) -> bool:
    return all(reason.id == "unavailable" for reason in said.reasons)


def _away(person: Person, starts: datetime.date, days: int) -> tuple[Away, ...]:
    """Absences within the rota, cut to it. Why is not known here."""
    last = starts + ONE_DAY * (days - 1)
    return tuple(
        Away.model_validate({"from": max(one.from_, starts), "until": min(one.until or last, last)})
        for one in person.absences
        if one.from_ <= last and (one.until is None or one.until >= starts)
    )


def as_of_now(rota: Rota, now: Sequence[Member]) -> Rota:
    """The rota with its people as the register has them now. Whoever is not qualified any more stays, for nothing."""
    known = {one.id: one for one in now}
    people = [
        known[one.id].model_copy(
            update={"off": one.off, "most_in_seven_days": one.most_in_seven_days, "further": one.further}
        )
        if one.id in known
        else one.model_copy(update={"may": (), "until": {}})
        for one in rota.people
    ]
    old = {one.id for one in rota.people}
    new = [one for one in now if one.id not in old]
    return rota.model_copy(update={"people": (*people, *new)})

"""Whom a rota can ask: the people of the register, what each is qualified for and until when, and when they are away.

Sizes on the shelf are not asked: an order mends them. A qualification that begins within the rota is not counted on.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence

from vestry.hospital import facts, running_facts
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ProcedureVersion
from vestry.hospital.registers.able import system_now
from vestry.hospital.registers.mapper import people_values
from vestry.hospital.registers.models import RegisteredPerson
from vestry.people import May, Person, need_of
from vestry.people.values import Duty
from vestry.readiness import Here
from vestry.readiness.going import ahead
from vestry.roster import Rota
from vestry.roster.rota import Able, Away, Member

ABLE: tuple[tuple[Duty, Able], ...] = (("wearer", "inside"), ("observer", "observing"), ("assistant", "assisting"))
ONE_DAY = datetime.timedelta(days=1)


def members(version: ProcedureVersion, starts: datetime.date, days: int) -> tuple[Member, ...]:
    """Those on the register who may do something along this procedure at the start of the rota, by staff code."""
    rows = {str(one.pk): one for one in RegisteredPerson.objects.filter(active=True).order_by("code")}
    people = people_values(rows.values())
    here = Here(procedures=(), people=tuple(people), system=system_now())
    plan, catalogue, standards = approved_of(version.pk).plan, facts.catalogue(), running_facts.standards()
    may: dict[Duty, list[Mapping[str, May]]] = {}
    for duty, _ in ABLE:
        need = need_of(plan, catalogue, duty, version.procedure.slug)
        may[duty] = list(ahead(need, here, starts, days - 1, catalogue, standards, sizes=False))
    found = []
    for person in people:
        untils = {able: _until(person.id, may[duty], starts) for duty, able in ABLE}
        able = tuple(one for _, one in ABLE if untils[one][0])
        if able:
            last = {one: day for one in able if (day := untils[one][1]) is not None}
            code = rows[person.id].code
            found.append(Member(id=code, may=able, until=last, away=_away(person, starts, days)))
    return tuple(found)


def _until(person: str, days: Sequence[Mapping[str, May]], starts: datetime.date) -> tuple[bool, datetime.date | None]:
    """Whether somebody is qualified on the first day, and the last day on which they are, if that is within the rota.

    Being away is no lack of qualification.
    """
    for number, answers in enumerate(days):
        if any(reason.id != "unavailable" for reason in answers[person].reasons):
            return number > 0, starts + ONE_DAY * (number - 1) if number else None
    return True, None


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
    new = [one for one in now if one.id not in {old.id for old in rota.people}]
    return rota.model_copy(update={"people": (*people, *new)})

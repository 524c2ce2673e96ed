"""Where the rotas stand: what was taken, what it is on the register of today, and what of it no longer holds."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field

from vestry.hospital.coverage.asking import as_of_now, members
from vestry.hospital.coverage.models import RosterAct, RotaVersion
from vestry.readiness import RosterDay
from vestry.roster import Act, Kept, Roster, Rota, breaches, kept, laid_out
from vestry.roster.replaying import Breach
from vestry.roster.rota import Assigned

NO_FAULT = "more-than-needed"


@dataclass(frozen=True, eq=False)
class Standing:
    """A rota with what was done with it.

    now       the rota with its people as the register has them today
    broken    what of the roster taken no longer holds today: somebody went away, or a qualification lapsed
    """

    version: RotaVersion
    rota: Rota
    now: Rota
    acts: tuple[RosterAct, ...]
    kept: Kept
    broken: tuple[Breach, ...] = ()
    roster: Roster | None = None
    taken: RosterAct | None = field(default=None)

    @property
    def last_day(self) -> datetime.date:
        return self.rota.starts + datetime.timedelta(days=self.rota.days - 1)


def rota_of(version: RotaVersion) -> Rota:
    return Rota.model_validate(version.rota)


def standing_of(
    version: RotaVersion, acts: Iterable[RosterAct] | None = None, only_its_people: bool = False
) -> Standing:
    """One rota.

    only_its_people    the register is asked of none but those of the rota and its roster: enough to say what holds,
                       not for whom else could be asked
    """
    rota = rota_of(version)
    now = rota
    done = tuple(version.acts.select_related("by") if acts is None else acts)
    stands = kept(Act.model_validate(one.act) for one in done)
    if version.procedure is not None:
        own = {one.id for one in rota.people} | {one.person for one in stands.roster or ()}
        only = own if only_its_people else None
        now = as_of_now(rota, members(version.procedure, rota.starts, rota.days, only))
    if stands.roster is None:
        return Standing(version, rota, now, done, stands)
    return Standing(
        version,
        rota,
        now,
        done,
        stands,
        breaches(now, stands.roster),
        laid_out(now, stands.roster),
        next(one for one in reversed(done) if one.act["kind"] == "taken"),
    )


def taken_in(first: datetime.date, last: datetime.date, most: int = 6) -> list[Standing]:
    """Rosters that were taken and have a day in this span, the newest rota first."""
    found = []
    rows = RotaVersion.objects.select_related("procedure", "procedure__procedure").prefetch_related("acts")
    for version in rows[:24]:
        rota = rota_of(version)
        if rota.starts <= last and rota.starts + datetime.timedelta(days=rota.days) > first:
            acts = tuple(version.acts.all())
            if kept(Act.model_validate(one.act) for one in acts).roster is not None:
                found.append(standing_of(version, acts, only_its_people=True))
        if len(found) == most:
            break
    return found


def days_taken(first: datetime.date, last: datetime.date) -> dict[datetime.date, RosterDay]:
    """How each day of this span is covered by the rosters taken. Where two rotas hold a day, the newer one counts."""
    told: dict[datetime.date, RosterDay] = {}
    for stands in taken_in(first, last):
        assert stands.roster is not None, "only those taken are found"
        lost = {(one.person, one.day) for one in stands.broken if one.rule != NO_FAULT}
        places: dict[datetime.date, list[int]] = {}
        for row in stands.roster.grid:
            count = places.setdefault(row.day, [0, 0, 0])
            day = (row.day - stands.rota.starts).days
            count[0] += len(row.people)
            count[1] += row.needed
            count[2] += sum((who, day) in lost for who in row.people)
        for number in range(stands.rota.days):
            on = stands.rota.starts + datetime.timedelta(days=number)
            if first <= on <= last and on not in told:
                told[on] = RosterDay(*places.get(on, (0, 0, 0)))
    return told


def own_shifts(found: Iterable[Standing], code: str, first: datetime.date) -> list[tuple[Standing, Assigned]]:
    """What somebody is asked for from a day on. Where two rotas hold a day, the newer one counts."""
    told: list[tuple[Standing, Assigned]] = []
    days: set[datetime.date] = set()
    for stands in found:
        span = {stands.rota.starts + datetime.timedelta(days=n) for n in range(stands.rota.days)}
        told += [
            (stands, one)
            for one in stands.kept.roster or ()
            if one.person == code and one.day >= first and one.day not in days
        ]
        days |= span
    return sorted(told, key=lambda pair: (pair[1].day, pair[1].shift))

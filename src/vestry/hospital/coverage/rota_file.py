"""A rota as a list: who, on which day, in which shift, as what. Rows to a rota with its roster, or every problem.

The unit's minimum is needed in every shift of the file, and what the file has above it; so a place that nobody fills is
a gap. A row that says no role gets one: those who may do least come first, to what the unit's minimum still lacks.
"""

from __future__ import annotations

import datetime
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from django.utils import timezone
from pydantic import ValidationError

from vestry.hospital.coverage.asking import members
from vestry.hospital.coverage.models import RotaVersion
from vestry.hospital.coverage.standing import NO_FAULT, Standing, rota_of, taken_in
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ProcedureVersion, TeamNeedVersion
from vestry.hospital.desk.standing import in_force
from vestry.hospital.registers.cells import Cells, plain
from vestry.hospital.registers.columns import SORTS
from vestry.hospital.registers.files import BadFile, Row
from vestry.hospital.registers.models import RegisteredPerson
from vestry.hospital.registers.sorts import column_problems
from vestry.readiness import TeamNeed
from vestry.roster import Rota, breaches, checked
from vestry.roster.replaying import Breach
from vestry.roster.rota import DUTIES, MOST_DAYS, MOST_SHIFTS, Able, Assigned, Duty, Member, Need, RotaShift, Rules
from vestry.trade import BadFacts
from vestry.trade.tables import DateOrder, RowProblem
from vestry.trade.told import told

HOUR = re.compile(r"^(\d{1,2})(?:[:.h](\d{2})?(?::00)?)?$")
SOME_DAYS = datetime.timedelta(days=366)
ROLES: Mapping[str, Duty] = {
    "inside": "inside", "wearer": "inside", "relief": "relief", "observing": "observing", "observer": "observing",
    "trained observer": "observing", "assisting": "assisting", "assistant": "assisting",
    "doffing assistant": "assisting",
}  # fmt: skip
OF_DUTIES: Mapping[str, Able] = {"wearer": "inside", "observer": "observing", "assistant": "assisting"}


@dataclass(frozen=True)
class RotaRead:
    """What taking the list would do.

    new, gone   what it adds to the roster in force on its days, and what it takes from it
    known       how many rows say what holds already
    given       those whose role was not said, with the one that they got
    broken      rules that it breaks as the register is today: told, not refused; the roster's page tells them too
    """

    rota: Rota
    procedure: ProcedureVersion | None
    assigned: tuple[Assigned, ...]
    new: tuple[Assigned, ...] = ()
    gone: tuple[Assigned, ...] = ()
    known: int = 0
    given: frozenset[Assigned] = frozenset()
    broken: tuple[Breach, ...] = ()


@dataclass
class _Line:
    """One row as it was read. `shift` is its id; `role` None: not said."""

    cells: Cells
    person: str
    day: datetime.date
    shift: str
    role: Duty | None


@dataclass
class _Shifts:
    """Shifts as the file and the newest rota have them; two rows that say two things of one are a problem."""

    known: Mapping[str, RotaShift]
    found: dict[str, RotaShift] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)

    def read(self, one: Cells) -> str:
        """The id of the row's shift, or empty with what is wrong."""
        name = re.sub(r"[\s_]+", "-", plain(one.text("shift")))
        start, end = _hour(one, "from"), _hour(one, "to")
        if (start is None) != (end is None) and not one.problems:
            one.wrong("from" if start is None else "to", told("is missing: from and to go together"))
        if one.problems:
            return ""
        if start is None or end is None:
            return self._by_name(one, name)
        try:
            made = RotaShift(id=name or f"from-{start}-to-{end}", from_hour=start, hours=(end - start) % 24 or 24)
        except ValidationError:
            one.wrong("shift", told("%(name)r: letters, digits and hyphens", name=one.text("shift")))
            return ""
        before = self.found.setdefault(made.id, made)
        line = self.lines.setdefault(made.id, one.row.line)
        if before != made:
            one.wrong("from", told("another time than on line %(line)s, of the same shift", line=line))
        return made.id

    def _by_name(self, one: Cells, name: str) -> str:
        if not name:
            one.wrong("shift", told("is missing: a shift by name, or from and to"))
            return ""
        if name not in self.found and name not in self.known:
            told_known = ", ".join([*self.known, *self.found]) or told("none yet")
            one.wrong(
                "shift",
                told("%(name)r is no shift known here (%(known)s): say from and to", name=name, known=told_known),
            )
            return ""
        self.found.setdefault(name, self.known.get(name) or self.found[name])
        self.lines.setdefault(name, one.row.line)
        return name


def _hour(one: Cells, column: str) -> int | None:
    text = one.text(column)
    if not text:
        return None
    found = HOUR.match(text)
    if found is None or int(found[1]) > 24:
        one.wrong(column, told("%(text)r is no time of day: write it as 07:00", text=text))
        return None
    if int(found[2] or 0):
        one.wrong(column, told("%(text)r: shifts begin and end on the hour", text=text))
        return None
    return int(found[1]) % 24


def read_rota_file(rows: Sequence[Row], order: DateOrder) -> RotaRead:
    """What these rows would change, on the register and the rosters as they are now. BadFile with every problem."""
    problems = column_problems(SORTS["rota"], list(rows))
    if problems:
        raise BadFile(problems)
    newest = RotaVersion.objects.select_related("procedure").first()
    last = rota_of(newest) if newest else None
    cells = [Cells(row, order) for row in rows]
    shifts = _Shifts({one.id: one for one in last.shifts} if last else {})
    lines = _lines(cells, shifts)
    problems = [problem for one in cells for problem in one.problems] or _whole(lines, shifts)
    if problems:
        raise BadFile(problems)
    return _made(lines, shifts, newest, last)


def _lines(cells: Sequence[Cells], shifts: _Shifts) -> list[_Line]:
    names = _Names()
    seen: dict[tuple[str, datetime.date], int] = {}
    found = []
    today = timezone.localdate()
    for one in cells:
        person, day = names.code(one), one.date("date")
        if day is not None and abs(day - today) > SOME_DAYS:
            one.wrong("date", told("%(day)s is more than a year away", day=day))
        role = one.one_of("role", ROLES)
        shift = shifts.read(one)
        if person and day is not None:
            line = seen.setdefault((person, day), one.row.line)
            if line != one.row.line:
                one.wrong("person", told("stands on line %(line)s already on this day", line=line))
        if not one.problems and day is not None:
            found.append(_Line(one, person, day, shift, role))  # type: ignore[arg-type]
    return found


class _Names:
    """People of the register by code and by name."""

    def __init__(self) -> None:
        rows = RegisteredPerson.objects.filter(active=True).values_list("code", "name")
        self.codes = {plain(code): code for code, _ in rows}
        self.names: dict[str, list[str]] = {}
        for code, name in rows:
            self.names.setdefault(plain(name), []).append(code)

    def code(self, one: Cells) -> str:
        text = one.text("person")
        if not text:
            return ""
        known = self.codes.get(plain(text))
        if known:
            return known
        named = self.names.get(plain(text), [])
        if len(named) > 1:
            one.wrong("person", told("%(name)s is the name of %(codes)s: write the code", name=text, codes=named))
        elif not named:
            one.wrong("person", told("nobody on the register has the code or name %(text)r", text=text))
        return named[0] if len(named) == 1 else ""


def _whole(lines: Sequence[_Line], shifts: _Shifts) -> list[RowProblem]:
    days = [one.day for one in lines]
    found = []
    count = (max(days) - min(days)).days + 1
    if count > MOST_DAYS:
        what = told("the days span %(count)s; at most %(most)s in one file", count=count, most=MOST_DAYS)
        found.append(RowProblem(0, "date", what))
    if len(shifts.found) > MOST_SHIFTS:
        what = told("%(count)s shifts; at most %(most)s", count=len(shifts.found), most=MOST_SHIFTS)
        found.append(RowProblem(0, "shift", what))
    return found


def _made(lines: Sequence[_Line], shifts: _Shifts, newest: RotaVersion | None, last: Rota | None) -> RotaRead:
    starts = min(one.day for one in lines)
    days = (max(one.day for one in lines) - starts).days + 1
    procedure = newest.procedure if newest and newest.procedure else next(iter(in_force()), None)
    asked = {one.id: one for one in _asked(procedure, starts, days)}
    people = {one.person: asked.get(one.person, Member(id=one.person)) for one in lines}
    team = TeamNeedVersion.current()
    assigned, given = _with_roles(lines, people, team)
    rota = Rota(
        title=last.title if last else "",
        starts=starts,
        days=days,
        shifts=tuple(sorted(shifts.found.values(), key=lambda one: (one.from_hour, one.id))),
        people=tuple({**asked, **people}.values()),
        needs=tuple(_needs(assigned, shifts.found, team)),
        rules=last.rules if last else _rules(procedure),
    )
    try:
        checked(rota)
    except BadFacts as bad:
        raise BadFile([RowProblem(0, one.field, one.what) for one in bad.problems]) from None
    here = _in_force(starts, starts + datetime.timedelta(days=days - 1))
    same = {one for one in assigned if here.get(one) == shifts.found[one.shift]}
    return RotaRead(
        rota=rota,
        procedure=procedure,
        assigned=assigned,
        new=tuple(one for one in assigned if one not in same),
        gone=tuple(sorted(set(here) - same, key=lambda one: (one.day, one.shift, one.person))),
        known=len(same),
        given=given,
        broken=tuple(one for one in breaches(rota, assigned) if one.rule != NO_FAULT),
    )


def _asked(procedure: ProcedureVersion | None, starts: datetime.date, days: int) -> tuple[Member, ...]:
    if procedure is not None:
        return members(procedure, starts, days)
    rows = RegisteredPerson.objects.filter(active=True).order_by("code")
    return tuple(Member(id=one.code, may=tuple(OF_DUTIES[duty] for duty in one.duties.split())) for one in rows)


def _rules(procedure: ProcedureVersion | None) -> Rules:
    return Rules(minutes_inside=approved_of(procedure.pk).plan.policy.limit_minutes) if procedure else Rules()


def _with_roles(
    lines: Sequence[_Line], people: Mapping[str, Member], team: TeamNeed
) -> tuple[tuple[Assigned, ...], frozenset[Assigned]]:
    """Every row with a role, and those that were given one."""
    found = [Assigned(person=one.person, day=one.day, shift=one.shift, duty=one.role) for one in lines if one.role]
    there = Counter((one.day, one.shift, one.duty) for one in found)
    open_ = sorted((one for one in lines if not one.role), key=lambda one: (len(people[one.person].may), one.person))
    given = []
    for one in open_:
        may: Sequence[Able] = people[one.person].may or ("inside",)
        lacks = [duty for duty in may if there[one.day, one.shift, duty] < _least(duty, team)]
        duty = next(iter([*lacks, *may]))
        there[one.day, one.shift, duty] += 1
        given.append(Assigned(person=one.person, day=one.day, shift=one.shift, duty=duty))
    whole = sorted([*found, *given], key=lambda one: (one.day, one.shift, DUTIES.index(one.duty), one.person))
    return tuple(whole), frozenset(given)


def _least(duty: Duty, team: TeamNeed) -> int:
    return {"inside": 1, "observing": team.observer, "assisting": team.assistant}.get(duty, 0)


def _needs(assigned: Iterable[Assigned], shifts: Iterable[str], team: TeamNeed) -> Iterable[Need]:
    """The unit's minimum in every shift, and above it what the file has. Needs of one duty add up."""
    shifts = tuple(shifts)
    for duty in OF_DUTIES.values():
        yield Need(duty=duty, people=_least(duty, team), shifts=shifts)
    there = Counter((one.day, one.shift, one.duty) for one in assigned)
    above: dict[tuple[Able, str, int], list[datetime.date]] = {}
    for day, shift in sorted({(one.day, one.shift) for one in assigned}):
        for able in OF_DUTIES.values():  # of relief no need is written: it follows from those inside
            more = there[day, shift, able] - _least(able, team)
            if more > 0:
                above.setdefault((able, shift, more), []).append(day)
    for (able, shift, more), days in above.items():
        yield Need(duty=able, people=more, shifts=(shift,), days=tuple(days))


def in_force_on(first: datetime.date, last: datetime.date) -> list[tuple[Standing, Assigned]]:
    """The rosters taken, on these days. Where two rotas hold a day, the newer one counts."""
    found: list[tuple[Standing, Assigned]] = []
    held: set[datetime.date] = set()
    for stands in taken_in(first, last):
        found += [(stands, one) for one in stands.kept.roster or () if first <= one.day <= last and one.day not in held]
        held |= {stands.rota.starts + datetime.timedelta(days=n) for n in range(stands.rota.days)}
    return found


def _in_force(first: datetime.date, last: datetime.date) -> dict[Assigned, RotaShift]:
    """Everybody's place on these days, with the times of its shift as it is in force."""
    found = in_force_on(first, last)
    return {one: next(each for each in stands.rota.shifts if each.id == one.shift) for stands, one in found}

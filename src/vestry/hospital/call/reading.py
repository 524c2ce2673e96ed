"""A call from its rows: where it stands, the unit's procedure for it, the team, and when donning must begin.

`open_calls()` is for whatever shows the calls at a glance, the board on the wall first of all.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from django.utils import timezone

from vestry.call import (
    CallState,
    Happened,
    LatestStart,
    Present,
    Stretch,
    TeamNow,
    latest_start,
    stands,
    stretches,
    team_now,
)
from vestry.hospital import facts
from vestry.hospital.call.models import Call, CallLine, UnitListVersion
from vestry.hospital.call.rules import DUTIES, may_of
from vestry.hospital.call.telling import missing_told, start_told, team_told
from vestry.hospital.desk.casetable import OnTheNight, for_case
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ProcedureVersion, TeamNeedVersion
from vestry.hospital.language import words_now
from vestry.hospital.record.models import Entry
from vestry.hospital.registers.models import RegisteredPerson
from vestry.people import May
from vestry.people.values import Duty
from vestry.sequence import Case
from vestry.trade.first_hour import ListItem

STAYS = ("undecided", "transfer", "stay")


@dataclass(frozen=True)
class TeamHere:
    """The minimum team of a call with the people who were asked. `judged`: whether the registers were asked."""

    now: TeamNow
    may: dict[str, dict[Duty, May]]
    judged: bool

    @property
    def missing(self) -> list[str]:
        """What is missing now, in words."""
        return missing_told(self.now.missing)

    @property
    def then_missing(self) -> list[str]:
        """What is still missing once all who are coming are here."""
        return missing_told(self.now.then_missing)


class ReadCall:
    """One call with everything that is worked out from it; each part when it is first asked for."""

    def __init__(self, row: Call, now: datetime.datetime, lines: Iterable[CallLine] | None = None) -> None:
        self.row, self.now = row, now
        self._lines = row.lines.select_related("by") if lines is None else lines

    @cached_property
    def state(self) -> CallState:
        return stands(self.row.expected_at, [happened(one) for one in self._lines])

    @property
    def case(self) -> Case:
        said = {"code": self.row.code, "hazard": self.row.hazard, "presentation": self.row.presentation}
        return Case.model_validate({**said, "tasks": self.row.tasks})

    @cached_property
    def night(self) -> OnTheNight:
        return for_case(self.case)

    @property
    def version(self) -> ProcedureVersion | None:
        """The unit's procedure for this case, where one is to be taken."""
        return self.night.version if self.night.to_take else None

    @cached_property
    def people(self) -> dict[str, RegisteredPerson]:
        """Those who were asked or have answered."""
        keys = list(self.state.replies)
        return {str(one.pk): one for one in RegisteredPerson.objects.filter(pk__in=keys).select_related("user")}

    @cached_property
    def needed(self) -> dict[Duty, int]:
        need = TeamNeedVersion.current()
        return {"wearer": need.wearer, "observer": need.observer, "assistant": need.assistant}

    @cached_property
    def team(self) -> TeamHere:
        counting = [one for one in self.state.replies.values() if one.counts and one.person in self.people]
        rows = [self.people[one.person] for one in counting]
        may: dict[str, dict[Duty, May]] = {}
        if self.version is not None:
            for duty in DUTIES:
                for person, answer in may_of(self.version, duty, rows).items():
                    may.setdefault(person, {})[duty] = answer
        there = [
            Present(
                one.person,
                one.arrived or one.due,
                frozenset(duty for duty in DUTIES if self._may(self.people[one.person], duty, may)),
            )
            for one in counting
        ]
        return TeamHere(team_now(self.needed, there, self.now), may, self.version is not None)

    def _may(self, person: RegisteredPerson, duty: Duty, may: dict[str, dict[Duty, May]]) -> bool:
        """By the registers; where no procedure says what to ask them for, by the parts somebody is registered for."""
        if self.version is None:
            return duty in person.duties.split()
        return may.get(str(person.pk), {}).get(duty) is not None and may[str(person.pk)][duty].may

    @cached_property
    def entries(self) -> list[Entry]:
        rows = Entry.objects.filter(call=self.row).select_related("wearer", "observer", "version__procedure")
        return list(rows.defer("version__approved"))

    @cached_property
    def stretches(self) -> tuple[Stretch, ...]:
        if self.version is None:
            return ()
        return stretches(approved_of(self.version.pk).plan, facts.catalogue_of(self.version.facts))

    @cached_property
    def start(self) -> LatestStart:
        begun = any(one.stage not in ("closed", "abandoned") for one in self.entries)
        return latest_start(self.stretches, self.state.expected, self.now, begun)

    @cached_property
    def calls(self) -> tuple[ListItem, ...]:
        return UnitListVersion.shown("calls")[1].items

    @property
    def calls_made(self) -> int:
        return sum(1 for one in self.calls if one.id in self.state.made)


def happened(row: CallLine) -> Happened:
    """A line as a value."""
    subject = str(row.person_id) if row.person_id else row.item
    return Happened(str(row.pk), row.kind, row.when, row.at, row.by.name, subject, row.due, row.note)  # type: ignore[arg-type]


def read_call(row: Call, now: datetime.datetime | None = None) -> ReadCall:
    """A call as it stands now."""
    return ReadCall(row, now or timezone.now())


# ---- at a glance ----


@dataclass(frozen=True)
class OpenCall:
    """A call at a glance: nothing of anyone's health, no names.

    team      whether the minimum team is here; `team_says` in words
    start     state of the latest start (vestry.call.start.State); `start_says` in words
    """

    key: str
    code: str
    drill: bool
    hazard: str
    presentation: str
    expected_at: datetime.datetime | None
    taken_at: datetime.datetime
    procedure: str
    team: bool
    team_says: str
    start: str
    start_says: str
    start_by: datetime.datetime | None
    calls_made: int
    calls: int
    decision: str
    entries: int

    def as_json(self) -> dict[str, object]:
        """Plain JSON, kebab-case keys, moments in ISO 8601."""
        return {
            name.replace("_", "-"): value.isoformat(timespec="seconds")
            if isinstance(value, datetime.datetime)
            else value
            for name, value in vars(self).items()
        }


def open_calls(now: datetime.datetime | None = None) -> tuple[OpenCall, ...]:
    """The calls that are under way, the newest first."""
    return tuple(glance(one) for one in under_way(now or timezone.now()))


def under_way(moment: datetime.datetime) -> list[ReadCall]:
    """The same, of which nothing is worked out yet: three queries, however many there are."""
    lines: dict[object, list[CallLine]] = {}
    ended = CallLine.objects.filter(kind__in=("stood-down", "closed")).exclude(
        pk__in=[one.item for one in CallLine.objects.filter(kind="taken-back") if one.item]
    )
    rows = list(Call.objects.exclude(pk__in=ended.values("call"))[:20])
    for line in CallLine.objects.filter(call__in=rows).select_related("by"):
        lines.setdefault(line.call_id, []).append(line)
    return [ReadCall(one, moment, lines.get(one.pk, [])) for one in rows]


def glance(call: ReadCall) -> OpenCall:
    words = words_now()
    team, start = call.team, call.start
    decision = call.state.decision.kind if call.state.decision else call.row.stays
    return OpenCall(
        key=str(call.row.pk),
        code=call.row.code,
        drill=call.row.drill,
        hazard=words.hazard(call.row.hazard),
        presentation=words.term("presentation", call.row.presentation),
        expected_at=call.state.expected,
        taken_at=call.row.at,
        procedure=str(call.version) if call.version else "",
        team=team.now.present,
        team_says=team_told(team.now),
        start=start.state,
        start_says=start_told(start),
        start_by=start.usual,
        calls_made=call.calls_made,
        calls=len(call.calls),
        decision=decision,
        entries=len(call.entries),
    )

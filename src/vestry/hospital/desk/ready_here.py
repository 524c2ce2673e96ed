"""What the hospital has tonight, from the rows of its registers to the values that the question is held against."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterable

from django.utils import timezone

from vestry.hospital.coverage.standing import days_taken
from vestry.hospital.desk.casetable import rows_in_force, troubles_of
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ProcedureVersion
from vestry.hospital.desk.practice import practised_by
from vestry.hospital.desk.standing import standing_of
from vestry.hospital.registers.able import system_now
from vestry.hospital.registers.ledger import held_now, stock_now
from vestry.hospital.registers.mapper import (
    lead_times_in_force,
    people_values,
    reserves_in_force,
    unit_event_value,
    unit_value,
)
from vestry.hospital.registers.models import RegisteredPerson, StockLot, StockUnit
from vestry.hospital.rooms.mapper import operations, rooms, surfaces_in_date
from vestry.hospital.rooms.models import RoomCheck, RoomVersion
from vestry.hospital.rooms.occupied import Occupied, occupied
from vestry.hospital.rooms.register import ach_low, last_readings
from vestry.procedure.casetable import HARD, fit
from vestry.readiness import Here, ProcedureHere, Question, RoomHere, SuppliesHere
from vestry.readiness.laid_out import LaidOut
from vestry.readiness.telling import TellsNames
from vestry.readiness.tonight import HORIZON
from vestry.sequence import Case
from vestry.stock import PoweredUnit, UnitEvent, Where
from vestry.trade.operations import Operations
from vestry.trade.operations_values import AirLimit, CheckInterval
from vestry.trade.shelf import supplies
from vestry.trade.values import Presentation

CHANGED = {"facts": "facts-changed", "model": "model-changed"}


class Registers:
    """The registers read once, for as many questions as are asked. `names`: whether people may be told by name."""

    def __init__(self, on: datetime.date, names: bool) -> None:
        rows = list(RegisteredPerson.objects.filter(active=True).select_related("user"))
        stock = stock_now(on)
        self.people = tuple(people_values(rows))
        self.lots = tuple({one.lot.id: one.lot for one in stock.there}.values())
        self.counts = {Where(one.lot.id, one.place): one.quantity for one in stock.there}
        self.held = held_now()
        self.laid_out = LaidOut(self.lots, self.counts, self.held)
        self.units = tuple(_units())
        self.reserves = tuple(reserves_in_force())
        self.lead_times = lead_times_in_force()
        self.rooms = _rooms()
        self.supplies = supplies_here(timezone.now())
        self.roster = days_taken(on, on + datetime.timedelta(days=HORIZON))
        self.table = rows_in_force()
        self.system = system_now()
        self._by_name = {(one.user.name if one.user else one.name): str(one.pk) for one in rows}
        self._people = {str(one.pk): one.name for one in rows} if names else {}
        self._titles: dict[str, str] = {}
        self._versions: dict[str, ProcedureVersion] = {}
        self._practice: dict[uuid.UUID, dict[str, datetime.date]] = {}

    def here(self, question: Question) -> Here:
        """The hospital for this question."""
        return Here(
            procedures=tuple(self._procedure(question, one) for one in question.presentations),
            people=self.people,
            lots=self.lots,
            counts=self.counts,
            held=self.held,
            units=self.units,
            reserves=self.reserves,
            lead_times=self.lead_times,
            rooms=self.rooms,
            roster=self.roster,
            system=self.system,
            supplies=self.supplies,
            laid_out=self.laid_out,
        )

    @property
    def names(self) -> TellsNames:
        """Names of procedures asked about so far, of rooms, and of people where they may be told."""
        return TellsNames(self._titles, {}, self._people)

    def _procedure(self, question: Question, presentation: Presentation) -> ProcedureHere:
        case = Case(hazard=question.hazard, presentation=presentation, tasks=question.tasks)
        cells = {cell: str(row.version_id) if row.version_id else None for cell, row in self.table.items()}
        says = fit(case, cells)
        if says.sort == "several":
            return ProcedureHere(presentation, hard=("several-procedures",))
        if says.sort == "none":
            return ProcedureHere(presentation)
        version = self._version(says.versions[0])
        troubles = troubles_of(version, case)
        stands = standing_of(version)
        soft = [one for one in troubles if one not in HARD] + [CHANGED[one] for one in stands.changed if one in CHANGED]
        self._titles[version.procedure.slug] = f"{version.procedure.title}, version {version.number}"
        return ProcedureHere(
            presentation,
            slug=version.procedure.slug,
            version=version.number,
            plan=approved_of(version.pk).plan,
            hard=tuple(one for one in troubles if one in HARD),
            soft=tuple(soft),
            review_on=version.review_on,
            practised=self._practised(version),
        )

    def _version(self, key: str) -> ProcedureVersion:
        if key not in self._versions:
            rows = ProcedureVersion.objects.select_related("procedure", "retirement").defer("approved")
            self._versions[key] = rows.get(pk=key)
        return self._versions[key]

    def _practised(self, version: ProcedureVersion) -> dict[str, datetime.date]:
        """Person to the last day on which they practised it; read once for all cases that it is for."""
        if version.pk not in self._practice:
            self._practice[version.pk] = self._read_practice(version)
        return self._practice[version.pk]

    def _read_practice(self, version: ProcedureVersion) -> dict[str, datetime.date]:
        found: dict[str, datetime.date] = {}
        for one in practised_by(version).times:
            person = self._by_name.get(one.person)
            if person and one.role == "wearer":
                found[person] = max(one.on, found.get(person, one.on))
        return found


def _units() -> Iterable[tuple[PoweredUnit, tuple[UnitEvent, ...]]]:
    for row in StockUnit.objects.prefetch_related("events"):
        yield unit_value(row), tuple(unit_event_value(one) for one in row.events.all())


def supplies_here(now: datetime.datetime) -> SuppliesHere:
    """What the stock register has ever held of supplies, and the disinfectant that is in date."""
    kept = StockLot.objects.filter(item__in=list(supplies())).order_by().values_list("item", flat=True).distinct()
    made = tuple(timezone.localtime(until).date() for until in surfaces_in_date(now))
    return SuppliesHere(frozenset(kept), made, operations())


def _rooms() -> tuple[RoomHere, ...] | None:
    """The rooms of the register; None where it was never begun."""
    last, rows = last_readings(), rooms()
    if not rows:
        return None
    taken, records = occupied(rows, timezone.now()), operations()
    return tuple(_room(one, last.get((one.code, "pressure")), taken, records) for one in rows)


def _room(room: RoomVersion, last: RoomCheck | None, taken: Occupied, records: Operations) -> RoomHere:
    limited = any(one.measure == "pressure" and room.kind in one.rooms for one in records.all(AirLimit))
    hours = records.one(CheckInterval, "pressure-in-use").hours
    why = ["out-of-use"] if room.out_of_use else []
    if ach_low(room, records):
        why.append("too-few-air-changes")
    if limited and last is None:
        why.append("pressure-never-read")
    if limited and last is not None and last.within is False:
        why.append("pressure-out-of-limits")
    until = None
    if limited and last is not None:
        until = timezone.localtime(last.at + datetime.timedelta(hours=hours)).date()
    ready, free = taken.ready_at.get(room.code), taken.in_use.get(room.code)
    return RoomHere(
        room.code,
        tuple(why),
        until=until,
        isolation=room.kind != "other",
        cleared=timezone.localtime(ready).date() if ready else None,
        free=timezone.localtime(free) if free else None,
    )

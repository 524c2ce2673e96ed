"""Rows of the registers to frozen values. Django ends here."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterable

from django.db.models import Count, Max

from vestry.hospital.registers.models import (
    PersonNote,
    RegisteredPerson,
    StockLeadTime,
    StockLot,
    StockMovement,
    StockQuarantine,
    StockReserve,
    StockUnit,
    StockUnitEvent,
)
from vestry.people import Note, OnShelf, Person, person_of, read_note
from vestry.stock import LeadTimes, Lot, Movement, OnHand, PoweredUnit, Quarantine, Reserve, UnitEvent


def moment(at: datetime.datetime) -> str:
    """ISO 8601 in UTC, as the values keep moments."""
    return at.astimezone(datetime.UTC).isoformat(timespec="milliseconds")


def note_of(row: PersonNote) -> Note:
    return read_note(str(row.pk), row.kind, row.said, moment(row.at))


def person_value(row: RegisteredPerson, notes: Iterable[PersonNote]) -> Person:
    return person_of(str(row.pk), [note_of(one) for one in notes])


def people_values(rows: Iterable[RegisteredPerson]) -> list[Person]:
    """All of them, with two queries for their notes at most.

    Notes are written once, so a person of whom no note came since is the same person: they are kept by how many notes
    there are and when the newest was written, and only the others are read.
    """
    listed = list(rows)
    stands = _stand_of(listed)
    known = {pk: _kept[pk][1] for pk, stand in stands.items() if pk in _kept and _kept[pk][0] == stand}
    wanting = [one for one in listed if one.pk not in known]
    notes: dict[uuid.UUID, list[PersonNote]] = {}
    if wanting:
        wanted = PersonNote.objects.all() if len(wanting) > MANY else PersonNote.objects.filter(person__in=wanting)
        for note in wanted.only("id", "person_id", "kind", "said", "at"):
            notes.setdefault(note.person_id, []).append(note)
    for one in wanting:
        mine = notes.get(one.pk, [])
        known[one.pk] = person_value(one, mine)
        _keep(one.pk, (len(mine), max((note.at for note in mine), default=None)), known[one.pk])
    return [known[one.pk] for one in listed]


Stand = tuple[int, datetime.datetime | None]
MANY = 200
MOST_KEPT = 20_000
_kept: dict[uuid.UUID, tuple[Stand, Person]] = {}


def _stand_of(listed: list[RegisteredPerson]) -> dict[uuid.UUID, Stand]:
    """How many notes there are of each, and when the newest was written; the key of what is kept."""
    notes = PersonNote.objects.order_by()
    if len(listed) <= MANY:
        notes = notes.filter(person__in=listed)
    found: dict[uuid.UUID, Stand] = {one.pk: (0, None) for one in listed}
    for person, count, newest in notes.values_list("person_id").annotate(Count("id"), Max("at")):
        if person in found:
            found[person] = (count, newest)
    return found


def _keep(key: uuid.UUID, stand: Stand, person: Person) -> None:
    """What was read may be newer than what was counted before: it is kept by what was read."""
    if len(_kept) >= MOST_KEPT:
        _kept.clear()
    _kept[key] = (stand, person)


def forget() -> None:
    """Keep nobody in memory any more: content was removed from the register."""
    _kept.clear()


def lot_value(row: StockLot) -> Lot:
    return Lot(
        id=str(row.pk),
        item=row.item,
        size=row.size,
        number=row.number,
        expiry=row.expiry,
        gtin=row.gtin or None,
        model=row.model or None,
        length_mm=row.length_mm,
        per_scan=row.per_scan,
    )


def movement_value(row: StockMovement) -> Movement:
    return Movement.model_validate(
        {
            "id": str(row.pk),
            "lot": str(row.lot_id),
            "kind": row.kind,
            "quantity": row.quantity,
            "from": row.from_place or None,
            "to": row.to_place or None,
            "at": moment(row.at),
            "by": row.by.name if row.by else "the record",
            "why": row.why,
            "entry": str(row.entry_id) if row.entry_id else None,
            "assumed": row.assumed,
        }
    )


def quarantine_value(row: StockQuarantine) -> Quarantine:
    said = {"id": str(row.pk), "lot": str(row.lot_id), "act": row.act, "at": moment(row.at), "by": str(row.by_id)}
    return Quarantine.model_validate(said | {"why": row.why})


def reserves_in_force() -> list[Reserve]:
    """The newest for each item and size; those set to 0 are none."""
    newest = {(row.item, row.size): row.least for row in StockReserve.objects.all()}
    return [Reserve(item=item, size=size or None, least=least) for (item, size), least in newest.items() if least]


def lead_times_kept() -> dict[str, StockLeadTime]:
    """The newest of each item ("": of all else), those taken back left out."""
    newest = {row.item: row for row in StockLeadTime.objects.select_related("by")}
    return {item: row for item, row in newest.items() if row.hours is not None}


def lead_times_in_force() -> LeadTimes:
    """What the unit keeps of the time from an order to its delivery."""
    hours = {item: int(row.hours) for item, row in lead_times_kept().items() if row.hours is not None}
    return LeadTimes({item: said for item, said in hours.items() if item}, hours.get(""))


def unit_value(row: StockUnit) -> PoweredUnit:
    return PoweredUnit(
        id=str(row.pk),
        item=row.item,
        serial=row.serial,
        battery=row.battery,
        service_months=row.service_months,
        battery_months=row.battery_months,
        flow_months=row.flow_months,
        most_cleanings=row.most_cleanings,
        battery_minutes=row.battery_minutes,
    )


def unit_event_value(row: StockUnitEvent) -> UnitEvent:
    return UnitEvent.model_validate(
        {
            "id": str(row.pk),
            "unit": str(row.unit_id),
            "kind": row.kind,
            "at": moment(row.at),
            "by": str(row.by_id),
            "passed": row.passed,
            "minutes": row.minutes,
            "entry": str(row.entry_id) if row.entry_id else None,
            "note": row.note,
        }
    )


def shelf_of(there: Iterable[OnHand]) -> list[OnShelf]:
    """What may be used, as the people's side asks for it."""
    return [
        OnShelf(one.lot.item, one.lot.size, one.usable, one.lot.model, one.lot.length_mm) for one in there if one.usable
    ]

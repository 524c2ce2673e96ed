"""Rows of the registers. All but the caches are written once: what is now is folded from them."""

from vestry.hospital.registers.models.drafts import ImportDraft
from vestry.hospital.registers.models.people import AbsenceReason, HealthRead, PersonNote, RegisteredPerson
from vestry.hospital.registers.models.stock import (
    Balance,
    EntryGear,
    EntryGearBack,
    EntryPosting,
    StockLeadTime,
    StockLot,
    StockMovement,
    StockQuarantine,
    StockReserve,
    StockUnit,
    StockUnitEvent,
)

__all__ = [
    "AbsenceReason",
    "Balance",
    "EntryGear",
    "EntryGearBack",
    "EntryPosting",
    "HealthRead",
    "ImportDraft",
    "PersonNote",
    "RegisteredPerson",
    "StockLeadTime",
    "StockLot",
    "StockMovement",
    "StockQuarantine",
    "StockReserve",
    "StockUnit",
    "StockUnitEvent",
]

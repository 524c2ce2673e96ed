"""Writing to the ledger and reading what it comes to. The one way in.

A movement and its balances are written in one transaction. The balances are a cache: `rebuild` makes them anew.
"""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Exists, F, OuterRef
from django.utils import timezone

from vestry.hospital.registers.mapper import lot_value, movement_value, quarantine_value
from vestry.hospital.registers.models import Balance, StockLot, StockMovement, StockQuarantine
from vestry.hospital.writing import writing
from vestry.stock import OnHand, Where, fold, held_lots, on_hand


def write(movements: Iterable[StockMovement]) -> None:
    """Store these lines of the ledger. ValidationError, and nothing stored, where one makes no sense."""
    rows = list(movements)
    for row in rows:
        movement_value(row)
    with writing():
        for row in rows:
            row.save()
            for place, sign in ((row.from_place, -1), (row.to_place, 1)):
                if place:
                    _add(row.lot_id, place, sign * row.quantity)


def _add(lot: uuid.UUID, place: str, quantity: int) -> None:
    if not Balance.objects.filter(lot_id=lot, place=place).update(quantity=F("quantity") + quantity):
        Balance.objects.create(lot_id=lot, place=place, quantity=quantity)


def rebuild() -> int:
    """Drop the balances and fold them anew from the ledger; how many there are."""
    with writing():
        counts = fold(movement_value(one) for one in StockMovement.objects.select_related("by").iterator())
        Balance.objects.all().delete()
        Balance.objects.bulk_create(
            Balance(lot_id=where.lot, place=where.place, quantity=count) for where, count in counts.items()
        )
    return len(counts)


def held_now() -> frozenset[str]:
    """The lots on hold."""
    return held_lots(quarantine_value(one) for one in StockQuarantine.objects.all())


@dataclass(frozen=True)
class Stock:
    """What stands where today."""

    there: tuple[OnHand, ...]
    on: datetime.date

    def of_lot(self, key: object) -> list[OnHand]:
        return [one for one in self.there if one.lot.id == str(key)]


def stock_now(on: datetime.date | None = None, items: Iterable[str] | None = None) -> Stock:
    """All that the ledger knows of, or of some items: three queries, however much there is."""
    day = on or timezone.localdate()
    some = Balance.objects.filter(lot=OuterRef("pk")).exclude(quantity=0)
    lots = StockLot.objects.filter(Exists(some))  # over the years most lots are used up
    if items is not None:
        lots = lots.filter(item__in=list(items))
    values = [lot_value(one) for one in lots]
    known = {one.id for one in values}
    counts = {
        Where(str(lot), place): quantity
        for lot, place, quantity in Balance.objects.exclude(quantity=0).values_list("lot_id", "place", "quantity")
        if str(lot) in known
    }
    return Stock(on_hand(counts, values, held_now(), day), day)

"""Rows of rooms to frozen values, and the facts that rooms run on."""

from __future__ import annotations

import datetime

from vestry.hospital import running_facts
from vestry.hospital.rooms.models import BagHappened, MadeUp, RoomVersion
from vestry.room.bags import Bag, BagEvent, fold_bags
from vestry.room.strength import DilutionRefused, strength
from vestry.trade.operations import Operations
from vestry.trade.operations_values import ChlorineStrength


def operations() -> Operations:
    """The records in force on the desk: the hospital's own over those shipped."""
    return running_facts.operations()


def rooms() -> list[RoomVersion]:
    """The newest version of every room, by name."""
    newest: dict[str, RoomVersion] = {}
    for one in RoomVersion.objects.select_related("by"):
        newest.setdefault(one.code, one)
    return sorted(newest.values(), key=lambda one: one.name)


def surfaces_in_date(now: datetime.datetime) -> list[datetime.datetime]:
    """When each batch that is strong enough for surfaces, and not over yet, is to be thrown away."""
    used_on = next(one.percent for one in operations().all(ChlorineStrength) if one.use == "surfaces")
    rows = MadeUp.objects.filter(at__lte=now, discard_at__gt=now).values_list("wanted", "discard_at")
    return [until for wanted, until in rows if _percent(wanted) >= used_on]


def _percent(wanted: str) -> float:
    """Percent available chlorine; what can no longer be read counts as none."""
    try:
        return float(strength(wanted, "wanted", operations()).percent)
    except DilutionRefused:
        return 0.0


def event_of(row: BagHappened) -> BagEvent:
    """One event as the fold takes it."""
    return BagEvent(
        id=str(row.pk),
        at=row.at.isoformat(),
        act=row.act,  # type: ignore[arg-type]
        by=row.by.name,
        roles=tuple(row.roles),
        number=row.number,
        case=row.case,
        room=row.room,
        stream=row.stream,
        result=row.result or None,  # type: ignore[arg-type]
        reason=row.reason,
        holds=row.holds or "",
        amount=row.amount or "",
    )


def bags() -> list[Bag]:
    """Every bag as it stands, those on hold first, then by number."""
    found = fold_bags(map(event_of, BagHappened.objects.select_related("by")), operations())
    order = {"on-hold": 0, "unknown": 1, "released": 2, "collected": 3}
    return sorted(found.values(), key=lambda one: (order[one.stands], one.number))

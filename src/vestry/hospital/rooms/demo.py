"""Rooms of the invented hospital: three in the register, readings (one outside), heat, what was made up, bags."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from vestry.hospital.rooms.disinfectant import recipe_of
from vestry.hospital.rooms.mapper import operations
from vestry.hospital.rooms.models import BagHappened, HeatGear, HeatReading, MadeUp, RoomCheck, RoomVersion
from vestry.room.checks import checked
from vestry.room.dilution import mix_liquid
from vestry.room.strength import strength
from vestry.trade.operations_values import ChlorineProduct

INVENTED = "Invented for demonstration."
ROOMS = (
    ("room-1", "Room 1", "isolation-new", "12", "52", "3"),
    ("room-2", "Room 2", "isolation-existing", "7.5", "48", "3"),
    ("anteroom", "Anteroom", "other", None, "14", "3"),
)
# Room, hours ago, pascal, seen.
READINGS = (("room-1", 30, "-6.5", True), ("room-1", 6, "-7", True), ("room-2", 8, "-1.5", False))
BAGS = (
    ("HP-0001", "Gowns and gloves", "6 kg"),
    ("HP-0002", "Gowns, gloves and wipes", "7.5 kg"),
    ("HP-0003", "Linen", "60 litres"),
)


def fill(people: dict[str, Any], now: datetime) -> None:
    """Write them, within the caller's transaction."""
    lead, shift, observer = people["ingrid"], people["sander"], people["tomas"]
    for code, name, kind, ach, volume, mixing in ROOMS:
        RoomVersion.objects.create(
            code=code,
            name=name,
            kind=kind,
            ach=Decimal(ach) if ach else None,
            volume=Decimal(volume),
            mixing=Decimal(mixing),
            reason=INVENTED,
            by=lead,
            at=now - timedelta(days=30),
        )
    kinds: dict[str, Any] = {code: kind for code, _, kind, *_ in ROOMS}
    for code, hours, pascal, seen in READINGS:
        found = checked("pressure", Fraction(pascal), kinds[code], operations())
        RoomCheck.objects.create(
            code=code,
            measure="pressure",
            value=Decimal(pascal),
            written=pascal,
            within=found.within,
            limit=found.limit.id if found.limit else "",
            operations=operations().digest,
            seen=seen,
            note=INVENTED,
            by=observer,
            at=now - timedelta(hours=hours),
        )
    _heat(observer, now)
    _made_up(shift, now)
    _bags(people, now)


def _heat(observer: Any, now: datetime) -> None:
    """Two rooms read, one of them hot."""
    for code, air, humidity in (("room-1", "22.5", "45"), ("room-2", "36", "70")):
        HeatReading.objects.create(
            code=code,
            air=Decimal(air),
            humidity=Decimal(humidity),
            speed=Decimal("0.1"),
            written=f"{air}, {humidity} %, 0.1 m/s",
            note=INVENTED,
            by=observer,
            at=now - timedelta(minutes=40),
        )


def gear_of(lead: Any, procedure: str, now: datetime, *, woven: tuple[str, str] | None = None) -> None:
    """How warm a procedure is; without values its clothing lets no vapour through."""
    HeatGear.objects.create(
        procedure=procedure,
        metabolic=Decimal(165),
        impermeable=woven is None,
        clothing=Decimal(woven[0]) if woven else None,
        permeability=Decimal(woven[1]) if woven else None,
        reason=INVENTED,
        by=lead,
        at=now - timedelta(days=20),
    )


def _made_up(person: Any, now: datetime) -> None:
    bleach = operations().one(ChlorineProduct, "bleach")
    stock, wanted = (strength(text, "stock", operations()) for text in ("5", "0.5"))
    for hours in (26, 3):
        at = now - timedelta(hours=hours)
        MadeUp.objects.create(
            code="room-1",
            form="liquid",
            stock="5",
            wanted="0.5",
            recipe=recipe_of(mix_liquid(stock, wanted, Fraction(10)), {"of": bleach, "strength": stock, "stock": "5"}),
            operations=operations().digest,
            discard_at=at + timedelta(hours=24),
            note=INVENTED,
            by=person,
            at=at,
        )


def _bags(people: dict[str, Any], now: datetime) -> None:
    staff, lead = people["noor"], people["ingrid"]
    for number, (bag, holds, amount) in enumerate(BAGS):
        BagHappened.objects.create(
            act="closed",
            number=bag,
            case="practice-ward" if number else "earlier-case",
            room="room-1",
            stream="infectious-lined",
            holds=holds,
            amount=amount,
            roles=sorted(staff.roles),
            by=staff,
            at=now - timedelta(hours=20 - number),
        )
    BagHappened.objects.create(
        act="result",
        case="earlier-case",
        result="negative",
        reason=INVENTED,
        roles=sorted(lead.roles),
        by=lead,
        at=now - timedelta(hours=4),
    )
    BagHappened.objects.create(
        act="released",
        number=BAGS[0][0],
        reason=INVENTED,
        roles=sorted(lead.roles),
        by=lead,
        at=now - timedelta(hours=3),
    )

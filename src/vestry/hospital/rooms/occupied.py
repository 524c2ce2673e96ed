"""Which rooms somebody is led in now, and which were left too lately to be ready. From the rows of entries; no drills.

An estimate, reckoned slow: no row says that somebody has looked and found a room ready. An entry that says no room is
known of none.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from django.db.models import Q

from vestry.hospital import facts
from vestry.hospital.record.models import Entry
from vestry.hospital.rooms.mapper import operations
from vestry.hospital.rooms.models import RoomVersion
from vestry.room.air import clearance, relevance
from vestry.room.dilution import contact_time
from vestry.room.turning import turned_around
from vestry.trade.operations import Operations
from vestry.trade.staying import load_stay_figures
from vestry.trade.values import Hazard

REMOVAL = Fraction("99.9")
STILL_INSIDE_FOR = datetime.timedelta(hours=24)
"""As on the board: whose entry ended early counts as inside for a day, until somebody says that they are out."""
PLAN = "version__approved__plan"
CASE = f"{PLAN}__case"
_OVER = Q(stage__in=("closed", "abandoned"))


@dataclass(frozen=True)
class Occupied:
    """Codes of rooms, to when each is ready again.

    in_use     an entry is led there: when that is expected
    ready_at   others that were left
    """

    in_use: dict[str, datetime.datetime]
    ready_at: dict[str, datetime.datetime]


def occupied(rooms: Iterable[RoomVersion], now: datetime.datetime) -> Occupied:
    """As many queries however many entries and rooms there are. Closing an entry never brings a room in here."""
    records, hazards = operations(), facts.catalogue().hazards
    known = {one.code: one for one in rooms}
    rows = Entry.objects.filter(drill=False, room__in=list(known)).order_by()
    ended_early = _OVER & Q(entered_at__isnull=False, left_at=None, created_at__gt=now - STILL_INSIDE_FOR)
    in_use: dict[str, datetime.datetime] = {}
    for code, *told, hazard, tasks in rows.filter(~_OVER | ended_early).values_list(
        "room", "entered_at", "left_at", f"{PLAN}__policy__limit-minutes", f"{CASE}__hazard", f"{CASE}__tasks"
    ):
        out = _expected_out(now, *told)
        ready = _ready(known[code], out, _by_air(hazards.get(hazard), tasks or ()), records)
        in_use[code] = max(ready, in_use.get(code, ready))
    longest = max((_ready(one, now, True, records) - now for one in known.values()), default=datetime.timedelta())
    left = rows.filter(_OVER, left_at__gt=now - longest).values_list(
        "room", "left_at", f"{CASE}__hazard", f"{CASE}__tasks"
    )
    ready_at: dict[str, datetime.datetime] = {}
    for code, at, hazard, tasks in left:
        ready = _ready(known[code], at, _by_air(hazards.get(hazard), tasks or ()), records)
        if code not in in_use and ready > now:
            ready_at[code] = max(ready, ready_at.get(code, ready))
    return Occupied(in_use, ready_at)


def _expected_out(
    now: datetime.datetime, entered: datetime.datetime | None, left: datetime.datetime | None, limit: int | None
) -> datetime.datetime:
    """When whoever is led there is expected out: by the procedure's limit and the planning figure of undressing.

    Not in yet, or over the limit: reckoned from now on.
    """
    if left is not None:
        return left
    figures = load_stay_figures()
    minutes = figures.find("minutes-inside").value if limit is None else limit
    inside = datetime.timedelta(minutes=minutes)
    return max(now, (entered or now) + inside) + datetime.timedelta(minutes=figures.find("doff-minutes").value)


def _by_air(hazard: Hazard | None, tasks: Iterable[str]) -> bool:
    """Whether the air matters. None: a hazard that the facts no longer know, which may go through it."""
    return hazard is None or relevance(hazard, "aerosol-generating" in tasks).answer != "not-by-air"


def _ready(room: RoomVersion, left: datetime.datetime, by_air: bool, records: Operations) -> datetime.datetime:
    """The end of its turnaround; without air changes on the register no wait for the air is known."""
    wait = clearance(Fraction(room.ach), REMOVAL, Fraction(room.mixing)).wait if by_air and room.ach else None
    contact = contact_time("surfaces", records)
    return turned_around(left, records, contact=contact, air_minutes=wait, pace="slow").ready

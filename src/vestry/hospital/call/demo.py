"""The invented hospital's own list of calls, and one drill call that is over. Nobody and nothing here is real."""

from __future__ import annotations

import datetime
from typing import Any

from vestry.hospital.call.models import Call, CallLine, UnitListVersion
from vestry.hospital.ids import uuid7
from vestry.hospital.registers.models import RegisteredPerson
from vestry.trade.first_hour import shipped_list

INVENTED = "Invented for demonstration."
DRILLED = datetime.timedelta(days=20)
# Minutes after the call was taken, what, who or which call, minutes until they are here, a word.
LINES = (
    (2, "asked", "H-103", None, ""),
    (3, "coming", "H-103", 25, ""),
    (4, "coming", "H-101", 20, ""),
    (5, "no-answer", "H-104", None, ""),
    (6, "coming", "H-102", 35, ""),
    (8, "coming", "H-107", 40, ""),
    (9, "cannot", "H-108", None, "away"),
    (11, "made", "public-health", None, "spoken with the duty officer"),
    (14, "made", "laboratory", None, "specimens by the unit's own door"),
    (22, "arrived", "H-101", None, ""),
    (27, "arrived", "H-103", None, ""),
    (31, "made", "waste", None, ""),
    (38, "arrived", "H-102", None, ""),
    (44, "arrived", "H-107", None, ""),
    (50, "stay", "", None, "no transfer tonight, in the drill"),
    (150, "closed", "", None, "end of the drill"),
)


def fill(people: dict[str, Any], now: datetime.datetime) -> None:
    """Write them. The caller has the writer's lock."""
    lead, shift = people["ingrid"], people["sander"]
    items = [one.model_dump(mode="json", by_alias=True) for one in shipped_list("calls").items]
    for one in items:
        one["say"] = f"{one['say']} (Harrow Point, invented number)"
    UnitListVersion.objects.create(name="calls", number=1, items=items, reason=INVENTED, by=lead, at=now - DRILLED)
    at = (now - DRILLED).replace(hour=13, minute=5, second=0, microsecond=0)
    call = Call.objects.create(
        code="drill-autumn",
        hazard="suspected-hcid",
        presentation="wet",
        tasks=["care"],
        stays="undecided",
        hours=4,
        expected_at=at + datetime.timedelta(minutes=90),
        note=INVENTED,
        drill=True,
        by=shift,
        at=at,
    )
    registered = {one.code: one for one in RegisteredPerson.objects.all()}
    for minutes, kind, subject, due, note in LINES:
        when = at + datetime.timedelta(minutes=minutes)
        CallLine.objects.create(
            id=uuid7(),
            call=call,
            kind=kind,
            person=registered.get(subject),
            item="" if subject in registered else subject,
            when=when,
            due=when + datetime.timedelta(minutes=due) if due else None,
            note=note,
            by=shift,
            at=when,
        )

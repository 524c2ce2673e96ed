"""Four weeks of the invented hospital: a rota, the roster taken, and a place that is empty. Nobody here is real."""

from __future__ import annotations

import datetime
from typing import Any

from django.utils import timezone

from vestry.hospital.coverage.asking import members
from vestry.hospital.coverage.asking_pages import store
from vestry.hospital.coverage.models import RosterAct, RotaVersion
from vestry.roster import Act, Rota, checked, propose
from vestry.roster.rota import Need, RotaShift

INVENTED = "Invented for demonstration."
GAP_AFTER = 9
"""Days from today to the empty place."""


def fill(lead: Any, shift_lead: Any, procedure: Any) -> None:
    """Once. The roster is proposed from the invented register and taken; then somebody falls out."""
    if RotaVersion.objects.exists():
        return
    today = timezone.localdate()
    starts = today - datetime.timedelta(days=today.weekday())
    rota = checked(
        Rota(
            title="Harrow Point, four weeks",
            starts=starts,
            days=28,
            shifts=(
                RotaShift(id="day", from_hour=7, hours=12),
                RotaShift(id="night", from_hour=19, hours=12),
            ),
            people=members(procedure, starts, 28),
            needs=(
                Need(duty="inside", people=1),
                Need(duty="observing", people=1),
                Need(duty="assisting", people=1, shifts=("day",)),
            ),
        )
    )
    found = propose(rota, close=False)
    version = store(rota, procedure, INVENTED, lead)
    _act(version, Act(kind="taken", assigned=found.assigned), "", shift_lead)
    day = today + datetime.timedelta(days=GAP_AFTER)
    place = ("night", "observing")
    for one in found.assigned:
        if one.day == day and (one.shift, one.duty) == place:
            _act(version, Act(kind="changed", gone=one), f"Called away. {INVENTED}", shift_lead)


def _act(version: RotaVersion, act: Act, reason: str, by: Any) -> None:
    RosterAct.objects.create(
        rota=version, act=act.model_dump(mode="json", by_alias=True), reason=reason, by=by, at=timezone.now()
    )

"""An entry led to its end straight into the record, with one deviation at the first step that knows one."""

from __future__ import annotations

import itertools
from typing import Any

from django.utils import timezone

from vestry.entry import Event
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.record.store import append


def recorded(entry: Any) -> str:
    """Record it whole; the id of the event that went wrong."""
    approved = approved_of(entry.version_id)
    at, wrong = next((scene.step, scene.slips[0]) for scene in approved.scenes if scene.slips)
    said: list[tuple[str, dict[str, Any]]] = [("opened", {"wearer": "noor", "observer": "tomas"})]
    for step in approved.plan.steps:
        said.append(("read", {"step": step.id}))
        if step.id == at:
            said += [
                ("stopped", {"step": step.id}),
                ("deviation", {"step": step.id, "events": [wrong]}),
                ("resumed", {"step": step.id, "decided-by": "tomas"}),
            ]
        said.append(("done-seen", {"step": step.id}))
    said.append(("closed", {}))
    append(entry, [_event(entry, number, kind, payload) for number, (kind, payload) in enumerate(said)], timezone.now())
    return wrong


def _event(entry: Any, number: int, kind: str, payload: dict[str, Any]) -> Event:
    return Event(
        id=f"01936f2e-0000-7000-8000-{number + 1:012x}",
        entry=str(entry.pk),
        kind=kind,
        payload=payload,
        actor="tomas",
        device="0d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d90",
        clock=f"2026-11-25T02:{number // 60:02d}:{number % 60:02d}.000+00:00",
        counter=number,
        plan=entry.version.plan_hash,
    )


OTHER = "1d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d91"
_numbers = itertools.count(1000)


def said(entry: Any, kind: str, device: str = OTHER, actor: str = "tomas", **payload: Any) -> Event:
    """The next thing that a device says of an entry, some time after what `recorded` says."""
    number = next(_numbers)
    return Event(
        id=f"01936f2f-0000-7000-8000-{number:012x}",
        entry=str(entry.pk),
        kind=kind,
        payload=payload,
        actor=actor,
        device=device,
        clock=f"2027-11-25T04:{number // 60 % 60:02d}:{number % 60:02d}.000+00:00",
        counter=number,
        plan=entry.version.plan_hash,
    )

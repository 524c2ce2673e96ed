"""Small courses and events for the tests of the fold."""

from __future__ import annotations

import itertools
from typing import Any

from vestry.entry import Course, Event, Led
from vestry.sequence import PlanStep

TABLET, OTHER = "0d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d90", "1d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d91"

STEPS = (
    PlanStep(id="gown-on", phase="donning", act="don", items=("gown-isolation",)),
    PlanStep(id="gloves-on", phase="donning", act="don", items=("gloves-long",)),
    PlanStep(id="gloves-off", phase="doffing", act="doff", items=("gloves-long",), group="a"),
    PlanStep(id="hands", phase="doffing", act="hand-hygiene", group="a"),
    PlanStep(id="gown-off", phase="doffing", act="doff", items=("gown-isolation",)),
)
ANSWER = Course(
    "answer-1",
    (PlanStep(id="hands-again", phase="doffing", act="hand-hygiene"), STEPS[4]),
    worn=("gown-isolation",),
    at="gloves-off",
)
LED = Led(Course("plan", STEPS), {"answer-1": ANSWER})

_numbers = itertools.count(1)


def event(kind: str, step: str | None = None, **more: Any) -> Event:
    """The next event of a device; `second` is what its clock says."""
    number = next(_numbers)
    payload = {} if step is None else {"step": step}
    second = more.pop("second", number % 3600)
    device, counter = more.pop("device", TABLET), more.pop("counter", number)
    return Event(
        id=f"01936f2e-{number % 0x10000:04x}-7000-8000-{number:012x}",
        entry="e",
        kind=kind,
        payload=payload | more,
        actor="tomas",
        device=device,
        clock=f"2026-11-25T02:{second // 60:02d}:{second % 60:02d}.000+00:00",
        counter=counter,
        plan="p",
    )


def opened() -> Event:
    return event("opened", wearer="noor", observer="tomas", counter=0, second=0)


def done(*steps: str) -> list[Event]:
    return [one for step in steps for one in (event("read", step), event("done-seen", step))]

"""An entry led to its end, press by press: what its tablet says, made from an approved procedure and folded as it goes.

The presses become events as the product's own pages make them of presses. Some entries stop at a step, say what
happened and follow the approved answer.
"""

from __future__ import annotations

import random
import uuid
from collections.abc import Callable, Generator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from vestry.entry import LANE_TASKS, EntryState, Event, Led, fold
from vestry.entry.chains import FIRST, commitment_of, link_of, said_of
from vestry.hospital.anteroom.presses import events_of, next_own

SECONDS = 4
"""Between two presses, by the device's clock. It only fills the events; the benchmark waits for nothing."""
GO_WRONG = 0.3
"""Of all entries, those that stop at a step on the way out."""
MIDNIGHT = datetime(2027, 3, 1, tzinfo=UTC)
Said = tuple[str, dict[str, Any]]


@dataclass
class Tablet:
    """A device that counts and chains what it says of one entry, after what was said when it was opened."""

    entry: str
    device: str
    actor: str
    plan: str
    at: datetime
    chance: random.Random
    said: list[Event] = field(default_factory=list)
    link: str = FIRST

    def say(self, kind: str, payload: dict[str, Any]) -> Event:
        """The next event."""
        self.at += timedelta(seconds=self.chance.uniform(0.2, 2) * SECONDS)
        event = Event(
            id=self._identity(),
            entry=self.entry,
            kind=kind,
            payload=payload,
            actor=self.actor,
            device=self.device,
            clock=self.at.astimezone(UTC).isoformat(timespec="milliseconds"),
            counter=len(self.said) + 1,
            plan=self.plan,
            salt=f"{self.chance.getrandbits(128):032x}",
            previous=self.link,
        )
        self.link = link_of(self.link, commitment_of(event.salt, said_of(event)))
        self.said.append(event)
        return event

    def _identity(self) -> str:
        milliseconds = int(self.at.timestamp() * 1000)
        value = (milliseconds & (2**48 - 1)) << 80 | 0x7 << 76 | self.chance.getrandbits(12) << 64 | 0b10 << 62
        return str(uuid.UUID(int=value | self.chance.getrandbits(62)))


def document(event: Event) -> dict[str, Any]:
    """As a tablet sends it."""
    return said_of(event) | {"salt": event.salt, "previous": event.previous}


def scripted(way: Led, opened: Event, chance: random.Random, slips: Callable[[str], list[str]]) -> list[list[Said]]:
    """Every press of an entry to its end, as the kinds and payloads that it says.

    slips   what may be seen to go otherwise at a step
    """
    tablet = Tablet(opened.entry, str(uuid.UUID(int=1)), opened.actor, opened.plan, MIDNIGHT, chance)
    presses: list[list[Said]] = []
    state = fold(way, [opened])
    walk = _pressed(way, chance, slips)
    press, said = next(walk)
    while True:
        made = events_of(press, said, way, state)
        for kind, payload in made:
            tablet.say(kind, payload)
        presses.append(made)
        # Only these move the entry on: folding after every press would take most of the benchmark.
        if press not in ("read", "acknowledged", "prompted"):
            state = fold(way, [opened, *tablet.said])
        try:
            press, said = walk.send(state)
        except StopIteration:
            return presses


def _pressed(
    way: Led, chance: random.Random, slips: Callable[[str], list[str]]
) -> Generator[tuple[str, dict[str, Any]], EntryState, None]:
    """One press after the other; each is answered with the state that it makes."""
    goes_wrong = chance.random() < GO_WRONG
    wrong_at = chance.choice([step.id for step in way.plan.steps if step.phase == "doffing"]) if goes_wrong else None
    course, position = way.plan, 0
    while True:
        step = course.steps[position]
        now = yield "read", {"step": step.id}
        if chance.random() < 0.5:
            now = yield "acknowledged", {"step": step.id}
        if chance.random() < 0.04:
            now = yield "prompted", {"step": step.id}
        fitting = [
            name
            for name, one in way.recoveries.items()
            if step.id == wrong_at and one.at == step.id and set(one.worn) == set(_worn_after(now, step))
        ]
        if fitting:
            now = yield "stopped", {"step": step.id}
            now = yield "went-otherwise", {"step": step.id, "events": chance.choice([*slips(step.id), "not-sure"])}
            now = yield "recovery-taken", {"step": step.id, "recovery": chance.choice(fitting)}
            wrong_at = None
        else:
            now = yield "done-seen", {"step": step.id}
        if now.position == len((way.course(now.course) or way.plan).steps) and next_own(now):
            now = yield "undress-observed", {}
        course, position = way.course(now.course) or way.plan, now.position
        if position == len(course.steps):
            break
    for part in LANE_TASKS:
        yield f"lane-{part}", {}
    yield "closed", {}


def _worn_after(now: EntryState, step: Any) -> list[str]:
    return [item for item in now.worn if step.act != "doff" or item not in step.items]

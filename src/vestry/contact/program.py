"""The compiled program: ordered micro-operations over numbered surfaces and events.

Plain data, readable by Python and by a browser. Nothing in it has a condition: an operation happens always, or with the
event that it names.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

Verb = Literal["contact", "slide", "stir", "breathe", "clean", "fresh"]
Sort = Literal["slip", "omission", "latent", "residue"]

NO_EVENT = -1
NO_SURFACE = -1


@dataclass(frozen=True, slots=True)
class Op:
    """One micro-operation.

    verb     contact a and b, both ways; slide, stir, breathe: from a to b; clean a; fresh a (starts clean)
    event    NO_EVENT: always. Otherwise the touch happens only with the event; a `clean` fails with it.
    step     index of the step it belongs to (-1: on arrival)
    source   where the touch comes from
    """

    verb: Verb
    a: int
    b: int
    event: int
    step: int
    source: str


@dataclass(frozen=True, slots=True)
class Event:
    """Something that can go wrong (slip, omission, latent fault) or a residue; `step` is -1 for a latent fault."""

    id: str
    sort: Sort
    step: int


@dataclass(frozen=True)
class Program:
    """A compiled sequence.

    start       surfaces that are contaminated on arrival, with their load class (`low` or `high`)
    endpoints   surface index to class: mucosa, skin, clothing, helper, place
    steps       step ids, in order
    worn        what is worn before each step, and last what is worn at the end (len(steps) + 1 entries)
    gaps        body sites (and `airways`) that nothing covers on arrival
    conventions the published conventions in force
    """

    surfaces: tuple[str, ...]
    events: tuple[Event, ...]
    ops: tuple[Op, ...]
    start: tuple[tuple[int, str], ...]
    endpoints: tuple[tuple[int, str], ...]
    steps: tuple[str, ...]
    worn: tuple[tuple[str, ...], ...]
    gaps: tuple[str, ...] = ()
    conventions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    index: dict[str, int] = field(default_factory=dict, compare=False, repr=False)

    def __post_init__(self) -> None:
        self.index.update({name: number for number, name in enumerate(self.surfaces)})

    def active_ops(self, latent: bool) -> Iterator[Op]:
        """Operations as taught and with slips; residue left out, latent faults on request."""
        skip = {"residue"} if latent else {"residue", "latent"}
        dead = {number for number, event in enumerate(self.events) if event.sort in skip}
        return (op for op in self.ops if op.event not in dead)

    def sources(self, loads: Literal["all", "high"]) -> tuple[int, ...]:
        """The surfaces that start contaminated."""
        return tuple(number for number, load in self.start if loads == "all" or load == "high")

    def as_json(self) -> dict[str, Any]:
        """Plain JSON for the browser and for files; docs/reference/program.md."""
        return {
            "format-version": 1,
            "surfaces": list(self.surfaces),
            "events": [{"id": e.id, "sort": e.sort, "step": e.step} for e in self.events],
            "ops": [[op.verb, op.a, op.b, op.event, op.step, op.source] for op in self.ops],
            "start": [[number, load] for number, load in self.start],
            "endpoints": [[number, name] for number, name in self.endpoints],
            "steps": list(self.steps),
            "worn": [list(items) for items in self.worn],
            "gaps": list(self.gaps),
            "conventions": list(self.conventions),
        }

    @classmethod
    def from_json(cls, document: Mapping[str, Any]) -> Program:
        """The program that `as_json` wrote. KeyError or ValueError where it did not."""
        return cls(
            surfaces=tuple(document["surfaces"]),
            events=tuple(Event(one["id"], one["sort"], one["step"]) for one in document["events"]),
            ops=tuple(Op(*one) for one in document["ops"]),
            start=tuple((number, load) for number, load in document["start"]),
            endpoints=tuple((number, name) for number, name in document["endpoints"]),
            steps=tuple(document["steps"]),
            worn=tuple(tuple(items) for items in document["worn"]),
            gaps=tuple(document.get("gaps", ())),
            conventions=tuple(document.get("conventions", ())),
        )


class Tables:
    """Growing tables of surfaces and events that hand out numbers."""

    def __init__(self) -> None:
        self.surfaces: dict[str, int] = {}
        self.events: dict[str, Event] = {}
        self.event_numbers: dict[str, int] = {}

    def surface(self, name: str) -> int:
        """The number of a surface."""
        return self.surfaces.setdefault(name, len(self.surfaces))

    def event(self, name: str, sort: Sort, step: int) -> int:
        """The number of an event."""
        if name not in self.event_numbers:
            self.event_numbers[name] = len(self.event_numbers)
            self.events[name] = Event(name, sort, step)
        return self.event_numbers[name]

    def event_list(self) -> tuple[Event, ...]:
        """All events, by number."""
        return tuple(self.events.values())


def touched(ops: Iterable[Op]) -> set[int]:
    """All surfaces that these operations name."""
    return {number for op in ops for number in (op.a, op.b) if number != NO_SURFACE}

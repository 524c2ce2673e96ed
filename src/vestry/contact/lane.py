"""One lane, several exits: what one wearer leaves behind meets the next.

The programs of the exits are joined into one. Surfaces that stay (the owners in `shared`: the place, the air, the
helpers)
keep their names and their contamination; everything else, and every event of it, belongs to one exit and is named
`1/...`, `2/...` after it. Between two exits stands the turnaround, as steps of its own. So a slip of the first can be a
part of a route to the second, and a cut set can span both.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from vestry.contact.program import NO_EVENT, NO_SURFACE, Event, Op, Program, Tables, Verb
from vestry.contact.reach import reach


@dataclass(frozen=True)
class BetweenTouch:
    """A touch or a cleaning of the turnaround; `event` leaves a cleaning out, or lets a hidden fault act."""

    verb: Verb
    a: str
    b: str | None
    event: str | None
    source: str


@dataclass(frozen=True)
class Between:
    """One thing done between two exits."""

    id: str
    touches: tuple[BetweenTouch, ...]


def exit_name(number: int, name: str) -> str:
    """The name of what belongs to one exit (from 1)."""
    return f"{number}/{name}"


def in_one_lane(programs: Sequence[Program], between: Sequence[Between], shared: Collection[str]) -> Program:
    """All exits as one program, the turnaround after each but the last.

    Endpoints are those of every exit. ValueError when there is no program.
    """
    if not programs:
        raise ValueError("a lane needs at least one exit")
    joiner = _Joiner(frozenset(shared))
    for number, program in enumerate(programs, 1):
        joiner.exit(number, program)
        if number < len(programs):
            joiner.turnaround(number, between)
    return joiner.joined(programs)


def left_behind(program: Program, shared: Collection[str], happening: Collection[int] = ()) -> frozenset[str]:
    """The shared surfaces that are contaminated when this exit is over; the air of the room is the room's own."""
    after = reach(program, happening).after[-1]
    names = {program.surfaces[number] for number in after}
    return frozenset(name for name in names if _owner(name) in shared and _owner(name) != "air")


class _Joiner:
    def __init__(self, shared: frozenset[str]) -> None:
        self.shared, self.tables = shared, Tables()
        self.ops: list[Op] = []
        self.steps: list[str] = []
        self.worn: list[tuple[str, ...]] = []
        self.start: dict[int, str] = {}
        self.endpoints: dict[int, str] = {}

    def exit(self, number: int, program: Program) -> None:
        first = len(self.steps)
        if number > 1:
            self.steps.append(exit_name(number, "arrives"))
            self.worn.append(program.worn[0])
            first += 1
        surfaces = [self._surface(number, name) for name in program.surfaces]
        events = [self._event(number, event, first) for event in program.events]
        for op in program.ops:
            self.ops.append(
                Op(
                    op.verb,
                    surfaces[op.a],
                    NO_SURFACE if op.b == NO_SURFACE else surfaces[op.b],
                    NO_EVENT if op.event == NO_EVENT else events[op.event],
                    op.step + first,
                    op.source,
                )
            )
        self.steps.extend(exit_name(number, step) for step in program.steps)
        self.worn.extend(program.worn[:-1])
        for surface, load in program.start:
            self.start.setdefault(surfaces[surface], load)
        self.endpoints.update((surfaces[surface], kind) for surface, kind in program.endpoints)

    def turnaround(self, number: int, between: Iterable[Between]) -> None:
        for one in between:
            step = len(self.steps)
            self.steps.append(f"turnaround:{number}:{one.id}")
            self.worn.append(())
            for touch in one.touches:
                event = NO_EVENT
                if touch.event is not None:
                    latent = touch.event.startswith("latent:")
                    name = touch.event if latent else f"{touch.event}@turnaround:{number}:{one.id}"
                    event = self.tables.event(name, "latent" if latent else "omission", -1 if latent else step)
                b = NO_SURFACE if touch.b is None else self.tables.surface(touch.b)
                self.ops.append(Op(touch.verb, self.tables.surface(touch.a), b, event, step, touch.source))

    def joined(self, programs: Sequence[Program]) -> Program:
        return Program(
            surfaces=tuple(self.tables.surfaces),
            events=self.tables.event_list(),
            ops=tuple(self.ops),
            start=tuple(sorted(self.start.items())),
            endpoints=tuple(sorted(self.endpoints.items())),
            steps=tuple(self.steps),
            worn=(*self.worn, programs[-1].worn[-1]),
            conventions=tuple(dict.fromkeys(one for program in programs for one in program.conventions)),
        )

    def _surface(self, number: int, name: str) -> int:
        return self.tables.surface(name if _owner(name) in self.shared else exit_name(number, name))

    def _event(self, number: int, event: Event, first: int) -> int:
        """A hidden fault of a helper is one fault, whoever comes out; everything else happens to one exit."""
        latent_owner = event.id.split(":")[1] if event.sort == "latent" else ""
        if latent_owner in self.shared:
            return self.tables.event(event.id, event.sort, event.step)
        step = event.step + first if event.step >= 0 else event.step
        return self.tables.event(exit_name(number, event.id), event.sort, step)


def _owner(name: str) -> str:
    return name.partition(".")[0]

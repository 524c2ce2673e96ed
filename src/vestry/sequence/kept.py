"""Compiled steps kept between searches: many searches of one catalogue compile the same step in the same moment.

Each search numbers surfaces and events for itself, so what is kept goes by name.
"""

from __future__ import annotations

from vestry.contact.compiler import Moment
from vestry.contact.program import NO_EVENT, NO_SURFACE, Event, Op, Tables, Verb

MOST = 40_000
Named = tuple[Verb, str | None, str | None, Event | None, int, str]


class KeptSteps:
    """What steps compile to, by what they depend on. Emptied when full, so that a long run stays small."""

    def __init__(self, most: int = MOST) -> None:
        self.most = most
        self.steps: dict[object, tuple[tuple[Named, ...], Moment]] = {}

    def get(self, key: object, tables: Tables) -> tuple[list[Op], Moment] | None:
        """The operations of a step that was kept, numbered by these tables; None when it was not."""
        found = self.steps.get(key)
        if found is None:
            return None
        named, after = found
        ops = [
            Op(
                verb,
                NO_SURFACE if a is None else tables.surface(a),
                NO_SURFACE if b is None else tables.surface(b),
                NO_EVENT if event is None else tables.event(event.id, event.sort, event.step),
                step,
                source,
            )
            for verb, a, b, event, step, source in named
        ]
        return ops, after

    def keep(self, key: object, ops: list[Op], after: Moment, tables: Tables) -> None:
        """Keep what a step compiled to."""
        if len(self.steps) >= self.most:
            self.steps.clear()
        surfaces, events = list(tables.surfaces), tables.event_list()
        named = tuple(
            (
                op.verb,
                None if op.a == NO_SURFACE else surfaces[op.a],
                None if op.b == NO_SURFACE else surfaces[op.b],
                None if op.event == NO_EVENT else events[op.event],
                op.step,
                op.source,
            )
            for op in ops
        )
        self.steps[key] = (named, after)

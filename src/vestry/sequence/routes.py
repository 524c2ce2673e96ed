"""Routes of the contact model as the contract's values."""

from __future__ import annotations

from vestry.contact.check import Reached
from vestry.contact.program import Program
from vestry.contact.reach import Link as ReachLink
from vestry.sequence.assurance import Link, Route


def route(program: Program, reached: Reached) -> Route:
    """A route of the model as the contract's value."""
    return Route(
        surface=reached.surface,
        endpoint=reached.endpoint,  # type: ignore[arg-type]
        when=reached.when,
        events=reached.events,
        chain=tuple(
            _link(program, before, after) for before, after in zip(reached.links, reached.links[1:], strict=False)
        ),
    )


def _link(program: Program, before: ReachLink, after: ReachLink) -> Link:
    op = program.ops[after.op]
    return Link(
        step=program.steps[op.step] if op.step >= 0 else None,
        verb=op.verb,
        from_surface=program.surfaces[before.surface],
        to_surface=program.surfaces[after.surface],
        event=program.events[op.event].id if op.event >= 0 else None,
        source=op.source,
    )

"""Which approved answer the held screen of the plain pages offers. The rule is the core's."""

from __future__ import annotations

from vestry.entry import EntryState
from vestry.entry.events import NOT_SURE, SOMETHING_ELSE
from vestry.entry.offering import offered as _offered
from vestry.procedure import Answer, Approved

__all__ = ["NOT_SURE", "SOMETHING_ELSE", "offered"]


def offered(approved: Approved, state: EntryState) -> Answer | None:
    """The answer to what was said at this stop, or None."""
    return _offered(approved.answers, approved.plan.steps, state)

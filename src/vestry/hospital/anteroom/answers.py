"""Which approved answer the held screen offers: the one that fits what happened, or none, and then the hold card."""

from __future__ import annotations

from vestry.entry import EntryState
from vestry.entry.courses import PLAN
from vestry.procedure import Answer, Approved, Happened, answer

NOT_SURE = "not-sure"
SOMETHING_ELSE = "something-else"


def offered(approved: Approved, state: EntryState) -> Answer | None:
    """The answer to what was said at this stop. None: not yet said, something else, more than one thing, or no fit."""
    if state.held is None or state.held.happened is None or state.course != PLAN or len(state.deviations) != 1:
        return None
    happened = state.held.happened
    if happened.kind != "deviation" or len(happened.events) != 1 or SOMETHING_ELSE in happened.events:
        return None
    events = () if happened.events == (NOT_SURE,) else happened.events
    step = next((one for one in approved.plan.steps if one.id == happened.step), None)
    if step is None:
        return None
    worn = _worn_after(state, step.act, step.items)
    found = answer([one.recovery for one in approved.answers], Happened(happened.step, events, worn))
    return next((one for one in approved.answers if one.recovery == found), None) if found else None


def _worn_after(state: EntryState, act: str, items: tuple[str, ...]) -> frozenset[str]:
    """What is worn once the step is finished: an answer begins there."""
    worn = frozenset(state.worn)
    if act == "doff":
        return worn - set(items)
    return worn | set(items) if act == "don" else worn

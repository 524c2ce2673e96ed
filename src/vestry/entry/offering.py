"""Which approved answer the held screen offers: the one that fits what happened, or none, and then the hold card.

1. Only one thing, at one stop, on the plan's own way: combined or unclear events get the unit's hold card, never a
   guess.
2. Where the compiled way out is at hand, the answer has to cover what may be contaminated (`vestry.procedure.answer`);
   where it is not, only an answer made for exactly this is offered.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from vestry.contact.program import Program
from vestry.entry.actual import actual, still_here
from vestry.entry.courses import PLAN
from vestry.entry.events import NOT_SURE, SOMETHING_ELSE
from vestry.entry.state import EntryState
from vestry.procedure import Answer, Happened, answer
from vestry.sequence import PlanStep


def offered(
    answers: Sequence[Answer],
    steps: Sequence[PlanStep],
    state: EntryState,
    program: Program | None = None,
    items: Collection[str] = (),
) -> Answer | None:
    """The answer to what was said at this stop. None: not yet said, something else, more than one thing, or no fit.

    steps   those of the plan; items   ids of what can be worn
    """
    if state.held is None or state.held.happened is None or state.course != PLAN or len(state.deviations) != 1:
        return None
    happened = state.held.happened
    if happened.kind != "deviation" or len(happened.events) != 1 or SOMETHING_ELSE in happened.events:
        return None
    step = next((one for one in steps if one.id == happened.step), None)
    if step is None:
        return None
    worn = worn_after(state, step)
    contaminated = None
    if program is not None:
        now = actual(program, state)
        if not now.whole or happened.step not in now.after:
            return None
        contaminated = still_here(now.after[happened.step], worn, items)
    events = () if happened.events == (NOT_SURE,) else happened.events
    found = answer([one.recovery for one in answers], Happened(happened.step, events, worn, contaminated))
    return next((one for one in answers if one.recovery is found), None) if found else None


def worn_after(state: EntryState, step: PlanStep) -> frozenset[str]:
    """What is worn once the step is finished: an answer begins there."""
    worn = frozenset(state.worn)
    if step.act == "doff":
        return worn - set(step.items)
    return worn | set(step.items) if step.act == "don" else worn

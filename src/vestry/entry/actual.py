"""What may be contaminated now: the compiled way out, run with what was seen to happen. The same in the browser.

1. An event that was said happens. "Not sure" lets everything happen that the step knows: all its slips and omissions.
2. A tear lets every fault of that item act from arrival on; a surface seen soiled is contaminated from that step on.
3. What the program cannot know (something else, a wrong crossing of the line, an event it does not have, an act done
   out of order) makes the answer not whole: more may be contaminated than is said. The screen says so.
4. Whoever happens to be contaminated less than this is covered: the model is monotone.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from vestry.contact.program import Program
from vestry.contact.reach import reach
from vestry.entry.courses import PLAN
from vestry.entry.events import NOT_SURE
from vestry.entry.state import Deviation, EntryState

OUT_OF_ORDER = "done out of order"


@dataclass(frozen=True)
class Actual:
    """What may be contaminated along the way out of the plan.

    before   step of the program to what may be contaminated before it
    after    the same once the step is done
    whole    False where more may be contaminated than the program knows
    """

    before: Mapping[str, frozenset[str]]
    after: Mapping[str, frozenset[str]]
    whole: bool


def actual(program: Program, state: EntryState) -> Actual:
    """What may be contaminated, with all that was said of the way out so far."""
    happening: set[int] = set()
    seen: dict[int, set[int]] = {}
    whole = not any(flag.what == OUT_OF_ORDER for flag in state.flags)
    for one in state.deviations:
        if one.course == PLAN:
            whole &= _happened(program, one, happening, seen)
    along = [frozenset(program.surfaces[n] for n in after) for after in reach(program, happening, seen=seen).after]
    return Actual(
        before={step: along[number] for number, step in enumerate(program.steps)},
        after={step: along[number + 1] for number, step in enumerate(program.steps)},
        whole=whole,
    )


def actual_events(program: Program, state: EntryState) -> tuple[tuple[str, ...], bool]:
    """The ids of the program's events that were said to happen, and whether the program knows all of it.

    Soil that was seen has no event: it makes the answer not whole.
    """
    happening: set[int] = set()
    whole = not any(flag.what == OUT_OF_ORDER for flag in state.flags)
    for one in state.deviations:
        if one.course == PLAN:
            whole &= _happened(program, one, happening, {}) and one.kind != "soiling"
    return tuple(program.events[n].id for n in sorted(happening)), whole


def _happened(program: Program, one: Deviation, happening: set[int], seen: dict[int, set[int]]) -> bool:
    """Add what a deviation says to what happens; whether the program knows all of it."""
    if one.kind == "soiling":
        if one.step not in program.steps or one.touched not in program.index:
            return False
        seen.setdefault(program.steps.index(one.step), set()).add(program.index[one.touched])
        return True
    if one.kind == "tear":
        faults = {n for n, event in enumerate(program.events) if event.id.startswith(f"latent:{one.touched}:")}
        happening |= faults
        return bool(faults)
    if one.kind != "deviation":
        return False
    known = {event.id: number for number, event in enumerate(program.events) if event.sort != "residue"}
    if one.step not in program.steps or not one.events:
        return False
    whole = True
    for said in one.events:
        if said == NOT_SURE:
            step = program.steps.index(one.step)
            happening |= {
                n for n, event in enumerate(program.events) if event.step == step and event.sort in ("slip", "omission")
            }
        elif said in known:
            happening.add(known[said])
        else:
            whole = False
    return whole


def still_here(surfaces: Collection[str], worn: Collection[str], items: Collection[str]) -> frozenset[str]:
    """Without the faces of what has come off, and without the air: where a recovery starts from."""
    owners = ((name, name.partition(".")[0]) for name in surfaces)
    return frozenset(name for name, owner in owners if owner != "air" and (owner in worn or owner not in items))

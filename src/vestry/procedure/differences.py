"""What a new version changes: steps gone, new and moved, items added and dropped; of the wearer, the team, the lane."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher

from vestry.sequence.plan import Plan


@dataclass(frozen=True)
class Differences:
    """From an older plan to a newer one. Steps are ids; a step's id is its content, so a moved step keeps its id.

    A member's steps have ids that start with the role, and what they wear is told as `ROLE:ITEM`; what is done between
    two exits is told as `turnaround:ID`.
    """

    gone: tuple[str, ...]
    new: tuple[str, ...]
    moved: tuple[str, ...]
    items_dropped: tuple[str, ...]
    items_added: tuple[str, ...]

    def __bool__(self) -> bool:
        return any((self.gone, self.new, self.moved, self.items_dropped, self.items_added))


def differences(old: Plan, new: Plan) -> Differences:
    """What `new` changes of `old`."""
    was, now = _steps(old), _steps(new)
    kept: set[str] = set()
    for block in SequenceMatcher(None, was, now, autojunk=False).get_matching_blocks():
        kept.update(was[block.a : block.a + block.size])
    return Differences(
        gone=tuple(step for step in was if step not in now),
        new=tuple(step for step in now if step not in was),
        moved=tuple(step for step in now if step in was and step not in kept),
        items_dropped=tuple(item for item in _worn(old) if item not in _worn(new)),
        items_added=tuple(item for item in _worn(new) if item not in _worn(old)),
    )


def _steps(plan: Plan) -> list[str]:
    """Every step of the plan: the wearer's, then the members' own, then what is done between two exits."""
    members = [step.id for member in plan.team for step in member.steps]
    return [*(step.id for step in plan.steps), *members, *(f"turnaround:{one}" for one in plan.turnaround)]


def _worn(plan: Plan) -> list[str]:
    """What the wearer wears, then what each member does."""
    return [*plan.worn, *(f"{member.role}:{item}" for member in plan.team for item in member.worn)]

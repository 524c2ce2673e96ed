"""What a new version changes: steps gone, steps new, steps moved, items added and dropped."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher

from vestry.sequence.plan import Plan


@dataclass(frozen=True)
class Differences:
    """From an older plan to a newer one. Steps are ids; a step's id is its content, so a moved step keeps its id."""

    gone: tuple[str, ...]
    new: tuple[str, ...]
    moved: tuple[str, ...]
    items_dropped: tuple[str, ...]
    items_added: tuple[str, ...]

    def __bool__(self) -> bool:
        return any((self.gone, self.new, self.moved, self.items_dropped, self.items_added))


def differences(old: Plan, new: Plan) -> Differences:
    """What `new` changes of `old`."""
    was, now = [step.id for step in old.steps], [step.id for step in new.steps]
    kept: set[str] = set()
    for block in SequenceMatcher(None, was, now, autojunk=False).get_matching_blocks():
        kept.update(was[block.a : block.a + block.size])
    return Differences(
        gone=tuple(step for step in was if step not in now),
        new=tuple(step for step in now if step not in was),
        moved=tuple(step for step in now if step in was and step not in kept),
        items_dropped=tuple(item for item in old.worn if item not in new.worn),
        items_added=tuple(item for item in new.worn if item not in old.worn),
    )

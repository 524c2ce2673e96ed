"""Two lists of steps side by side: kept, moved, gone, new.

A step's id is its content, so a moved step is the same step. The `~2` behind the second equal step is its place and not
its content; it has no part in the alignment.
"""

from __future__ import annotations

from collections.abc import Sequence
from difflib import SequenceMatcher
from typing import Literal, NamedTuple

Change = Literal["kept", "moved", "gone", "new"]


class Pair(NamedTuple):
    """One row: places in the first and the second list (from 0), None where there is none."""

    change: Change
    first: int | None
    second: int | None


def content(step_id: str) -> str:
    """A step's id without the count of equal steps before it."""
    return step_id.partition("~")[0]


def align(first: Sequence[str], second: Sequence[str]) -> tuple[Pair, ...]:
    """Rows in reading order of the second list; what is gone stands where it was. Ids as in a program or a plan."""
    one, other = [content(step) for step in first], [content(step) for step in second]
    kept = {
        block.b + offset: block.a + offset
        for block in SequenceMatcher(None, one, other, autojunk=False).get_matching_blocks()
        for offset in range(block.size)
    }
    moved = _moved(one, other, kept)
    taken = {*kept.values(), *moved.values()}
    rows: list[Pair] = []
    reached = 0
    for place in range(len(other)):
        if place in kept:
            rows += [Pair("gone", gone, None) for gone in range(reached, kept[place]) if gone not in taken]
            reached = kept[place] + 1
            rows.append(Pair("kept", kept[place], place))
        elif place in moved:
            rows.append(Pair("moved", moved[place], place))
        else:
            rows.append(Pair("new", None, place))
    rows += [Pair("gone", gone, None) for gone in range(reached, len(one)) if gone not in taken]
    return tuple(rows)


def _moved(one: Sequence[str], other: Sequence[str], kept: dict[int, int]) -> dict[int, int]:
    """Equal steps left over on both sides, paired in order."""
    waiting: dict[str, list[int]] = {}
    held = set(kept.values())
    for place, step in enumerate(one):
        if place not in held:
            waiting.setdefault(step, []).append(place)
    found = {}
    for place, step in enumerate(other):
        if place not in kept and waiting.get(step):
            found[place] = waiting[step].pop(0)
    return found

"""What to show: the state of one person at one step."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from vestry.figure.anchors import is_rear

SIDES = ("front", "back")
CROPS = ("whole", "head", "hands", "feet", "trunk")
MARKS = ("contaminated", "grasp", "avoid", "clean")


@dataclass(frozen=True)
class FigureView:
    """One picture.

    worn: item ids, first donned first
    contaminated, grasp, avoid, clean: surface ids (`item.face` or `body.site`)
    side: front or back; pose: standing, leaning, seated, arms-raised
    crop: whole, head, hands, feet, trunk
    under: (item, over-item) where an item lies under one donned before it
    titles: (surface id, words); a label is drawn for these
    title, desc: for those who do not see the picture
    marks_words: (mark, words) for contaminated, grasp, avoid, clean; drawn beside the marks
    passing: (from, to) surfaces between which something passes; drawn as an arrow between two lozenges
    """

    worn: tuple[str, ...]
    contaminated: frozenset[str] = frozenset()
    grasp: frozenset[str] = frozenset()
    avoid: frozenset[str] = frozenset()
    side: str = "front"
    pose: str = "standing"
    crop: str = "whole"
    under: tuple[tuple[str, str], ...] = ()
    titles: tuple[tuple[str, str], ...] | None = None
    title: str = ""
    desc: str = ""
    marks_words: tuple[tuple[str, str], ...] = ()
    clean: frozenset[str] = frozenset()
    passing: tuple[tuple[str, str], ...] = ()


_NOT_ON_THE_PERSON = frozenset({"place", "air", "assistant", "observer"})


def on_the_person(surfaces: Iterable[str]) -> tuple[str, ...]:
    """Those that can be drawn on the person: not the place, the air, or someone beside them."""
    return tuple(one for one in surfaces if one.partition(".")[0] not in _NOT_ON_THE_PERSON)


def side_for(surfaces: Iterable[str]) -> str:
    """The side from which most of these surfaces are seen; front when it is even."""
    rear = [is_rear(s) for s in surfaces]
    return "back" if sum(rear) * 2 > len(rear) else "front"

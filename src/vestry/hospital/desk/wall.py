"""The wall: further errors before exposure, as bricks along the steps. A table stands beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from django.utils.translation import gettext

TOP = 4
_WIDE, _HIGH, _GAP = 38, 34, 4


@dataclass(frozen=True)
class Column:
    """One step: how many bricks stand even with a hidden hole, how many more only without, and whether to watch it.

    None for further or with_fault: more errors than were searched for.
    """

    number: int
    short: str
    further: int | None
    with_fault: int | None
    watch: bool

    @property
    def bricks(self) -> int:
        return TOP if self.further is None else min(self.further, TOP)

    @property
    def firm(self) -> int:
        return self.bricks if self.with_fault is None else min(self.with_fault, self.bricks)


def wall(columns: Sequence[Column]) -> str:
    """One <svg>; classes and presentation attributes only."""
    step = _WIDE + _GAP
    across = max(len(columns), 1) * step + 24
    foot = 44 + TOP * (_HIGH + _GAP)
    parts = [_column(one, 14 + number * step, foot) for number, one in enumerate(columns)]
    low = [str(one.number) for one in columns if one.watch]
    says = gettext("Further errors before exposure at each step of the way out. ") + (
        gettext("One error is enough at step %(join)s.") % {"join": ", ".join(low)}
        if low
        else gettext("More than one error is needed at every step.")
    )
    return (
        f'<svg class="wall" viewBox="0 0 {across} {foot + 190}" role="img" aria-labelledby="wall-says">'
        f'<title id="wall-says">{escape(says)}</title>{"".join(parts)}'
        f'<path class="wall-ground" d="M0,{foot} H{across}"/></svg>'
    )


def _column(one: Column, left: int, foot: int) -> str:
    out = []
    for level in range(one.bricks):
        top = foot - (level + 1) * (_HIGH + _GAP)
        sort = "brick"
        if one.watch:
            sort += " low"
        if level >= one.firm:
            sort += " ghost"
        out.append(f'<rect class="{sort}" x="{left}" y="{top}" width="{_WIDE}" height="{_HIGH}" rx="3"/>')
    middle = left + _WIDE / 2
    high = foot - one.bricks * (_HIGH + _GAP)
    if one.further is None:
        out.append(f'<text class="wall-more" x="{middle}" y="{high - 6}" text-anchor="middle">more</text>')
    if one.watch:
        out.append(f'<path class="wall-watch" d="M{middle},34 V{high - 6}"/>')
        out.append(f'<text class="wall-word" x="{middle}" y="26" text-anchor="middle">watch</text>')
    strong = " wall-strong" if one.watch else ""
    out.append(
        f'<text class="wall-number{strong}" x="{middle}" y="{foot + 24}" text-anchor="middle">{one.number}</text>'
    )
    out.append(
        f'<text class="wall-short{strong}" transform="translate({middle - 5},{foot + 36}) rotate(90)">'
        f"{escape(one.short)}</text>"
    )
    return "".join(out)

"""Small figures for the wall: what somebody has on now, whole and plain, without a mark."""

from __future__ import annotations

from functools import lru_cache

from vestry.figure import FigureView, UnknownItem, compose

HEIGHT = 120
"""Pixels, about as tall as a row of the board: small figures are drawn plainer."""
LONGEST_WORN = 1000
_MOST_ITEMS = 40


@lru_cache(maxsize=256)
def small_figure(worn: tuple[str, ...]) -> str | None:
    """The drawing, as SVG. None where an item cannot be drawn: the words are enough then."""
    if not any(worn) or len(worn) > _MOST_ITEMS:
        return None
    try:
        return compose(FigureView(worn=worn), height=HEIGHT)
    except (UnknownItem, KeyError, ValueError):
        return None


def figure_name(worn: tuple[str, ...]) -> str:
    """What the address of the figure says; empty where there is none."""
    return ",".join(worn) if small_figure(worn) else ""

"""The four marks: lozenge and hatch, open ring, heavy cross, small square; and the arrow between two lozenges."""

from __future__ import annotations

import math

from vestry.figure import palette as c
from vestry.figure.path import Pt


def _n(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".") if "." in f"{value:.1f}" else f"{value:.1f}"


def hatch_pattern(name: str, gap: float, weight: float) -> str:
    """Oxide lines from lower left to upper right, `gap` units apart."""
    return (
        f'<pattern id="{name}" patternUnits="userSpaceOnUse" width="{_n(gap)}" height="{_n(gap)}" '
        f'patternTransform="rotate(45)"><path d="M{_n(gap / 2)},0V{_n(gap)}" fill="none" '
        f'stroke="{c.OXIDE}" stroke-width="{_n(weight)}"/></pattern>'
    )


def _diamond(p: Pt, r: float) -> str:
    x, y = p
    return f"M{_n(x)},{_n(y - r)}L{_n(x + r)},{_n(y)}L{_n(x)},{_n(y + r)}L{_n(x - r)},{_n(y)}Z"


def lozenge(p: Pt, size: float) -> str:
    """May be contaminated."""
    r = 10.5 * size
    return (
        f'<path d="{_diamond(p, r + 2.2 * size)}" fill="{c.LIFT}" stroke="none"/>'
        f'<path d="{_diamond(p, r)}" fill="{c.OXIDE}" stroke="none"/>'
    )


def lozenge_beneath(p: Pt, size: float) -> str:
    """May be contaminated, under what is worn over it."""
    return (
        f'<path d="{_diamond(p, 13 * size)}" fill="{c.LIFT}" fill-opacity="0.85" stroke="none"/>'
        f'<path d="{_diamond(p, 10 * size)}" fill="none" stroke="{c.OXIDE}" '
        f'stroke-width="{_n(2.6 * size)}" stroke-linecap="butt" '
        f'stroke-dasharray="{_n(4.7 * size)} {_n(2.4 * size)}"/>'
    )


def ring(p: Pt, size: float, reached_round: bool = False) -> str:
    """Grasp here; broken where one has to reach round to it."""
    x, y = _n(p[0]), _n(p[1])
    broken = f' stroke-linecap="butt" stroke-dasharray="{_n(12 * size)} {_n(6.8 * size)}"' if reached_round else ""
    r = _n(18 * size)
    return (
        f'<circle cx="{x}" cy="{y}" r="{r}" fill="none" stroke="{c.LIFT}" stroke-width="{_n(11 * size)}"/>'
        f'<circle cx="{x}" cy="{y}" r="{r}" fill="none" stroke="{c.PLUM}" stroke-width="{_n(6 * size)}"{broken}/>'
    )


def cross(p: Pt, size: float) -> str:
    """Do not touch."""
    x, y, r = p[0], p[1], 13 * size
    d = f"M{_n(x - r)},{_n(y - r)}L{_n(x + r)},{_n(y + r)}M{_n(x + r)},{_n(y - r)}L{_n(x - r)},{_n(y + r)}"
    return (
        f'<path d="{d}" fill="none" stroke="{c.LIFT}" stroke-width="{_n(13.5 * size)}"/>'
        f'<path d="{d}" fill="none" stroke="{c.INK}" stroke-width="{_n(7 * size)}"/>'
    )


def square(p: Pt, size: float) -> str:
    """Counts as clean."""
    r = 7.5 * size
    return (
        f'<rect x="{_n(p[0] - r)}" y="{_n(p[1] - r)}" width="{_n(2 * r)}" height="{_n(2 * r)}" '
        f'rx="{_n(2.4 * size)}" fill="{c.LIFT}" stroke="{c.INK}" stroke-width="{_n(3 * size)}"/>'
    )


def arrow(start: Pt, end: Pt, size: float) -> str:
    """Passes from here to there; it starts and ends short of the lozenges."""
    length = math.dist(start, end) or 1.0
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    tail = (start[0] + ux * 13 * size, start[1] + uy * 13 * size)
    tip = (end[0] - ux * 14 * size, end[1] - uy * 14 * size)
    left = (tip[0] - (ux * 13 - uy * 9) * size, tip[1] - (uy * 13 + ux * 9) * size)
    right = (tip[0] - (ux * 13 + uy * 9) * size, tip[1] - (uy * 13 - ux * 9) * size)
    d = "".join(
        f"{letter}{_n(p[0])},{_n(p[1])}"
        for letter, p in (("M", tail), ("L", tip), ("M", left), ("L", tip), ("L", right))
    )
    return "".join(
        f'<path d="{d}" fill="none" stroke="{colour}" stroke-width="{_n(weight * size)}"/>'
        for colour, weight in ((c.LIFT, 9.5), (c.OXIDE, 4.5))
    )

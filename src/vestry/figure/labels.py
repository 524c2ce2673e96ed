"""Words beside the figure: a label per surface, led to its mark."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from vestry.figure import palette as c
from vestry.figure.path import MID, Pt

_GLYPH = 0.54  # average width of a letter, in ems


@dataclass(frozen=True)
class Label:
    """Words at a mark: a name, then what the mark says. Either may be empty."""

    at: Pt
    name: str
    note: str


@dataclass(frozen=True)
class Placed:
    """A label with its lines and where they stand."""

    label: Label
    lines: tuple[tuple[str, bool], ...]
    x: float
    top: float
    right: bool


def wrap(words: str, width: int) -> list[str]:
    """Lines of at most `width` letters, broken between words."""
    lines: list[str] = []
    for word in words.split():
        if lines and len(lines[-1]) + 1 + len(word) <= width:
            lines[-1] += " " + word
        else:
            lines.append(word)
    return lines


def place(
    labels: Sequence[Label], size: float, reach: Sequence[tuple[float, float]], bounds: tuple[float, float]
) -> tuple[Placed, ...]:
    """Labels to the left and right of the figure, none over another.

    size: of the letters, in units; reach: (y, half-width of the figure above that y);
    bounds: top and bottom that the words keep within.
    """
    out: list[Placed] = []
    for right, group in _sides(labels):
        floor = bounds[0]
        todo = sorted(group, key=lambda label: (label.at[1], label.at[0], label.name))
        blocks = [_lines(label) for label in todo]
        heights = [len(b) * size * 1.16 + size * 0.55 for b in blocks]
        for i, (label, lines) in enumerate(zip(todo, blocks, strict=True)):
            room = bounds[1] - sum(heights[i:])
            top = max(floor, min(label.at[1] - size * 0.6, room))
            near = max(_half(reach, top), _half(reach, top + heights[i]))
            x = MID + (near + size * 1.2) * (1 if right else -1)
            out.append(Placed(label, lines, x, top, right))
            floor = top + heights[i]
    return tuple(out)


def _sides(labels: Sequence[Label]) -> list[tuple[bool, list[Label]]]:
    left = [label for label in labels if label.at[0] < MID - 8]
    right = [label for label in labels if label.at[0] > MID + 8]
    for label in labels:
        if abs(label.at[0] - MID) <= 8:
            (left if len(left) < len(right) else right).append(label)
    return [(True, right), (False, left)]


def _half(reach: Sequence[tuple[float, float]], y: float) -> float:
    return next((half for limit, half in reach if y <= limit), reach[-1][1])


def _lines(label: Label) -> tuple[tuple[str, bool], ...]:
    return (
        *((line, True) for line in wrap(label.name, 15)),
        *((line, not label.name) for line in wrap(label.note, 17)),
    )


def width(placed: Placed, size: float) -> float:
    """Units that the words may take."""
    return max(len(line) for line, _ in placed.lines) * size * _GLYPH


def draw(placed: Placed, size: float, gap: float) -> str:
    """Leader and words; the leader stops `gap` units short of the mark's middle."""
    x, y = placed.x, placed.top + size * 0.55
    ax, ay = placed.label.at
    sign = 1 if placed.right else -1
    bend = x - sign * size * 0.75
    dx, dy = bend - ax, y - ay
    length = (dx * dx + dy * dy) ** 0.5 or 1.0
    sx, sy = ax + dx / length * gap, ay + dy / length * gap
    out = []
    if length > gap and (bend - sx) * sign > 0:
        d = f"M{sx:.1f},{sy:.1f}L{bend:.1f},{y:.1f}L{x - sign * size * 0.25:.1f},{y:.1f}"
        out.append(f'<path d="{d}" fill="none" stroke="{c.PAPER}" stroke-width="{size * 0.2:.1f}"/>')
        out.append(f'<path d="{d}" fill="none" stroke="{c.INK}" stroke-width="{size * 0.065:.1f}"/>')
    anchor = "start" if placed.right else "end"
    out.append(f'<g font-family="{c.FONT}" font-size="{size:.1f}" text-anchor="{anchor}" stroke="none">')
    for i, (line, bold) in enumerate(placed.lines):
        weight, colour = ("650", c.INK) if bold else ("400", c.INK_SOFT)
        out.append(
            f'<text x="{x:.1f}" y="{placed.top + size * (0.9 + 1.16 * i):.1f}" font-weight="{weight}" '
            f'fill="{colour}">{escape(line)}</text>'
        )
    out.append("</g>")
    return "".join(out)

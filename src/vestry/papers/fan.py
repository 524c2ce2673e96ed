"""A fan chart as SVG: what is left of one item over the hours of a stay, for the desk and for paper.

Two bands and a line, told apart by edge and by direct words, not by colour alone: the outer band has a dashed edge, the
inner a full one, the middle is a thick line. Bands are steps, since counts are whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise
from math import floor, log10

WIDE, HIGH = 640, 260
LEFT, RIGHT, TOP, FOOT = 52, 196, 34, 52
PAPER = {
    "fan-outer": 'fill="#F3EBF0" stroke="#5B2A4E" stroke-width="1.2" stroke-dasharray="5 4"',
    "fan-inner": 'fill="#D9C3D1" stroke="#5B2A4E" stroke-width="1.2"',
    "fan-middle": 'fill="none" stroke="#5B2A4E" stroke-width="3.2"',
    "fan-nought": 'stroke="#1B2230" stroke-width="3"',
    "fan-grid": 'stroke="#CFC6B6" stroke-width="1"',
    "fan-mark": 'fill="none" stroke="#1B2230" stroke-width="2" stroke-dasharray="2 4"',
    "fan-lead": 'fill="none" stroke="#4A5160" stroke-width="1"',
    "fan-soft": 'fill="#4A5160" font-size="15"',
    "fan-word": 'fill="#1B2230" font-size="15"',
    "fan-strong": 'fill="#1B2230" font-size="15" font-weight="bold"',
}


@dataclass(frozen=True)
class Mark:
    """Something at an hour, or at some hour of a range, with its word."""

    first: float
    last: float
    says: str


@dataclass(frozen=True)
class Says:
    """What stands at the chart: for whom reads it aloud, at the ends of the bands, at the axes."""

    all: str
    most: str
    middle: str
    least: str
    hours: str


@dataclass(frozen=True)
class Fan:
    """Hours, and the levels at each of them for the shares 5, 25, 50, 75 and 95 of 100, in this order."""

    hours: Sequence[int]
    levels: Sequence[Sequence[int]]
    marks: Sequence[Mark] = ()


def fan_svg(fan: Fan, says: Says, *, paper: bool = False) -> str:
    """The chart. On the desk it takes its colours from the page; on paper it brings them."""
    draw = _Drawing(fan, paper)
    parts = [*draw.grid(says), draw.band("fan-outer", 0, 4), draw.band("fan-inner", 1, 3), draw.middle()]
    parts += [*draw.marks(), draw.nought(), *draw.words(says)]
    role = f' role="img" aria-label="{escape(says.all)}"'
    space = ' xmlns="http://www.w3.org/2000/svg" font-family="Atkinson Hyperlegible Next"' if paper else ""
    return f'<svg class="fan"{space} viewBox="0 0 {WIDE} {HIGH}"{role}>{"".join(parts)}</svg>'


class _Drawing:
    def __init__(self, fan: Fan, paper: bool) -> None:
        self.fan, self.paper = fan, paper
        self.last = max(1, fan.hours[-1])
        self.step = _step(max(1, max(max(row) for row in fan.levels)))
        self.top = self.step * -(-max(1, max(max(row) for row in fan.levels)) // self.step)

    def style(self, name: str) -> str:
        return PAPER[name] if self.paper else f'class="{name}"'

    def x(self, hour: float) -> float:
        return round(LEFT + (WIDE - LEFT - RIGHT) * min(hour, self.last) / self.last, 1)

    def y(self, level: float) -> float:
        return round(HIGH - FOOT - (HIGH - FOOT - TOP) * level / self.top, 1)

    def _corner(self, number: int, row: Sequence[int]) -> tuple[int, int]:
        """Where a row stands at one of its hours, in tenths."""
        return round(10 * self.x(self.fan.hours[number])), round(10 * self.y(row[number]))

    def _steps(self, row: Sequence[int], back: bool = False) -> str:
        """The way along a row from its first hour, or back from its last: it holds until the next hour, then steps.

        Each move is told from the one before, and what does not move is not told: an hour takes a few bytes.
        """
        corners = [self._corner(number, row) for number in range(len(self.fan.hours))]
        parts, along = [], 0
        for (x, y), (then, level) in pairwise(corners[::-1] if back else corners):
            if back and level != y:  # it stepped at this hour
                parts += [_move("h", along), _move("v", level - y)]
                along = 0
            along += then - x
            if not back and level != y:
                parts += [_move("h", along), _move("v", level - y)]
                along = 0
        return "".join([*parts, _move("h", along)])

    def band(self, name: str, low: int, high: int) -> str:
        top, foot = self.fan.levels[high], self.fan.levels[low]
        down = self._corner(-1, foot)[1] - self._corner(-1, top)[1]
        way = f"{self._start(top)}{self._steps(top)}{_move('v', down)}{self._steps(foot, back=True)}Z"
        return f'<path {self.style(name)} d="{way}"/>'

    def middle(self) -> str:
        row = self.fan.levels[2]
        return f'<path {self.style("fan-middle")} d="{self._start(row)}{self._steps(row)}"/>'

    def _start(self, row: Sequence[int]) -> str:
        x, y = self._corner(0, row)
        return f"M{x / 10:g} {y / 10:g}"

    def grid(self, says: Says) -> list[str]:
        parts = []
        for level in range(0, self.top + 1, self.step):
            y = self.y(level)
            if level:
                parts.append(f'<path {self.style("fan-grid")} d="M{LEFT} {y}H{WIDE - RIGHT}"/>')
            parts.append(self.text("fan-soft", LEFT - 8, y + 5, str(level), "end"))
        stride = next(one for one in (1, 2, 4, 6, 12, 24, 48, 72, 168, 336, 720, 2160) if self.last / one <= 7)
        for hour in range(0, self.last + 1, stride):
            parts.append(self.text("fan-soft", self.x(hour), HIGH - FOOT + 20, str(hour), "middle"))
        parts.append(self.text("fan-soft", (LEFT + WIDE - RIGHT) / 2, HIGH - 8, says.hours, "middle"))
        return parts

    def marks(self) -> list[str]:
        parts = []
        for one in self.fan.marks:
            if one.first > self.last:
                continue
            first, last = self.x(one.first), self.x(one.last)
            parts.append(
                f'<path {self.style("fan-mark")} d="M{first} {TOP}V{HIGH - FOOT}M{last} {TOP}V{HIGH - FOOT}'
                f'M{first} {TOP}H{last}"/>'
            )
            end = first > WIDE - RIGHT - 160
            parts.append(self.text("fan-strong", first, TOP - 8, one.says, "end" if end else "start"))
        return parts

    def nought(self) -> str:
        y = self.y(0)
        return f'<path {self.style("fan-nought")} d="M{LEFT} {y}H{WIDE - RIGHT}"/>'

    def words(self, says: Says) -> list[str]:
        """The words of the bands at their right ends, kept apart, each with a line to what it names."""
        rows = ((says.most, 4, "fan-word"), (says.middle, 2, "fan-strong"), (says.least, 0, "fan-word"))
        ends = [self.y(self.fan.levels[row][-1]) for _, row, _ in rows]
        places, lowest = list(ends), HIGH - FOOT
        for n in (2, 1, 0):
            places[n] = min(places[n], lowest - 20 * (2 - n))
            if n < 2:
                places[n] = min(places[n], places[n + 1] - 20)
        right, parts = WIDE - RIGHT, []
        for (word, _, name), end, place in zip(rows, ends, places, strict=True):
            parts.append(f'<path {self.style("fan-lead")} d="M{right + 2} {end}L{right + 16} {place}H{right + 22}"/>')
            parts.append(self.text(name, right + 26, place + 5, word, "start"))
        return parts

    def text(self, name: str, x: float, y: float, said: str, anchor: str) -> str:
        return f'<text {self.style(name)} x="{x:g}" y="{y:g}" text-anchor="{anchor}">{escape(said)}</text>'


def _move(way: str, tenths: int) -> str:
    return f"{way}{tenths / 10:g}" if tenths else ""


def _step(most: int) -> int:
    """A step of the axis of which at most five fill it."""
    power: int = 10 ** max(0, floor(log10(most)) - 1)
    steps: list[int] = [one * power for one in (1, 2, 5, 10, 20, 50)]
    return next(step for step in steps if most <= 5 * step)

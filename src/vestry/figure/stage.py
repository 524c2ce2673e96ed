"""Where a drawing function draws: side, pose, and what already lies beneath."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from vestry.figure.path import (
    MID,
    Path,
    Pt,
    backwards,
    bend,
    both,
    close,
    join,
    mirror,
    parse,
    spline,
)
from vestry.figure.poses import Pose

Width = tuple[float, float, float]
"""Distance along the arm, half-width to the outer side, half-width to the inner side."""


@dataclass(frozen=True)
class Stage:
    """Side and pose, and the kinds of item that lie beneath the one being drawn."""

    front: bool
    pose: Pose
    beneath: frozenset[str] = frozenset()

    def path(self, data: str) -> Path:
        """Data as drawn, in this pose."""
        return bend(parse(data), self.pose.warp)

    def both(self, data: str) -> Path:
        """Right-half data and its mirror, in this pose."""
        return bend(both(data), self.pose.warp)

    def point(self, p: Pt) -> Pt:
        """One point in this pose."""
        return self.pose.warp(p)

    def letter(self, right: bool) -> str:
        """The wearer's own left or right for the arm at the viewer's right (or left)."""
        return "l" if right == self.front else "r"

    def turn(self, path: Path, right: bool) -> Path:
        """An arm drawn at the viewer's right, moved to the other side if asked."""
        return path if right else mirror(path)

    def sides(self, widths: Sequence[Width], rooted: bool = True) -> tuple[Path, Path]:
        """The outer and the inner edge of a sleeve, from shoulder (or first width) to end."""
        arm = self.pose.arm
        outer = [*(arm.over if rooted else ()), *(arm.at(t, o) for t, o, _ in widths)]
        inner = [*(arm.pit if rooted else ()), *(arm.at(t, -i) for t, _, i in widths if t > 0.2)]
        return spline(outer), spline(inner)

    def tube(self, widths: Sequence[Width], rooted: bool = True, hem: float = 5.0) -> Path:
        """A closed sleeve; its end bulges by `hem` units."""
        outer, inner = self.sides(widths, rooted)
        t, o, i = widths[-1]
        arm = self.pose.arm
        reach = hem / 100
        end = spline([arm.at(t, o), arm.at(t + reach, (o - i) / 2), arm.at(t, -i)])
        shape = join(join(outer, end), backwards(inner))
        if rooted:
            return close(join(shape, backwards(spline(arm.seam))))
        t0, o0, i0 = widths[0]
        top = spline([arm.at(t0, -i0), arm.at(t0 + reach, (o0 - i0) / 2), arm.at(t0, o0)])
        return close(join(shape, top))

    def seam(self) -> Path:
        """Where a sleeve is set into the trunk."""
        return spline(self.pose.arm.seam)

    @property
    def head_half(self) -> float:
        """Half the width of the head with what is on it, where a strap would run."""
        if self.beneath & {"papr-helmet", "papr-hood", "papr-shroud"}:
            return 68.0
        if self.beneath & {"hood", "coverall-hood"}:
            return 61.0
        if "hair-cover" in self.beneath:
            return 58.0
        return 47.0


def across(half: float, x: float) -> float:
    """x units from the middle line when the head is `half` wide instead of 58."""
    return MID + (x - MID) * half / 58.0

"""Where a drawing function draws: side, pose, and what already lies beneath."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

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

    def headed(self) -> Stage:
        """The same stage for what moves with the head."""
        return replace(self, pose=replace(self.pose, warp=self.pose.head_warp))

    def knees(self) -> Path:
        """The near ends of the thighs, when the person sits and is seen from the front."""
        if not (self.pose.seated and self.front):
            return ()
        knee = parse("M258,738 C270,750 304,751 320,737")
        return (*knee, *mirror(knee))

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
        first = 0.2 if rooted and abs(arm.fold) >= 0.8 else -1.0
        outer = [*(arm.over if rooted else ()), *(arm.at(t, o) for t, o, _ in widths if t > first)]
        inner = [*(arm.pit if rooted else ()), *(arm.at(t, -i) for t, _, i in widths if t > 0.2)]
        fold = arm.fold
        if abs(fold) < 0.8 or widths[0][0] > 0.9 or widths[-1][0] < 1.3:
            return spline(outer), spline(inner)
        sign = 1 if fold > 0 else -1
        root = (arm.over if sign > 0 else arm.pit) if rooted else ()
        half = [(t, o if sign > 0 else i) for t, o, i in widths]
        crease = arm.crease(sign * next(h for t, h in half if t >= 1.0))
        upper = [*root, *(arm.at(t, sign * h) for t, h in half if 0.25 < t < 0.62), crease]
        lower = [crease, *(arm.at(t, sign * h) for t, h in half if t > 1.38)]
        folded = join(spline(upper), spline(lower))
        return (folded, spline(inner)) if sign > 0 else (spline(outer), folded)

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

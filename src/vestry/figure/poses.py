"""Poses: the drawing is made once, standing; a pose moves its points.

A pose is a smooth map for everything but the arms, and the joints of one arm (the other is its
mirror image). Distances along an arm count 0 at the shoulder, 1 at the elbow, 2 at the wrist.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from vestry.figure.path import MID, Path, Pt, Warp, spline


def _mix(a: Pt, b: Pt, t: float) -> Pt:
    return a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t


def _unit(v: Pt) -> Pt:
    length = math.hypot(*v) or 1.0
    return v[0] / length, v[1] / length


@dataclass(frozen=True)
class Arm:
    """The arm at the viewer's right: joints, where the hand points, how it leaves the trunk."""

    shoulder: Pt
    elbow: Pt
    wrist: Pt
    aim: Pt
    over: tuple[Pt, ...]
    pit: tuple[Pt, ...]
    seam: tuple[Pt, ...]
    grip: bool = False
    palm_size: float = 1.0

    def at(self, t: float, s: float) -> Pt:
        """The point t along the arm and s units towards its outer side."""
        bend = 0.22
        up = _unit((self.elbow[0] - self.shoulder[0], self.elbow[1] - self.shoulder[1]))
        low = _unit((self.wrist[0] - self.elbow[0], self.wrist[1] - self.elbow[1]))
        if abs(t - 1) >= bend:
            a, b, k = (self.shoulder, self.elbow, t) if t < 1 else (self.elbow, self.wrist, t - 1)
            centre, along = _mix(a, b, k), (up if t < 1 else low)
        else:
            k = (t - 1 + bend) / (2 * bend)
            p = _mix(self.shoulder, self.elbow, 1 - bend)
            q = _mix(self.elbow, self.wrist, bend)
            centre = _mix(_mix(p, self.elbow, k), _mix(self.elbow, q, k), k)
            along = _unit(_mix(up, low, k))
        return centre[0] + s * along[1], centre[1] - s * along[0]

    @property
    def fold(self) -> float:
        """How sharply the elbow bends, as a sine: positive where the outer side is folded."""
        up = _unit((self.elbow[0] - self.shoulder[0], self.elbow[1] - self.shoulder[1]))
        low = _unit((self.wrist[0] - self.elbow[0], self.wrist[1] - self.elbow[1]))
        turn = up[1] * low[0] - up[0] * low[1]
        sharp = up[0] * low[0] + up[1] * low[1] < 0
        return math.copysign(1.0, turn) if sharp else turn

    def crease(self, s: float) -> Pt:
        """Where the two edges meet in the crook of a sharply bent elbow."""
        up = _unit((self.elbow[0] - self.shoulder[0], self.elbow[1] - self.shoulder[1]))
        low = _unit((self.wrist[0] - self.elbow[0], self.wrist[1] - self.elbow[1]))
        half = _unit((low[0] - up[0], low[1] - up[1]))
        across = abs(half[0] * up[1] - half[1] * up[0]) or 1.0
        reach = abs(s) / across
        return self.elbow[0] + half[0] * reach, self.elbow[1] + half[1] * reach

    def hand(self, u: float, v: float) -> Pt:
        """The point of the hand u beyond the wrist and v towards its outer side."""
        along = _unit(self.aim)
        u, v = u * self.palm_size, v * self.palm_size
        x, y = self.wrist
        return x + u * along[0] + v * along[1], y + u * along[1] - v * along[0]

    def line(self, points: Sequence[Pt]) -> Path:
        """A smooth line through (t, s) points."""
        return spline([self.at(t, s) for t, s in points])


@dataclass(frozen=True)
class Pose:
    """How the person holds themselves.

    warp: for trunk and legs; head: for the head, where it moves on its own
    before: forearms pass in front of trunk and head
    order: when the head is drawn: in its turn, first (beyond the trunk) or last (before it)
    """

    name: str
    warp: Warp
    arm: Arm
    before: bool = False
    seated: bool = False
    head: Warp | None = None
    order: str = ""

    @property
    def head_warp(self) -> Warp:
        """The map for what is on the head."""
        return self.head or self.warp


def _ramp(value: float, marks: Sequence[tuple[float, float]]) -> float:
    """Smooth monotone reading between marks (from, to); beyond the ends it runs on at slope 1."""
    if value <= marks[0][0]:
        return marks[0][1] + value - marks[0][0]
    if value >= marks[-1][0]:
        return marks[-1][1] + value - marks[-1][0]
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(marks)]
    ends = [1.0]
    for left, right in pairwise(slopes):
        ends.append(2 * left * right / (left + right) if left * right > 0 else 0.0)
    ends.append(1.0)
    for i, (a, b) in enumerate(pairwise(marks)):
        if value <= b[0]:
            h = b[0] - a[0]
            t = (value - a[0]) / h
            return (
                (2 * t**3 - 3 * t**2 + 1) * a[1]
                + (t**3 - 2 * t**2 + t) * h * ends[i]
                + (-2 * t**3 + 3 * t**2) * b[1]
                + (t**3 - t**2) * h * ends[i + 1]
            )
    return value  # pragma: no cover - the last mark was passed above


def _same(p: Pt) -> Pt:
    return p


def _bell(value: float, centre: float, reach: float) -> float:
    v = (value - centre) / reach
    return (1 - v * v) ** 2 if abs(v) < 1 else 0.0


_LEAN = ((186.0, 232.0), (220.0, 262.0), (400.0, 421.0), (520.0, 522.0), (912.0, 912.0))
_SIT = (
    (40.0, 202.0),
    (440.0, 602.0),
    (500.0, 654.0),
    (560.0, 688.0),
    (690.0, 728.0),
    (800.0, 808.0),
    (912.0, 912.0),
)


def _lean(p: Pt) -> Pt:
    x, y = p
    return MID + (x - MID) * (1 + 0.08 * _bell(y, 200, 260)), _ramp(y, _LEAN)


def _lean_head(p: Pt) -> Pt:
    x, y = p
    return MID + (x - MID) * 1.07, 182 + (y - 62) * 1.03 + 9 * _bell(y, 122, 64)


def _lean_away(p: Pt) -> Pt:
    x, y = p
    return MID + (x - MID) * (1 - 0.03 * _bell(y, 200, 260)), _ramp(y, _LEAN)


def _lean_head_away(p: Pt) -> Pt:
    x, y = p
    return MID + (x - MID) * 0.96, 160 + (y - 62) * 0.95


def _sit(p: Pt) -> Pt:
    x, y = p
    return MID + (x - MID) * (1 + 0.2 * _bell(y, 680, 190)), _ramp(y, _SIT)


def _hung(warp: Warp, elbow: Pt, wrist: Pt, aim: Pt, palm_size: float = 1.0) -> Arm:
    """An arm below the shoulder, rooted where the pose puts the trunk."""
    return Arm(
        warp((333, 262)),
        elbow,
        wrist,
        aim,
        over=(warp((311, 218.4)), warp((338, 228))),
        pit=(warp((323, 316)),),
        seam=tuple(warp(p) for p in ((314, 219.4), (313, 252), (316, 286), (323, 316))),
        palm_size=palm_size,
    )


def reaching(pose: Pose, half: float) -> Pose:
    """Raised hands closed at the sides of a head `half` units wide; any other pose as it is."""
    if pose.name != "arms-raised":
        return pose
    arm, nearer = pose.arm, 79 - half
    return replace(
        pose,
        arm=replace(
            arm,
            wrist=(arm.wrist[0] - nearer, arm.wrist[1]),
            elbow=(arm.elbow[0] - 0.45 * nearer, arm.elbow[1]),
        ),
    )


_DOWN = _hung(_same, (365, 398), (384, 503), (0.1, 0.99))
_RAISED = Arm(
    shoulder=(337, 246),
    elbow=(446, 206),
    wrist=(364, 130),
    aim=(-0.93, -0.36),
    over=((306, 217), (314, 219.3), (328, 215)),
    pit=((323, 322),),
    seam=((306, 216), (303, 250), (309, 290), (323, 320)),
    grip=True,
)
_FORWARD = _hung(_lean, (374, 428), (350, 530), (-0.2, 0.98), 1.04)
_AWAY = _hung(_lean_away, (356, 422), (352, 516), (-0.12, 0.99), 0.97)
_LAP = _hung(_sit, (386, 554), (344, 648), (-0.5, 0.86), 0.95)
_BESIDE = _hung(_sit, (376, 552), (366, 648), (-0.15, 0.99), 0.95)

FRONT: dict[str, Pose] = {
    "standing": Pose("standing", _same, _DOWN),
    "leaning": Pose("leaning", _lean, _FORWARD, before=True, head=_lean_head, order="last"),
    "seated": Pose("seated", _sit, _LAP, before=True, seated=True),
    "arms-raised": Pose("arms-raised", _same, _RAISED, before=True),
}
BACK: dict[str, Pose] = {
    "standing": Pose("standing", _same, _DOWN),
    "leaning": Pose("leaning", _lean_away, _AWAY, head=_lean_head_away, order="first"),
    "seated": Pose("seated", _sit, _BESIDE, seated=True),
    "arms-raised": Pose("arms-raised", _same, _RAISED, before=True),
}
POSES = tuple(FRONT)

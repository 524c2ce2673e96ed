"""Poses: the drawing is made once, standing; a pose moves its points.

A pose is a smooth map for everything but the arms, and the joints of one arm (the other is its
mirror image). Distances along an arm count 0 at the shoulder, 1 at the elbow, 2 at the wrist.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
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
    """How the person holds themselves. `before`: forearms pass in front of trunk and head."""

    name: str
    warp: Warp
    arm: Arm
    before: bool = False
    seated: bool = False


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


_LEAN = ((40.0, 118.0), (186.0, 274.0), (216.0, 283.0), (400.0, 424.0), (520.0, 520.0), (912.0, 912.0))
_LEAN_BACK = ((40.0, 96.0), (150.0, 210.0), (206.0, 250.0), (400.0, 418.0), (520.0, 520.0), (912.0, 912.0))
_SIT = ((40.0, 202.0), (470.0, 632.0), (560.0, 690.0), (690.0, 724.0), (800.0, 806.0), (912.0, 912.0))


def _lean(p: Pt) -> Pt:
    x, y = p
    nod = 15 * _bell(y, 122, 72)
    wide = 1 + 0.09 * _bell(y, 150, 300)
    return MID + (x - MID) * wide, _ramp(y + nod, _LEAN)


def _lean_back(p: Pt) -> Pt:
    x, y = p
    wide = 1 - 0.05 * _bell(y, 100, 260)
    return MID + (x - MID) * wide, _ramp(y, _LEAN_BACK)


def _sit(p: Pt) -> Pt:
    x, y = p
    wide = 1 + 0.13 * _bell(y, 650, 190)
    return MID + (x - MID) * wide, _ramp(y, _SIT)


_DOWN = Arm(
    shoulder=(333, 262),
    elbow=(365, 398),
    wrist=(384, 503),
    aim=(0.1, 0.99),
    over=((311, 218.4), (338, 228)),
    pit=((323, 316),),
    seam=((314, 219.4), (313, 252), (316, 286), (323, 316)),
)
_RAISED = Arm(
    shoulder=(337, 246),
    elbow=(440, 226),
    wrist=(381, 126),
    aim=(-0.93, -0.36),
    over=((304, 215.4), (326, 216)),
    pit=((323, 322),),
    seam=((306, 216), (303, 250), (309, 290), (323, 320)),
    grip=True,
)
_FORWARD = Arm(
    shoulder=(349, 322),
    elbow=(372, 446),
    wrist=(352, 544),
    aim=(-0.2, 0.98),
    over=((318, 285.4), (348, 291)),
    pit=((335, 366),),
    seam=((320, 285.5), (320, 312), (326, 340), (335, 366)),
)
_FORWARD_BACK = Arm(
    shoulder=(330, 304),
    elbow=(362, 430),
    wrist=(360, 530),
    aim=(-0.1, 0.99),
    over=((308, 262), (334, 269)),
    pit=((320, 348),),
    seam=((310, 262.4), (310, 290), (313, 320), (320, 348)),
)
_LAP = Arm(
    shoulder=(333, 424),
    elbow=(384, 556),
    wrist=(338, 648),
    aim=(-0.42, 0.9),
    over=((311, 380.4), (338, 390)),
    pit=((323, 478),),
    seam=((314, 381.4), (313, 414), (316, 448), (323, 478)),
    palm_size=0.92,
)

FRONT: dict[str, Pose] = {
    "standing": Pose("standing", _same, _DOWN),
    "leaning": Pose("leaning", _lean, _FORWARD, before=True),
    "seated": Pose("seated", _sit, _LAP, before=True, seated=True),
    "arms-raised": Pose("arms-raised", _same, _RAISED, before=True),
}
BACK: dict[str, Pose] = {
    "standing": Pose("standing", _same, _DOWN),
    "leaning": Pose("leaning", _lean_back, _FORWARD_BACK),
    "seated": Pose("seated", _sit, _LAP, seated=True),
    "arms-raised": Pose("arms-raised", _same, _RAISED, before=True),
}
POSES = tuple(FRONT)

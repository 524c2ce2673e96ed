"""What part is shown and how large: frame, line weights, hatch, marks, letters."""

from __future__ import annotations

from dataclasses import dataclass

from vestry.figure.path import MID
from vestry.figure.poses import Pose

_TOP, _FLOOR = 32.0, 914.0


@dataclass(frozen=True)
class Frame:
    """The cut-out and its measures, all in the figure's units."""

    left: float
    top: float
    right: float
    bottom: float
    stroke: float
    fine: bool
    gap: float
    hatch: float
    marks: float
    letters: float
    reach: tuple[tuple[float, float], ...]


def frame(crop: str, pose: Pose, height: float | None) -> Frame:
    """The frame of a crop in a pose, for a figure `height` pixels tall (None: large enough)."""
    left, top, right, bottom = _box(crop, pose)
    tall = bottom - top
    scale = height / tall if height else (1.0 if crop == "whole" else 1.2)
    apart = 12.0 if scale * tall >= 480 or crop != "whole" else max(5.0, 12.0 * (scale * tall / 480) ** 0.6)
    gap = min(apart / scale, 40.0)
    whole = crop == "whole"
    return Frame(
        left,
        top,
        right,
        bottom,
        stroke=max(1.0, min(2.0, 0.8 / (2.6 * scale))) if whole else max(0.8, min(1.4, 2.2 / (2.6 * scale))),
        fine=scale >= 0.3,
        gap=gap,
        hatch=gap * 0.2 if scale >= 0.5 else gap * 0.25,
        marks=max(1.0, min(3.0, 0.6 / scale)) if whole else max(0.55, min(1.2, 1.0 / scale)),
        letters=23.0 if whole else max(9.0, min(22.0, 18.0 / scale)),
        reach=_reach(crop, pose, right),
    )


def _box(crop: str, pose: Pose) -> tuple[float, float, float, float]:
    if crop == "whole":
        return 0.0, _TOP, 480.0, _FLOOR
    arm = pose.arm
    if crop == "hands":
        points = [arm.hand(u, v) for u in (0, 95) for v in (-30, 30)]
        points += [arm.at(1.2, 30), arm.at(1.2, -30)]
        half = max(abs(p[0] - MID) for p in points) + 12
        ys = [p[1] for p in points]
        return MID - half, min(ys) - 10, MID + half, max(ys) + 10
    tops = {"head": (31, 312, 118), "trunk": (186, 530, 190), "feet": (726, 916, 116)}
    top, bottom, half = tops[crop]
    warp = pose.head_warp if crop == "head" else pose.warp
    return MID - half, warp((MID, top))[1], MID + half, warp((MID, bottom))[1]


def _reach(crop: str, pose: Pose, right: float) -> tuple[tuple[float, float], ...]:
    """How far from the middle the figure reaches, from the top down."""
    if crop != "whole":
        return ((9999.0, right - MID),)
    if pose.name == "arms-raised":
        return ((90.0, 150.0), (300.0, 236.0), (800.0, 120.0), (9999.0, 100.0))
    down = pose.warp((MID, 200.0))[1]
    arm = pose.arm
    elbow, tip = arm.elbow[0] - MID + 40, arm.hand(70, 30)[0] - MID + 12
    return (
        (down, 84.0),
        (arm.elbow[1], max(elbow, 130.0)),
        (arm.hand(100, 0)[1], max(elbow, tip)),
        (9999.0, 124.0),
    )

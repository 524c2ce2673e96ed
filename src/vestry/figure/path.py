"""Outlines as values: read, mirrored, joined, bent by a pose, written as SVG path data.

Coordinates are the figure's own units (480 by 960, the floor at y 912, the middle at x 240).
Only absolute M, L, C and Z are used, so that a pose can move every point.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from functools import cache

Pt = tuple[float, float]
Seg = tuple[str, tuple[Pt, ...]]
Path = tuple[Seg, ...]
Warp = Callable[[Pt], Pt]

MID = 240.0
_TOKEN = re.compile(r"[MLCZ]|-?\d+(?:\.\d+)?")
_ARITY = {"M": 1, "L": 1, "C": 3}


@cache
def parse(data: str) -> Path:
    """Path data (absolute M, L, C, Z) as segments; ValueError for anything else."""
    if re.sub(r"[MLCZ0-9.,\s-]", "", data):
        raise ValueError(f"path data may hold M, L, C and Z only: {data!r}")
    out: list[Seg] = []
    command = ""
    numbers: list[float] = []
    for token in _TOKEN.findall(data):
        if token == "Z":
            out.append(("Z", ()))
        elif token in _ARITY:
            command = token
        else:
            numbers.append(float(token))
            if len(numbers) == 2 * _ARITY[command]:
                points = tuple(zip(numbers[::2], numbers[1::2], strict=True))
                out.append((command, points))
                numbers = []
                command = "L" if command == "M" else command
    if numbers:
        raise ValueError(f"path data ends inside a segment: {data!r}")
    return tuple(out)


def write(path: Path) -> str:
    """SVG path data, a tenth of a unit."""
    parts = []
    for command, points in path:
        parts.append(command + " ".join(f"{_n(x)},{_n(y)}" for x, y in points))
    return "".join(parts)


def _n(value: float) -> str:
    tenth = round(value, 1)
    whole = int(tenth)
    return str(whole) if tenth == whole else str(tenth)


def bend(path: Path, warp: Warp) -> Path:
    """The same outline with every point moved."""
    return tuple((command, tuple(warp(p) for p in points)) for command, points in path)


def mirror(path: Path) -> Path:
    """The other half of the body."""
    return bend(path, lambda p: (2 * MID - p[0], p[1]))


def subpaths(path: Path) -> list[Path]:
    """One path per M."""
    found: list[list[Seg]] = []
    for seg in path:
        if seg[0] == "M":
            found.append([])
        found[-1].append(seg)
    return [tuple(s) for s in found]


def backwards(path: Path) -> Path:
    """One open subpath walked from its end."""
    points = [path[0][1][0]]
    segs: list[Seg] = []
    for command, pts in path[1:]:
        start = points[-1]
        if command == "C":
            segs.append(("C", (pts[1], pts[0], start)))
        else:
            segs.append(("L", (start,)))
        points.append(pts[-1])
    return (("M", (points[-1],)), *reversed(segs))


def join(first: Path, second: Path) -> Path:
    """Two open subpaths as one line; the gap, if any, is bridged."""
    gap: Path = () if _near(first[-1][1][-1], second[0][1][0]) else (("L", second[0][1]),)
    return (*first, *gap, *second[1:])


def _near(a: Pt, b: Pt) -> bool:
    return math.dist(a, b) < 0.05


def close(path: Path) -> Path:
    """The path with its end joined to its start."""
    return (*path, ("Z", ()))


@cache
def both(data: str) -> Path:
    """Right-half data and its mirror image.

    A subpath that starts and ends on the middle line becomes one closed outline; one that only
    starts or only ends there becomes one line through the middle; any other is drawn twice.
    """
    out: list[Seg] = []
    for sub in subpaths(parse(data)):
        closed = sub[-1][0] == "Z"
        start, end = sub[0][1][0], (sub[-2] if closed else sub[-1])[1][-1]
        starts, ends = abs(start[0] - MID) < 0.05, abs(end[0] - MID) < 0.05
        if closed or not (starts or ends):
            out += [*sub, *mirror(sub)]
        elif starts and ends:
            out += close(join(sub, backwards(mirror(sub))))
        elif ends:
            out += join(sub, backwards(mirror(sub)))
        else:
            out += join(backwards(mirror(sub)), sub)
    return tuple(out)


def spline(points: Sequence[Pt]) -> Path:
    """A smooth open line through the points."""
    n = len(points)
    tangents: list[Pt] = []
    for i in range(n):
        a, b = points[max(i - 1, 0)], points[min(i + 1, n - 1)]
        length = math.dist(a, b) or 1.0
        tangents.append(((b[0] - a[0]) / length, (b[1] - a[1]) / length))
    out: list[Seg] = [("M", (points[0],))]
    for i in range(n - 1):
        p, q = points[i], points[i + 1]
        reach = math.dist(p, q) / 3
        (ux, uy), (vx, vy) = tangents[i], tangents[i + 1]
        out.append(("C", ((p[0] + ux * reach, p[1] + uy * reach), (q[0] - vx * reach, q[1] - vy * reach), q)))
    return tuple(out)

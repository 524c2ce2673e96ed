"""Hands, bare and gloved: open when they hang, closed when they grip."""

from __future__ import annotations

import math

from vestry.figure import palette as c
from vestry.figure.path import Path, Pt, Seg, backwards, bend, close, join, parse, spline
from vestry.figure.pieces import Piece, Pieces
from vestry.figure.stage import Stage, Width

# A finger: base (along, across), tip (along, across), half-width; along counts from the wrist,
# across is positive towards the little finger.
_FINGERS: tuple[tuple[Pt, Pt, float], ...] = (
    ((41, 15.5), (68, 20.5), 4.9),
    ((46, 6.6), (84, 9.6), 5.5),
    ((48, -3.2), (89, -3.0), 5.7),
    ((46, -12.8), (81, -14.8), 5.5),
)
_THUMB: tuple[Pt, Pt, float] = ((20, -17), (51, -26), 6.0)
_ROUND = 0.5523


def _finger(base: Pt, tip: Pt, r: float) -> list[Seg]:
    """Up the outer side, round the tip, down the inner side."""
    length = math.dist(base, tip)
    d = ((tip[0] - base[0]) / length, (tip[1] - base[1]) / length)
    n = (-d[1], d[0])

    def at(p: Pt, along: float, side: float) -> Pt:
        return p[0] + d[0] * along + n[0] * side, p[1] + d[1] * along + n[1] * side

    k, w = _ROUND * r, r + 0.5
    return [
        ("L", (at(base, 0, w),)),
        ("C", (at(base, length * 0.4, w), at(tip, -length * 0.3, r), at(tip, 0, r))),
        ("C", (at(tip, k, r), at(tip, r, k), at(tip, r, 0))),
        ("C", (at(tip, r, -k), at(tip, k, -r), at(tip, 0, -r))),
        ("C", (at(tip, -length * 0.3, -r), at(base, length * 0.4, -w), at(base, 0, -w))),
    ]


def _open() -> Path:
    """From the wrist's outer side round the fingers and the thumb to its inner side."""
    segs: list[Seg] = [("M", ((0, 12.6),)), ("C", ((10, 15.5), (22, 21.5), (41, 20.9)))]
    for base, tip, r in _FINGERS:
        segs += _finger(base, tip, r)
    segs.append(("C", ((42, -20), (37, -20.5), (33, -20.2))))
    thumb = _finger(*_THUMB)
    segs += thumb[:-1]
    segs.append(("C", ((38, -33), (25, -27.5), (17, -20.5))))
    segs.append(("C", ((11, -16.5), (5, -13.5), (0, -12.6))))
    return tuple(segs)


_FIST = parse(
    "M0,12.6 C8,14.5 14,18.5 22,20.5 C28,22 34,22 38,20.5 C43,20 46,16.5 44.5,12 "
    "C49,11 51,6.5 49,2.5 C53,0.5 53.5,-4.5 50.5,-7.5 C53,-11 51.5,-16 47,-17 "
    "C40,-20 30,-22 22,-20.5 C13,-19 6,-14.5 0,-12.6"
)
_FIST_LINES = parse(
    "M44.5,12 C39,12.5 33,12 28,10.5 M49,2.5 C42,3.5 35,3 29,1 M50.5,-7.5 C44,-6 37,-6.5 32,-8 "
    "M14,-16 C20,-12 27,-10 33,-10.5 C39,-11.5 41,-16.5 36.5,-18.5"
)
_KNUCKLES = parse("M42,14.5 C40,16 38.5,16.5 37,16.4 M47,5.6 C45,7.4 43,8 41.5,7.8 M49,-4.2 C47,-2.4 45,-1.8 43.5,-2")
_PALM = parse("M31,-19 C24,-11 22,-3 24,7 M44,15 C38,5 37,-4 42,-14")
_OPEN = _open()
_GROWTH = {"bare": 1.0, "inner": 1.025, "middle": 1.045, "single": 1.03, "fresh": 1.03, "outer": 1.065}


def _shape(stage: Stage, growth: float) -> tuple[Path, Path]:
    """Outline (open at the wrist) and inner lines of one hand, where the arm ends."""
    arm = stage.pose.arm
    around = (30.0, 0.0)

    def place(p: Pt) -> Pt:
        grown = (around[0] + (p[0] - around[0]) * growth, p[1] * (growth + (growth - 1)))
        return arm.hand(*(grown if p[0] > 0.5 else (p[0], p[1] * growth)))

    if arm.grip:
        return bend(_FIST, place), bend(_FIST_LINES, place)
    return bend(_OPEN, place), bend(_KNUCKLES if stage.front else _PALM, place)


BARE: tuple[Width, ...] = (
    (0.0, 23, 23),
    (0.3, 23.5, 22),
    (0.6, 21, 20.5),
    (1.0, 19, 18.5),
    (1.28, 19.5, 18.5),
    (1.6, 15.5, 15.5),
    (2.0, 12.6, 12.6),
)


def bare_arms(stage: Stage) -> Pieces:
    """Both arms to the fingertips, in skin."""
    out: list[Piece] = []
    outer, inner = stage.sides(BARE)
    hand, lines = _shape(stage, 1.0)
    whole = close(join(join(join(outer, hand), backwards(inner)), backwards(stage.seam())))
    edges = join(join(outer, hand), backwards(inner))
    for right in (True, False):
        turn = stage.turn
        out.append(
            Piece(
                outline=turn(whole, right),
                fill=c.SKIN,
                contour=turn(edges, right),
                lines=turn(lines, right),
                part="arm",
            )
        )
    return tuple(out)


def arm_sites(stage: Stage) -> Pieces:
    """Where skin of hands, wrists and forearms is hatched."""
    edge, _ = _shape(stage, 1.0)
    ends: tuple[Width, ...] = ((1.0, 19, 18.5), (1.28, 19.5, 18.5), (1.6, 15.5, 15.5), (1.78, 14.4, 14.4))
    tips: tuple[Width, ...] = ((1.78, 14.4, 14.4), (1.9, 13.4, 13.4), (2.0, 12.6, 12.6))
    out: list[Piece] = []
    for right in (True, False):
        side = stage.letter(right)
        for site, shape, edges, margin in (
            ("forearms", stage.tube(ends, rooted=False, hem=1), stage.sides(ends, rooted=False), 4.0),
            (f"wrist-{side}", stage.tube(tips, rooted=False, hem=1), stage.sides(tips, rooted=False), 2.5),
            (f"hand-{side}", close(edge), (edge,), 3.4),
        ):
            out.append(
                Piece(
                    surface=f"body.{site}",
                    outline=stage.turn(shape, right),
                    base=c.SKIN,
                    contour=tuple(s for p in edges for s in stage.turn(p, right)),
                    part="arm",
                    margin=margin,
                )
            )
    return tuple(out)


def _cuff(stage: Stage, length: str, layer: str) -> tuple[Width, ...]:
    """Half-widths of a glove from its top edge to the wrist."""
    sleeved = bool(stage.beneath & {"gown", "coverall"}) and layer not in {"inner", "fresh"}
    grow = {"inner": 0.0, "fresh": 0.4, "single": 0.6, "middle": 1.3, "outer": 2.2}[layer]
    if length == "standard":
        top = 20.0 if sleeved else 15.4
        return ((1.76, top + grow, top + grow), (1.9, top - 2 + grow, top - 2 + grow), (2.0, 13 + grow, 13 + grow))
    top, low, end = (26.5, 23.5, 21.5) if sleeved else (20.0, 16.6, 14.6)
    return (
        (1.38, top + grow, top + grow),
        (1.6, low + grow, low + grow),
        (1.8, end + grow, end + grow),
        (1.91, (end + 12) / 2 + grow, (end + 12) / 2 + grow),
        (2.0, 13 + grow, 13 + grow),
    )


def gloves(stage: Stage, item: str, layer: str, length: str, fill: str) -> Pieces:
    """A pair: cuff from the wrist up, palm the whole hand below it."""
    arm = stage.pose.arm
    widths = _cuff(stage, length, layer)
    growth = _GROWTH[layer]
    hand, lines = _shape(stage, growth)
    outer, inner = stage.sides(widths, rooted=False)
    inner = spline([arm.at(t, -i) for t, _, i in widths])
    t0, o0, i0 = widths[0]
    top = spline([arm.at(t0, -i0), arm.at(t0 + 0.05, (o0 - i0) / 2), arm.at(t0, o0)])
    cuff = close(join(join(outer, backwards(inner)), top))
    bead = spline([arm.at(t0 + 0.07, -i0 + 1.5), arm.at(t0 + 0.12, (o0 - i0) / 2), arm.at(t0 + 0.07, o0 - 1.5)])
    crease = spline([arm.at(1.97, -9), arm.at(1.985, -2), arm.at(1.975, 5)])
    joint = spline([arm.at(1.9, -13.0), arm.hand(5, -12), arm.hand(5, 12), arm.at(1.9, 13.0)])
    out: list[Piece] = []
    for right in (True, False):
        side, turn = stage.letter(right), stage.turn
        out.append(Piece(outline=turn(close(joint), right), fill=fill, part="arm"))
        out.append(
            Piece(
                surface=f"{item}.cuff-{side}",
                outline=turn(cuff, right),
                fill=fill,
                contour=tuple(s for p in (outer, inner, top) for s in turn(p, right)),
                lines=turn(bead, right),
                part="arm",
                margin=4.5,
            )
        )
        out.append(
            Piece(
                surface=f"{item}.palm-{side}",
                outline=turn(close(hand), right),
                fill=fill,
                contour=turn(hand, right),
                lines=turn(lines, right),
                folds=turn(crease, right),
                part="arm",
                margin=3.6,
            )
        )
    return tuple(out)

"""The apron, and what it shares with gowns: a tied bow, cloth over the knees."""

from __future__ import annotations

from vestry.figure import palette as c
from vestry.figure.path import Path, mirror, parse
from vestry.figure.pieces import Piece, Pieces
from vestry.figure.stage import Stage


def bow(stage: Stage, surface: str, x: float, y: float, size: float) -> Piece:
    """A bow with its middle at x, y; one unit of size is the bow of a waist tie."""

    def at(*points: tuple[float, float]) -> str:
        return " ".join(f"{x + px * size:.1f},{y + py * size:.1f}" for px, py in points)

    loops = (
        f"M{at((0, 0))} C{at((-8, -14), (-30, -14), (-30, -2))} C{at((-30, 9), (-10, 8), (0, 0))} "
        f"C{at((8, -14), (30, -14), (30, -2))} C{at((30, 9), (10, 8), (0, 0))} Z"
    )
    tails = (
        f"M{at((-3, 3))} C{at((-7, 14), (-13, 25), (-17, 36))} L{at((-10, 39))} C{at((-6, 27), (-1, 15), (1, 4))} Z "
        f"M{at((3, 3))} C{at((9, 15), (13, 27), (11, 43))} L{at((4, 42))} C{at((5, 28), (2, 15), (-2, 5))} Z"
    )
    knot = (
        f"M{at((-5, -4))} C{at((-2, -7), (2, -7), (5, -4))} C{at((7, -1), (7, 3), (5, 5))} "
        f"C{at((2, 7), (-2, 7), (-5, 5))} C{at((-7, 3), (-7, -1), (-5, -4))} Z"
    )
    whole = (*stage.path(tails), *stage.path(loops))
    return Piece(surface=surface, outline=whole, fill=c.STRAP, weight=1.9, margin=0.0, lines=stage.path(knot))


def lap(stage: Stage) -> Path:
    """Where a skirt falls over the knees when the person sits."""
    if not (stage.pose.seated and stage.front):
        return ()
    fall = parse(
        "M256,722 C266,704 306,702 326,728 M262,742 C264,760 264,776 262,790 M306,738 C310,756 312,774 312,788"
    )
    return (*fall, *mirror(fall))


_APRON = (
    "M240,262 C256,262 266,256 270,246 L278,244 C281,276 292,304 322,326 C323,360 321,384 321,404 "
    "C327,470 338,600 343,738 C312,746 276,749 240,749"
)


def apron(stage: Stage, item: str) -> Pieces:
    """A bib apron: strap round the neck, tied behind the waist."""
    if stage.front:
        strap = Piece(
            surface=f"{item}.neck-strap",
            outline=stage.both("M270,248 C270,232 266,216 260,202 L266,200 C273,214 278,230 278.5,246 Z"),
            fill=c.APRON,
            weight=1.8,
            margin=0.0,
        )
        return (
            strap,
            Piece(
                surface=f"{item}.front",
                outline=stage.both(_APRON),
                fill=c.APRON,
                shade=stage.path(
                    "M321,404 C327,470 338,600 343,738 C334,741 324,743 314,745 C312,620 310,500 306,404 Z"
                ),
                lines=(
                    *stage.both("M240,400 C270,400 298,397 321,391 M240,409 C270,409 298,406 321.5,400"),
                    *lap(stage),
                ),
                folds=stage.both("M276,430 C284,520 290,610 292,700 M258,450 C259,540 261,640 262,720"),
                margin=7.0,
            ),
        )
    beyond = "M240,330 L322,328 C323,360 321,384 321,404 C327,470 338,600 343,738 C312,746 276,749 240,749"
    return (
        Piece(outline=stage.both(beyond), fill=c.APRON, shade=stage.both(beyond), part="behind"),
        Piece(
            surface=f"{item}.neck-strap",
            outline=stage.both("M240,206 C252,206 262,203 268,196 L271,202 C264,211 252,214 240,214"),
            fill=c.APRON,
            weight=1.8,
            margin=0.0,
        ),
        Piece(
            outline=stage.both("M240,402 C268,402 296,399 319,393 L320,402 C298,408 268,411 240,411"),
            fill=c.APRON,
            weight=1.8,
        ),
        bow(stage, f"{item}.ties", 240, 407, 1.05),
    )

"""Gowns and coveralls."""

from __future__ import annotations

from dataclasses import dataclass

from vestry.figure import palette as c
from vestry.figure.apron import bow, lap
from vestry.figure.pieces import Piece, Pieces, on_head
from vestry.figure.stage import Stage, Width

_SLEEVE: tuple[Width, ...] = (
    (0.0, 27.5, 28),
    (0.3, 29.5, 29),
    (0.5, 29.5, 29),
    (0.75, 27.5, 27),
    (1.0, 25.5, 25),
    (1.4, 23.5, 23),
    (1.76, 21.5, 21),
)
_CUFF: tuple[Width, ...] = ((1.72, 18.5, 18.5), (1.84, 16.5, 16.5), (1.99, 14.6, 14.6))


@dataclass(frozen=True)
class _Cut:
    """How a garment is cut: its colour and the outline of trunk and skirt, right half."""

    fill: str
    front: str
    back: str
    sides: str
    skirt: str
    folds: str


_YOKE = "C280,208 300,214 314,219.5 C320,250 322,286 323,316 C324,342 319,372 319,398 "
_YOKE_BACK = "C280,206 300,213 314,219.5 C320,250 322,286 323,316 C324,342 319,372 319,398 "
_LONG = "C329,470 345,612 352,784 C316,794 278,797 240,797"
_SHORT = "C327,460 340,580 344,704 C312,713 276,716 240,716"
_LONG_CUT = "M314,219.5 C300,214 280,208 267,202 C262,212 252,218 240,219 M323,316 C324,342 319,372 319,398 " + _LONG
_SHORT_CUT = (
    "M314,219.5 C300,214 280,208 267,202 C262,212 252,218 240,219 M323,316 C324,342 319,372 319,398 "
) + _SHORT
_GOWNS: dict[str, _Cut] = {
    "gown-impermeable": _Cut(
        c.GOWN,
        "M240,219 C252,218 262,212 267,202 " + _YOKE + _LONG,
        "M240,212 C252,211 262,206 267,198 " + _YOKE_BACK + _LONG,
        _LONG,
        "M240,414 C270,414 298,411 320.5,404 C330,480 345,616 352,784 C316,794 278,797 240,797",
        "M286,452 C295,530 302,620 306,720 M262,478 C264,570 268,660 269,760 M331,500 C337,560 341,600 343,640",
    ),
    "gown-fluid-resistant": _Cut(
        c.GOWN_FLUID,
        "M240,219 C252,218 262,212 267,202 " + _YOKE + _LONG,
        "M240,212 C252,211 262,206 267,198 " + _YOKE_BACK + _LONG,
        _LONG,
        "M240,414 C270,414 298,411 320.5,404 C330,480 345,616 352,784 C316,794 278,797 240,797",
        "M280,440 C292,530 300,640 302,740 M258,500 C259,580 261,660 262,770 M334,540 C338,590 341,640 342,690",
    ),
    "gown-isolation": _Cut(
        c.GOWN_ISOLATION,
        "M240,219 C252,218 262,212 267,202 " + _YOKE + _SHORT,
        "M240,212 C252,211 262,206 267,198 " + _YOKE_BACK + _SHORT,
        _SHORT,
        "M240,414 C270,414 298,411 320.5,404 C328,466 340,586 344,704 C312,713 276,716 240,716",
        "M284,446 C292,520 297,600 299,660 M262,478 C264,560 266,620 266,690 M329,500 C334,560 336,590 337,610",
    ),
}


def _sleeves(stage: Stage, item: str, fill: str, cuff_fill: str) -> list[Piece]:
    arm = stage.pose.arm
    sleeve, cuff = stage.tube(_SLEEVE), stage.tube(_CUFF, rooted=False, hem=3)
    outer, inner = stage.sides(_SLEEVE)
    t, o, i = _SLEEVE[-1]
    end = arm.line([(t, o), (t + 0.06, 0), (t, -i)])
    folds = (
        *arm.line([(0.45, 25), (0.52, 12), (0.55, -2)]),
        *arm.line([(0.94, -22), (0.99, -8), (0.97, 4)]),
        *arm.line([(1.04, -21), (1.08, -10), (1.07, -1)]),
        *arm.line([(1.5, 20), (1.54, 8), (1.53, 0)]),
    )
    ribs = tuple(s for k in (-8.0, -2.7, 2.7, 8.0) for s in arm.line([(1.82, k * 1.2), (1.95, k)]))
    out: list[Piece] = []
    for right in (True, False):
        turn = stage.turn
        out.append(
            Piece(
                surface=f"{item}.cuffs",
                outline=turn(cuff, right),
                fill=cuff_fill,
                folds=turn(ribs, right),
                part="arm",
                margin=3.0,
            )
        )
        out.append(
            Piece(
                surface=f"{item}.sleeves",
                outline=turn(sleeve, right),
                fill=fill,
                contour=tuple(s for p in (outer, inner, end) for s in turn(p, right)),
                folds=turn(folds, right),
                part="arm",
            )
        )
    return out


def _seams(stage: Stage) -> Piece:
    seam = stage.seam()
    return Piece(lines=(*seam, *stage.turn(seam, False)))


def gown(stage: Stage, item: str) -> Pieces:
    """A back-opening gown with knitted cuffs, tied at neck and waist."""
    cut = _GOWNS[item]
    out = _sleeves(stage, item, cut.fill, c.KNIT)
    hem = cut.sides
    edge = (
        (
            "M240,219 C252,218 262,212 267,202 C280,208 300,214 314,219.5 "
            if stage.front
            else "M240,212 C252,211 262,206 267,198 C280,206 300,213 314,219.5 "
        )
        + "M323,316 C324,342 319,372 319,398 "
        + hem
    )
    shade = stage.path(_right_shade(hem))
    waist = "M240,400 C272,400 298,397 319.2,390 M240,412 C272,412 298,409 320,402"
    if stage.front:
        out.append(
            Piece(
                surface=f"{item}.front",
                outline=stage.both(cut.front),
                fill=cut.fill,
                contour=(),
                hatch=stage.both(_FRONT_HATCH),
            )
        )
        out.append(
            Piece(
                surface=f"{item}.skirt",
                outline=stage.both(cut.skirt),
                fill=cut.fill,
                contour=stage.both(edge),
                shade=shade,
                lines=(*stage.both("M240,228 C255,227 267,220 273,209"), *stage.both(waist), *lap(stage)),
                folds=stage.both(cut.folds),
            )
        )
    else:
        out.append(
            Piece(
                surface=f"{item}.back",
                outline=stage.both(cut.back),
                fill=cut.fill,
                contour=stage.both(edge),
                shade=(*shade, *stage.path(_overlap(hem))),
                lines=(*stage.path(_opening(hem)), *stage.both(waist)),
                folds=stage.both(cut.folds),
            )
        )
        out.append(bow(stage, f"{item}.ties", 246, 216, 0.74))
        out.append(bow(stage, f"{item}.ties", 268, 405, 1.0))
    out.append(_seams(stage))
    return tuple(out)


_FRONT_HATCH = (
    "M240,236 C258,235 270,226 277,216 C288,220 298,223 307,226 C313,254 315,288 316,316 "
    "C317,342 312,366 312,384 C296,389 270,392 240,392"
)


def _right_shade(hem: str) -> str:
    low = "322,791" if hem == _LONG else "318,712"
    end = (
        "C334,790 345,787 352,784 C345,612 329,470 319,398 Z"
        if hem == _LONG
        else "C330,710 338,707 344,704 C340,580 327,460 319,398 Z"
    )
    return (
        f"M319,398 L308,400 C316,500 318,640 {low} {end} M323,316 C324,342 "
        "319,372 319,398 L308,399 C308,370 312,344 323,316 Z"
    )


def _overlap(hem: str) -> str:
    end = 797 if hem == _LONG else 716
    return (
        f"M226,212 C222,300 216,400 214,520 C212,620 212,680 213,{end - 1} L236,{end} "
        f"C236,660 236,600 238,500 C240,400 246,300 252,211 Z"
    )


def _opening(hem: str) -> str:
    end = 797 if hem == _LONG else 716
    return f"M252,211 C248,300 240,400 238,500 C236,600 236,660 236,{end}"


_TORSO = "C280,208 300,214 314,219.5 C320,250 322,286 323,316 C324,342 321,372 321,397 "
_SUIT_LEG = (
    "C333,530 333,560 327,604 C323,640 317,668 317,698 C318,730 321,760 320,790 C319,822 316,844 314,862 "
    "C296,870 270,870 251,864 C247,828 243,796 242.6,764 C242.4,740 244,716 244,694 C244,640 243,580 241,548 "
    "L240,546"
)
_SUIT_EDGE = "M323,316 C324,342 321,372 321,398 C323,432 328,468 329,496 " + _SUIT_LEG
_LEGS = "M240,405 C266,405 300,403 321,397 C323,432 328,468 329,496 " + _SUIT_LEG
_COVERALLS = {
    "coverall-impermeable": c.COVERALL,
    "coverall-fluid-resistant": c.COVERALL_FLUID,
    "coverall-hooded": c.COVERALL,
}
_HOOD_BACK = "M240,50 C276,50 300,76 301,114 C301,142 295,166 284,186 C281,193 282,198 285,205 C272,216 256,220 240,220"
_HOOD_HOLE = "M240,92 C262,92 276,104 279,128 C280,152 274,172 264,186 C257,193 248,195 240,195"


def coverall(stage: Stage, item: str) -> Pieces:
    """One suit from neck to ankle, closed by a flap over a zip in front; the hooded one closes round the face."""
    fill = _COVERALLS[item]
    out = _sleeves(stage, item, fill, c.KNIT)
    neck = "M240,214 C254,213 264,207 267,198 " if stage.front else "M240,206 C254,206 264,202 267,196 "
    torso = neck + _TORSO + "C300,402 266,404 240,404"
    edge = neck + "C280,208 300,214 314,219.5 " + _SUIT_EDGE
    waist = "M240,404 C266,404 300,402 321,396"
    out.append(
        Piece(
            surface=f"{item}.legs",
            outline=stage.both(_LEGS),
            fill=fill,
            contour=(),
            folds=stage.both(
                "M290,540 C292,590 290,630 286,668 M256,694 C268,704 292,704 304,696 "
                "M256,846 C270,853 296,853 312,846 M254,700 C266,708 280,709 290,706"
            ),
        )
    )
    out.append(
        Piece(
            surface=f"{item}.{'front' if stage.front else 'back'}",
            outline=stage.both(torso),
            fill=fill,
            contour=stage.both(edge),
            hatch=stage.both(_SUIT_HATCH if stage.front else _SUIT_HATCH_BACK),
            lines=(
                *stage.both("M250.5,857 C268,863 296,862 314.2,854"),
                *stage.both(waist),
                *stage.knees(),
                *(() if stage.front else stage.both("M240,546 L240,470")),
            ),
            folds=stage.both(
                "M262,404 C263,398 263,396 262,390 M284,403 C285,397 285,394 284,388 "
                "M304,400 C305,394 305,391 304,386 M286,330 C296,322 306,312 312,300 "
                "M262,415 C262,424 263,432 264,440 M292,414 C293,424 295,432 297,440"
            ),
        )
    )
    if stage.front:
        out.append(
            Piece(
                surface=f"{item}.flap",
                outline=stage.both("M240,214 L247,213.5 L247,512 L240,514"),
                fill=fill,
                weight=1.5,
                margin=0.0,
                lines=stage.path("M240,214 L240,512"),
            )
        )
    out.append(_seams(stage))
    if item == "coverall-hooded":
        out += on_head(tuple(_suit_hood(stage, item, fill)))
    else:
        collar = (
            "M240,214 C254,213 264,207 267,198 L271,206 C268,217 256,224 240,225"
            if stage.front
            else "M240,196 C252,196 260,193 265,189 L271,205 C264,211 252,214 240,214"
        )
        out.append(Piece(outline=stage.both(collar), fill=fill, weight=2.0))
    return tuple(out)


_SUIT_HATCH = (
    "M254,222 C266,220 273,216 277,212 C288,217 298,221 307,226 C313,254 315,288 316,316 "
    "C317,342 314,370 314,391 C298,395 276,397 254,397 Z"
)
_SUIT_HATCH_BACK = (
    "M240,222 C258,221 268,217 276,212 C288,217 298,221 307,226 C313,254 315,288 316,316 "
    "C317,342 314,370 314,391 C298,395 270,397 240,397"
)


def _suit_hood(stage: Stage, item: str, fill: str) -> list[Piece]:
    top = stage.headed()
    if not stage.front:
        return [
            Piece(
                surface=f"{item}.hood",
                outline=top.both(_HOOD_BACK),
                fill=fill,
                lines=top.both("M240,52 C262,54 276,84 276,126 C276,164 268,190 262,210"),
                folds=top.both("M296,150 C288,154 282,154 278,152 M290,176 C282,180 276,180 270,177"),
            )
        ]
    shape = (*top.both(_HOOD_BACK), *top.both(_HOOD_HOLE))
    return [
        Piece(
            surface=f"{item}.hood",
            outline=shape,
            fill=fill,
            holes=True,
            margin=5.0,
            lines=top.both("M240,87 C266,87 281,101 284,128 C285,154 279,176 268,190 C259,198 250,200 240,200"),
            folds=top.both(
                "M262,56 C266,66 268,74 268,84 M284,74 C282,84 282,92 282,100 M297,130 C292,132 289,133 286,133"
            ),
        )
    ]

"""The person: skin, hair, face, a plain underlayer, scrubs."""

from __future__ import annotations

from vestry.figure import palette as c
from vestry.figure.hands import arm_sites, bare_arms
from vestry.figure.pieces import Piece, Pieces, on_head
from vestry.figure.stage import Stage, Width

_TRUNK = (
    "M240,228 C258,228 268,218 275,216 C290,217 304,219.5 315,222 C326,228 331,246 330,262 "
    "C328,290 322,304 318,318 C318,348 316,372 314,392 C315,430 318,462 318,500 C316,512 296,518 240,518"
)
_LEGS = (
    "M240,486 L315,486 C319,520 319,560 316,596 C312,636 304,664 303,694 C304,720 308,744 306,768 "
    "C303,806 299,836 297,866 C284,872 272,872 264,868 C261,832 255,800 254,768 C254,744 256,720 255,694 "
    "C253,640 247,572 242,530 L240,528"
)
_FOOT = (
    "M264,858 C263,874 257,884 255,896 C254,907 260,911 268,911 L306,911 C315,911 319,906 316,898 "
    "C311,886 301,876 297,858 C287,854 274,854 264,858 Z"
)
_HEEL = (
    "M264,858 C262,874 261,886 262,898 C263,908 268,911 276,911 L290,911 C298,911 302,907 301,898 "
    "C300,886 298,874 297,858 C287,854 274,854 264,858 Z"
)
_NECK = "M240,160 L262,160 C261,184 261,196 264,205 C268,212 276,216 284,219 C272,234 256,244 240,250"
_EARS = "M278.5,121 C286.5,113.5 291.5,123 288,134 C286,142.5 281,147 277,143.5 Z"
_SKULL = "M240,72 C265,72 279.5,93 279.5,124 C279.5,141 276.5,154 269.5,166 C262,178.5 251,185 240,185"
_HAIR = (
    "M240,62 C276,61 290,92 286.5,124 C285,128 282,127 280.5,123 C280,110 276,100 266,94 "
    "C254,98 236,98 222,92 C212,96 202,106 199.5,123 C198,127 195,128 193.5,124 C190,92 206,62 240,62 Z"
)
_HAIR_BACK = "M240,62 C274,62 290,90 287,124 C286,146 279,164 268,176 C258,182 249,183 240,183"
_EYES = "M249.5,131 C253,125.4 262,125.4 265.5,131"
_IRIS = (
    "M257.5,127.5 C259.3,127.5 260.7,128.9 260.7,130.7 C260.7,132.5 259.3,133.9 257.5,133.9 "
    "C255.7,133.9 254.3,132.5 254.3,130.7 C254.3,128.9 255.7,127.5 257.5,127.5 Z"
)
_BROWS = "M247.5,118.7 C254.5,114 263.5,114 268,119 L267.4,121 C262.5,116.8 254.5,116.8 248.2,121.2 Z"
_VEST = (
    "M240,268 C262,266 272,246 276,215 L299,220.5 C300,252 306,292 318,318 "
    "C318,348 316,372 314,392 C315,414 317,430 318,446 C300,452 270,454 240,454"
)
_VEST_BACK = (
    "M240,250 C262,248 272,236 276,215 L299,220.5 C300,252 306,292 318,318 "
    "C318,348 316,372 314,392 C315,414 317,430 318,446 C300,452 270,454 240,454"
)
_SHORTS = (
    "M240,444 C270,446 298,444 318,438 C320,470 321,500 321,530 C321,560 320,580 317,602 "
    "C304,609 270,610 250,605 C247,580 244,560 241,546 L240,545"
)


def body(stage: Stage, clothed: bool = False) -> Pieces:
    """The person; under work clothing only what it leaves bare is drawn."""
    feet = stage.both(_FOOT if stage.front else _HEEL)
    toes = "M262,897 C276,901 300,901 314,897" if stage.front else "M266,897 C276,900 290,900 298,897"
    out: list[Piece] = [Piece(outline=feet, fill=c.SKIN, folds=stage.both(toes))]
    if not clothed:
        bend = "M268,690 C276,698 290,698 297,691" if stage.front else "M264,694 C274,688 288,688 298,694"
        out += [
            Piece(outline=stage.both(_LEGS), fill=c.SKIN, folds=stage.both(bend), lines=stage.knees()),
            Piece(outline=stage.both(_TRUNK), fill=c.SKIN),
        ]
    out += [*_neck(stage), *on_head(_head(stage)), *bare_arms(stage)]
    if not clothed:
        out += [
            Piece(
                outline=stage.both(_SHORTS),
                fill=c.UNDER,
                weight=2.0,
                lines=stage.both("M240,546 L240,500 M249.5,594 C272,599 298,599 316.5,593"),
            ),
            Piece(outline=stage.both(_VEST if stage.front else _VEST_BACK), fill=c.UNDER, weight=2.0),
        ]
    return tuple(out)


def _neck(stage: Stage) -> Pieces:
    """The throat stays with the trunk; the nape goes with the head."""
    if not stage.front:
        return ()
    shade = stage.both("M240,187 C251,187 260,181 263,173 L263.6,192 C256,202 248,204 240,204")
    neck = Piece(
        outline=stage.both(_NECK),
        fill=c.SKIN,
        shade=shade,
        contour=stage.both("M262,164 C261,184 261,196 264,205 C268,212 276,216 284,219"),
    )
    return (neck,)


def _head(stage: Stage) -> Pieces:
    top = stage.headed()
    ears = Piece(outline=top.both(_EARS), fill=c.SKIN)
    if not stage.front:
        nape = Piece(
            outline=top.both(
                "M240,150 L262,160 C261,184 261,196 264,205 C268,211 276,216 284,219 C268,228 254,232 240,232"
            ),
            fill=c.SKIN,
            folds=top.both("M246,186 C247,194 247,202 248,208"),
        )
        return ears, nape, Piece(outline=top.both(_HAIR_BACK), fill=c.HAIR, weight=1.8)
    face = Piece(
        outline=top.both(_SKULL),
        fill=c.SKIN,
        lines=(
            *top.both(_EYES),
            *top.both("M251.5,134.6 C255.5,136.4 260.5,136.4 263.5,134.6"),
            *top.path(
                "M243,136 C244,144 247,149 247,152 C246,155.5 242,156.5 238,155.5 "
                "M229,168 C235,170.8 245,170.8 251,168 M235,175 C238,176.4 242,176.4 245,175"
            ),
        ),
        dark=(*top.both(_IRIS), *top.both(_BROWS)),
    )
    hair = Piece(outline=top.path(_HAIR), fill=c.HAIR, weight=1.8)
    return ears, face, hair


def sites(stage: Stage) -> Pieces:
    """The wearer's own surfaces: where each is hatched when it is bare, or clothed for work."""
    top = stage.headed()
    out = [
        Piece(
            surface="body.soles",
            hatch=stage.both("M255,904 L317,904 C316,909 312,911 306,911 L268,911 C262,911 257,909 255,904 Z"),
        ),
        Piece(surface="body.feet", hatch=stage.both(_FOOT if stage.front else _HEEL)),
        Piece(
            surface="body.shins",
            hatch=stage.both(
                "M254,700 L304,700 C306,724 310,746 308,768 C304,806 299,832 298,852 L265,852 "
                "C261,826 254,800 253,768 C253,744 255,722 254,700 Z"
            ),
        ),
        Piece(
            surface="body.thighs",
            hatch=stage.both(
                "M243,524 L322,510 C326,540 326,570 321,600 C317,630 308,660 "
                "306,688 L255,688 C252,640 246,572 243,524 Z"
            ),
        ),
    ]
    trunk = (
        "M240,272 C256,264 266,240 270,220 L300,226 C306,256 312,292 318,316 C318,346 318,372 316,392 "
        "C318,430 322,462 322,494 C300,502 270,503 240,503"
    )
    rear = (
        "M240,240 C256,238 264,230 270,220 L300,226 C306,256 312,292 318,316 C318,346 318,372 316,392 "
        "C318,430 322,462 322,494 C300,502 270,503 240,503"
    )
    if stage.front:
        out += [
            Piece(surface="body.torso", hatch=stage.both(trunk)),
            Piece(
                surface="body.neck",
                hatch=stage.both(
                    "M240,192 C250,191 256,188 260,184 C260,196 262,204 264,207 "
                    "C268,212 272,214 276,216 C264,230 252,238 240,242"
                ),
            ),
            Piece(
                surface="body.face",
                hatch=top.both("M240,98 C258,98 270,104 276,118 C276,140 274,154 267,164 C260,175 250,181 240,181"),
            ),
            Piece(
                surface="body.eyes",
                hatch=top.both("M246,126 C250,119 264,118 271,126 C272,133 269,139 261,140 C253,141 247,137 246,126 Z"),
            ),
            Piece(
                surface="body.nose-mouth",
                hatch=top.both("M240,138 C247,138 250,146 254,152 C260,158 262,166 258,173 C252,179 246,180 240,180"),
            ),
            Piece(surface="body.hair-ears", outline=top.path(_HAIR), fill=c.HAIR_HATCHED, margin=4.0),
        ]
    else:
        out += [
            Piece(surface="body.back", hatch=stage.both(rear)),
            Piece(
                surface="body.neck",
                hatch=top.both(
                    "M240,187 L259,183 C260,196 262,204 264,207 C268,212 272,214 276,216 C264,224 252,228 240,228"
                ),
            ),
            Piece(surface="body.hair-ears", outline=top.both(_HAIR_BACK), fill=c.HAIR_HATCHED, margin=4.0),
        ]
    head_sites = {"body.face", "body.eyes", "body.nose-mouth", "body.hair-ears"}
    if not stage.front:
        head_sites.add("body.neck")
    marked = tuple(p for q in out for p in (on_head((q,)) if q.surface in head_sites else (q,)))
    return (*marked, *arm_sites(stage))


_TROUSERS = (
    "M240,470 L318,470 C324,505 324,545 320,592 C316,634 310,664 310,694 C311,722 314,744 313,768 "
    "C312,806 309,840 308,870 C292,876 270,876 255,872 C253,832 250,798 250,766 C250,742 252,718 251,694 "
    "C249,640 245,572 241,528 L240,527"
)
_TOP = (
    "M240,246 L262,214 C277,214 296,216 312,219.8 C322,256 322,290 321,314 C322,340 321,366 321,392 "
    "C322,430 326,470 328,502 C300,510 268,512 240,512"
)
_TOP_BACK = (
    "M240,226 C252,226 262,220 268,212 C280,214 296,216 312,219.8 C322,256 322,290 321,314 "
    "C322,340 321,366 321,392 C322,430 326,470 328,502 C300,510 268,512 240,512"
)


_SLEEVE: tuple[Width, ...] = ((0.0, 26.5, 26.5), (0.28, 27.5, 27), (0.48, 28, 28))


def scrubs(stage: Stage) -> Pieces:
    """Trousers and a V-necked top with short sleeves."""
    sleeve = stage.tube(_SLEEVE)
    outer, inner = stage.sides(_SLEEVE)
    arm = stage.pose.arm
    hem = arm.line([(0.48, 28), (0.51, 0), (0.48, -28)])
    out = [
        Piece(
            outline=stage.both(_TROUSERS),
            fill=c.SCRUB,
            lines=(*stage.both("M240,527 L240,500"), *stage.knees()),
            folds=stage.both(
                "M284,560 C286,604 284,636 281,664 M262,690 C270,697 284,698 294,694 M264,846 C272,852 286,853 298,849"
            ),
        )
    ]
    for right in (True, False):
        turn = stage.turn
        out.append(
            Piece(
                outline=turn(sleeve, right),
                fill=c.SCRUB,
                contour=tuple(s for p in (outer, inner, hem) for s in turn(p, right)),
                folds=turn(arm.line([(0.42, 26), (0.45, 0), (0.42, -26)]), right),
            )
        )
    if stage.front:
        out.append(
            Piece(
                outline=stage.both(_TOP),
                fill=c.SCRUB,
                contour=stage.both(
                    "M240,246 L262,214 C277,214 296,216 312,219.8 "
                    "M321,314 C322,340 321,366 321,392 C322,430 326,470 328,502 C300,510 268,512 240,512"
                ),
                lines=(
                    *stage.both("M240,256 L267,215"),
                    *stage.path("M258,300 L296,300 L296,338 C284,342 270,342 258,338 Z"),
                ),
                folds=stage.both("M272,478 C274,450 276,424 274,398 M302,470 C303,452 305,436 304,420"),
            )
        )
    else:
        out.append(
            Piece(
                outline=stage.both(_TOP_BACK),
                fill=c.SCRUB,
                contour=stage.both(
                    "M240,226 C252,226 262,220 268,212 C280,214 296,216 312,219.8 "
                    "M321,314 C322,340 321,366 321,392 C322,430 326,470 328,502 C300,510 268,512 240,512"
                ),
                lines=stage.both("M240,234 C256,234 266,226 272,214"),
                folds=stage.both("M280,478 C284,450 286,424 286,398 M264,330 C272,324 280,314 284,304"),
            )
        )
    seams = stage.seam()
    out.append(Piece(lines=(*seams, *stage.turn(seams, False))))
    return tuple(out)

"""Masks, respirators, eye protection, caps and hoods without power."""

from __future__ import annotations

from vestry.figure import palette as c
from vestry.figure.path import MID
from vestry.figure.pieces import Piece, Pieces
from vestry.figure.stage import Stage

_RESPIRATOR = "M240,134 C247,134 251,141 256,148 C264,153 271.5,158 272.5,167 C272.5,180 259,196 240,197"
_MASK = (
    "M240,143 C248,143 254,147 262,149 C268,150.5 272,152 274,153 C276,164 274.5,176 268,185 C260,193 250,197 240,197"
)


def respirator(stage: Stage, item: str) -> Pieces:
    """A cup held by two straps round the head."""
    top = stage.headed()
    if not stage.front:
        return (
            Piece(
                surface=f"{item}.straps",
                band=top.path("M194,108 C206,88 274,88 286,108 M207,172 C222,182 258,182 273,172"),
                width=3.6,
            ),
        )
    return (
        Piece(
            surface=f"{item}.straps",
            band=top.both("M270,158 C275,146 280,132 285,112 M268,178 C271,176 274,173 276,170"),
            width=3.4,
        ),
        Piece(
            surface=f"{item}.front",
            outline=top.both(_RESPIRATOR),
            fill=c.RESPIRATOR,
            margin=4.5,
            lines=(
                *top.both("M240,164 C254,164 264,166 272,170"),
                *top.path("M240,150 L240,196"),
                *top.both("M240,139.5 C245,139.5 248,145.5 252,151"),
            ),
        ),
    )


def mask(stage: Stage, item: str) -> Pieces:
    """A pleated mask on two ear loops."""
    top = stage.headed()
    if not stage.front:
        return (
            Piece(
                surface=f"{item}.straps",
                band=top.both("M281,117 C287,118 288.5,128 285,139 C283,144 279,148 276,150"),
                width=2.8,
            ),
        )
    return (
        Piece(
            surface=f"{item}.straps",
            band=top.both(
                "M273,154 C279,147 284,138 284,128 C284,121 281,117 279,120 M270,182 C276,172 279,158 280,142"
            ),
            width=2.6,
        ),
        Piece(
            surface=f"{item}.front",
            outline=top.both(_MASK),
            fill=c.MASK,
            margin=4.5,
            lines=top.both(
                "M240,160 C254,161 266,163 275,165 M240,171 C254,172 266,173 "
                "274.5,175 M240,182 C252,182.5 262,183 270,183.5"
            ),
            folds=top.both("M240,149 C246,149 251,152 257,154"),
        ),
    )


_LENS = (
    "M240,109 C254,108 266,108 272,111 C278,114 280,121 279.5,130 C279,141 273,147.5 263,147.5 "
    "C252,147.5 249,139.5 240,139.5"
)
_GLASS = (
    "M240,114 C253,113 264,113 269.5,115.5 C274,118 275,123 274.6,130 C274,138 270,142.5 263,142.5 "
    "C254.5,142.5 251,134.8 240,134.8"
)


def goggles(stage: Stage, item: str) -> Pieces:
    """Sealed goggles on one broad strap."""
    top = stage.headed()
    half = stage.head_half
    x = MID + half
    if not stage.front:
        return (
            Piece(
                surface=f"{item}.strap",
                outline=top.both(
                    f"M240,126 C{MID + half * 0.5},126 {MID + half * 0.85},122 {x + 0.6},113 L{x + 0.3},125 "
                    f"C{MID + half * 0.85},134 {MID + half * 0.5},138 240,138"
                ),
                fill=c.POWER_LIGHT,
                margin=0.0,
                weight=2.0,
            ),
            Piece(outline=top.path("M231,125 L249,125 L249,139 L231,139 Z"), fill=c.POWER, weight=1.8),
        )
    return (
        Piece(
            surface=f"{item}.strap",
            outline=top.both(
                f"M276,119 C{(276 + x) / 2:.1f},118 {x - 3},116 {x + 0.4},113 "
                f"L{x + 0.2},125 C{x - 3},128 {(276 + x) / 2:.1f},131 277,133 Z"
            ),
            fill=c.POWER_LIGHT,
            margin=0.0,
            weight=2.0,
        ),
        Piece(outline=(*top.both(_LENS), *top.both(_GLASS)), fill=c.POWER_LIGHT, holes=True, weight=2.0),
        Piece(
            surface=f"{item}.lens",
            outline=top.both(_GLASS),
            fill=c.GLASS,
            opacity=0.5,
            hatch=top.both(_GLASS),
            weight=1.6,
            gleam=top.path("M256,119 L250,131 M216,119 L211,131"),
        ),
    )


def _visor(half: float) -> str:
    w = MID + max(half - 6, 46)
    low = MID + max(half - 13, 41)
    return (
        f"M240,98 C264,98 {w - 8:.1f},100 {w:.1f},104 C{w + 3:.1f},136 {w:.1f},176 {low:.1f},202 "
        f"C{low - 6:.1f},222 262,233 240,233"
    )


def _visor_hatch(half: float) -> str:
    w = MID + max(half - 11, 41)
    low = MID + max(half - 18, 36)
    return (
        f"M240,108 C264,108 {w - 8:.1f},110 {w:.1f},113 C{w + 3:.1f},138 {w:.1f},174 {low:.1f},198 "
        f"C{low - 6:.1f},217 260,227 240,227"
    )


def shield(stage: Stage, item: str) -> Pieces:
    """A clear visor to below the chin, on a band round the head."""
    top = stage.headed()
    half = stage.head_half
    x = MID + half
    if not stage.front:
        return (
            Piece(
                surface=f"{item}.strap",
                outline=top.both(
                    f"M240,122 C{MID + half * 0.4:.1f},122 "
                    f"{MID + half * 0.8:.1f},118 {x + 0.8:.1f},104 L{x + 0.8:.1f},117 "
                    f"C{MID + half * 0.8:.1f},131 {MID + half * 0.4:.1f},135 240,135"
                ),
                fill=c.BAND,
                margin=0.0,
                weight=2.2,
            ),
            Piece(outline=top.path("M228,119.5 L252,119.5 L252,137.5 L228,137.5 Z"), fill=c.INK, weight=1.6),
        )
    w = MID + max(half - 5, 47)
    return (
        Piece(
            surface=f"{item}.strap",
            outline=top.both(
                f"M{w - 4:.1f},98 C{x - 1:.1f},98 {x + 1:.1f},101 {x + 1.4:.1f},104 "
                f"L{x + 1.4:.1f},116 C{x:.1f},114 {x - 2:.1f},112 {w - 4:.1f},112 Z"
            ),
            fill=c.BAND,
            margin=0.0,
            weight=2.2,
        ),
        Piece(
            surface=f"{item}.visor",
            outline=top.both(_visor(half)),
            fill=c.GLASS,
            opacity=0.27,
            hatch=top.both(_visor_hatch(half)),
            gleam=top.path("M207,128 L196,172 M219,120 L202,188 M277,184 L271,208"),
        ),
        Piece(
            outline=top.both(
                f"M240,91 C264,91 {w - 8:.1f},94 {w:.1f},99 L{w:.1f},111 C{w - 9:.1f},106 262,104 240,104"
            ),
            fill=c.BAND,
            weight=2.2,
        ),
    )


_CAP = (
    "M240,54 C278,53 301,80 299,112 C298,127 293,139 288,146 C284,150 279,147 279,141 "
    "C279,122 274,108 261,103 C254,100.5 247,100 240,100"
)
_CAP_BACK = "M240,54 C278,53 301,80 299,112 C298,134 290,152 276,163 C264,170 252,171.5 240,171.5"


def hair_cover(stage: Stage, item: str) -> Pieces:
    """A gathered cap over hair and ears."""
    top = stage.headed()
    if not stage.front:
        return (
            Piece(
                surface=f"{item}.outside",
                outline=top.both(_CAP_BACK),
                fill=c.CAP,
                margin=6.0,
                lines=top.both("M240,161 C254,161 268,158 281,148"),
                folds=(
                    *top.both("M258,60 C264,90 264,126 258,156 M281,78 C287,100 284,126 276,146"),
                    *top.path("M240,56 L240,158"),
                ),
            ),
        )
    return (
        Piece(
            surface=f"{item}.outside",
            outline=top.both(_CAP),
            fill=c.CAP,
            margin=4.5,
            lines=top.both("M240,91 C254,91 270,94 279,106 C285,115 286,130 285,144"),
            folds=(
                *top.both(
                    "M258,60 C261,68 262,76 261,88 M279,74 C280,82 279,90 276,97 M291,96 C291,104 290,112 287,120"
                ),
                *top.path("M240,56 L240,88"),
            ),
        ),
    )


_CAPE = "M240,212 C258,212 276,208 288,202 C310,212 334,222 346,240 C353,256 354,272 350,288 C318,300 280,304 240,304"
_COWL = "M240,51 C276,51 302,74 303,112 C303,142 297,168 286,188 C283,196 284,202 289,208 C274,218 256,221 240,221"
_FACE = "M240,88 C264,88 279,100 282,126 C283,152 277,174 266,190 C258,198 249,200 240,200"
_FACE_RIM = "M240,82 C268,82 285,96 288,126 C289,156 282,178 270,195 C260,204 250,206 240,206"


def hood(stage: Stage, item: str) -> Pieces:
    """A cloth hood open at the face, with a cape over the shoulders."""
    top = stage.headed()
    cape = Piece(
        surface=f"{item}.shoulders",
        outline=stage.both(_CAPE),
        fill=c.HOOD,
        folds=stage.both("M268,226 C271,244 272,262 271,280 M300,220 C312,236 317,254 318,274"),
        lines=stage.both("M240,297 C280,297 316,293 347,282"),
    )
    if not stage.front:
        return (
            cape,
            Piece(
                surface=f"{item}.outside",
                outline=top.both(_COWL),
                fill=c.HOOD,
                margin=6.0,
                lines=(*top.path("M240,53 L240,220"), *top.both("M240,213 C256,213 272,210 285,201")),
                folds=top.both("M272,66 C284,92 285,140 274,186 M294,140 C288,144 284,145 280,144"),
            ),
        )
    return (
        cape,
        Piece(
            surface=f"{item}.outside",
            outline=(*top.both(_COWL), *top.both(_FACE)),
            fill=c.HOOD,
            holes=True,
            margin=4.5,
            lines=top.both(_FACE_RIM),
            folds=top.both(
                "M258,54 C261,62 262,70 261,80 M282,66 C284,76 284,84 283,92 M299,122 C295,124 292,125 289,125"
            ),
        ),
    )

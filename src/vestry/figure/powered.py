"""Powered respirators: hood, hose, belt unit; helmet and its shroud."""

from __future__ import annotations

from vestry.figure import palette as c
from vestry.figure.pieces import Piece, Pieces
from vestry.figure.stage import Stage

_HOOD = "M240,44 C276,44 306,62 311,98 C316,134 311,172 300,196 C297,204 298,210 302,216 C284,226 262,229 240,229"
_WINDOW = "M240,82 C270,82 292,89 296,104 C300,136 296,172 285,194 C273,205 256,208 240,208"
_WINDOW_HATCH = "M240,90 C268,90 286,96 289.5,108 C293,136 289.5,169 279.5,188.5 C269,198 255,201 240,201"
_CAPE = "M240,216 C260,216 282,211 297,205 C320,214 340,226 352,244 C358,262 358,278 354,294 C320,306 282,310 240,310"
_BELT = "M240,404 C272,404 300,400 319.5,394 L321.5,412 C304,418 272,422 240,422"


def hood(stage: Stage, item: str) -> Pieces:
    """A loose hood with a broad window; air comes in by the port at the back."""
    top = stage.headed()
    cape = Piece(
        surface=f"{item}.shoulders",
        outline=stage.both(_CAPE),
        fill=c.HOOD,
        lines=stage.both("M240,302 C282,302 320,298 356,286"),
        folds=stage.both("M268,232 C272,250 273,266 272,284 M304,224 C317,240 322,258 323,276"),
    )
    if not stage.front:
        return (
            cape,
            Piece(
                surface=f"{item}.outside",
                outline=top.both(_HOOD),
                fill=c.HOOD,
                lines=top.both("M240,221 C262,221 284,218 298,209"),
                folds=top.both("M240,58 C266,60 287,88 288,134 C288,170 282,190 276,206"),
            ),
            Piece(
                surface=f"{item}.hose-port",
                outline=top.path(
                    "M224,176 C224,170 227,167 233,167 L247,167 C253,167 256,170 256,176 L256,196 "
                    "C256,202 253,205 247,205 L233,205 C227,205 224,202 224,196 Z"
                ),
                fill=c.POWER,
                margin=2.0,
                weight=2.2,
                lines=top.path("M231,186 C231,180 249,180 249,186 C249,192 231,192 231,186 Z"),
            ),
        )
    return (
        cape,
        Piece(
            surface=f"{item}.visor",
            outline=top.both(_WINDOW),
            fill=c.GLASS,
            opacity=0.27,
            hatch=top.both(_WINDOW_HATCH),
            gleam=top.path("M206,108 L194,156 M220,100 L199,180 M284,170 L278,190"),
        ),
        Piece(
            surface=f"{item}.outside",
            outline=(*top.both(_HOOD), *top.both(_WINDOW)),
            fill=c.HOOD,
            holes=True,
            margin=4.0,
            lines=top.both("M240,221 C262,221 284,218 298,209"),
            folds=top.both(
                "M258,48 C260,58 261,66 260,77 M284,60 C287,68 287,76 285,84 M308,120 C305,122 303,122 300,122"
            ),
        ),
    )


def hose(stage: Stage, item: str) -> Pieces:
    """The breathing hose from the port to the belt unit."""
    if stage.front:
        behind = "M314,140 C329,150 329,196 303,212 L300,197 C308,182 313,164 314,140 Z"
        ribs = "M316.5,158 L324,154 M316,167 L326,165 M314,176 L326,177 M311,185 L323,190 M307,193 L317,201"
        return (
            Piece(
                surface=f"{item}.hose",
                outline=stage.headed().path(behind),
                fill=c.POWER_LIGHT,
                lines=stage.headed().path(ribs),
                margin=0.0,
                weight=2.2,
                part="head",
            ),
        )
    return (
        Piece(
            surface=f"{item}.hose",
            band=stage.path("M250,398 C250,362 296,350 295,304 C294,262 246,252 240,196"),
            width=17,
            ribbed=True,
        ),
        Piece(outline=stage.path("M228,178 L252,178 L253,202 L227,202 Z"), fill=c.POWER, weight=2.0),
        Piece(outline=stage.path("M237,384 L263,386 L262,400 L236,398 Z"), fill=c.POWER, weight=2.0),
    )


def belt_unit(stage: Stage, item: str) -> Pieces:
    """A belt with the blower and its filters at the back."""
    belt = Piece(surface=f"{item}.belt", outline=stage.both(_BELT), fill=c.POWER, margin=2.0, weight=2.2)
    if stage.front:
        return (
            belt,
            Piece(
                outline=stage.path("M226,401 L254,401 L254,425 L226,425 Z"),
                fill=c.POWER_LIGHT,
                weight=2.0,
                lines=stage.path("M240,402 L240,424 M232,413 L248,413"),
            ),
        )
    unit = (
        "M196,404 C196,396 201,392 209,392 L271,392 C279,392 284,396 284,404 L284,446 C284,454 279,458 271,458 "
        "L209,458 C201,458 196,454 196,446 Z"
    )
    filters = (
        "M207,412 C207,406 210,404 215,404 L237,404 C242,404 245,406 245,412 L245,438 "
        "C245,444 242,446 237,446 L215,446 C210,446 207,444 207,438 Z"
    )
    return (
        belt,
        Piece(surface=f"{item}.unit", outline=stage.path(unit), fill=c.POWER_LIGHT, margin=4.0),
        Piece(
            outline=stage.path(filters),
            fill=c.POWER,
            weight=2.0,
            gleam=stage.path("M214,413 L238,413 M214,421 L238,421 M214,429 L238,429 M214,437 L238,437"),
        ),
        Piece(
            outline=stage.path(
                "M254,408 L275,408 L275,420 L254,420 Z M258,436 C258,428 272,428 272,436 C272,444 258,444 258,436 Z"
            ),
            fill=c.POWER,
            weight=1.8,
        ),
    )


_SHELL = "M240,40 C284,40 308,66 309,104 C296,96 270,92 240,92"
_SHELL_BACK = "M240,40 C284,40 309,68 309,112 C308,136 302,152 294,164 C278,170 258,172 240,172"
_HELMET_VISOR = "M240,88 C268,88 292,93 304,102 C306,138 302,176 290,202 C274,214 256,217 240,217"
_HELMET_HATCH = "M240,98 C266,98 286,102 297,109 C299,138 295,172 284,195 C271,206 255,209 240,209"


def helmet(stage: Stage, item: str) -> Pieces:
    """A hard shell with the blower inside, a visor and a cloth seal below the chin."""
    top = stage.headed()
    if not stage.front:
        return (
            Piece(
                surface=f"{item}.chin-seal",
                outline=top.both("M240,164 L291,160 C288,182 280,200 270,210 C260,215 250,216 240,216"),
                fill=c.POWER,
                margin=3.0,
                weight=2.2,
                folds=top.both("M262,170 C262,186 260,200 256,212"),
            ),
            Piece(
                surface=f"{item}.outside",
                outline=top.both(_SHELL_BACK),
                fill=c.HELMET,
                lines=(
                    *top.both("M240,150 C262,150 284,147 302,140"),
                    *top.path(
                        "M220,122 C220,112 260,112 260,122 L260,138 C260,144 220,144 220,138 Z "
                        "M227,122 L253,122 M227,129 L253,129 M227,136 L253,136"
                    ),
                ),
                folds=top.both("M264,46 C280,62 288,84 288,108"),
            ),
        )
    return (
        Piece(
            surface=f"{item}.chin-seal",
            outline=top.both("M240,208 C258,208 276,204 292,194 C293,206 288,218 278,224 C266,230 254,232 240,232"),
            fill=c.POWER,
            margin=2.5,
            weight=2.2,
            folds=top.both("M262,209 C263,216 263,222 261,228 M280,203 C282,209 282,214 280,220"),
        ),
        Piece(
            surface=f"{item}.visor",
            outline=top.both(_HELMET_VISOR),
            fill=c.GLASS,
            opacity=0.27,
            hatch=top.both(_HELMET_HATCH),
            gleam=top.path("M200,114 L190,160 M214,108 L194,184 M288,172 L282,194"),
        ),
        Piece(
            surface=f"{item}.outside",
            outline=top.both(_SHELL),
            fill=c.HELMET,
            margin=4.0,
            lines=top.both("M240,78 C268,78 292,84 306,92"),
            folds=top.both("M262,43 C274,52 280,64 282,76"),
        ),
    )


_SHROUD = "M240,36 C290,36 316,66 317,106 C318,142 312,176 304,200 C303,208 305,214 309,220 C288,230 264,233 240,233"
_SHROUD_WINDOW = "M240,94 C270,94 292,98 301,107 C303,140 299,174 288,198 C273,209 256,212 240,212"
_SHROUD_HATCH = "M240,103 C268,103 286,106 294,113 C296,140 292,170 282,191 C270,201 255,204 240,204"


def shroud(stage: Stage, item: str) -> Pieces:
    """A disposable cover over the helmet, with a window and a cape."""
    top = stage.headed()
    cape = Piece(
        surface=f"{item}.shoulders",
        outline=stage.both(_CAPE),
        fill=c.SHROUD,
        folds=stage.both(
            "M262,232 C264,252 265,270 264,290 M290,226 C300,244 304,262 304,282 M322,226 C332,242 336,258 337,274"
        ),
    )
    if not stage.front:
        return (
            cape,
            Piece(
                surface=f"{item}.outside",
                outline=top.both(_SHROUD),
                fill=c.SHROUD,
                folds=(
                    *top.both("M256,42 C278,72 288,120 284,176 M300,100 C304,130 300,160 294,182"),
                    *top.path("M240,38 L240,120"),
                ),
                lines=top.both("M240,225 C264,225 288,221 305,211"),
            ),
        )
    return (
        cape,
        Piece(
            surface=f"{item}.window",
            outline=top.both(_SHROUD_WINDOW),
            fill=c.GLASS,
            opacity=0.27,
            hatch=top.both(_SHROUD_HATCH),
            gleam=top.path("M202,118 L192,162 M216,112 L196,186 M286,172 L280,192"),
        ),
        Piece(
            surface=f"{item}.outside",
            outline=(*top.both(_SHROUD), *top.both(_SHROUD_WINDOW)),
            fill=c.SHROUD,
            holes=True,
            margin=4.0,
            lines=top.both("M240,225 C264,225 288,221 305,211"),
            folds=top.both(
                "M258,42 C264,56 266,70 265,88 M288,56 C292,68 293,80 292,94 M313,124 C309,126 307,126 304,126"
            ),
        ),
    )

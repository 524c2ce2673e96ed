"""What a drawing is made of: pieces with a fill, a contour, shading and inner lines."""

from __future__ import annotations

from dataclasses import dataclass, replace

from vestry.figure.path import Path


@dataclass(frozen=True)
class Piece:
    """One flat part of the drawing.

    surface: the surface id that this part shows, or "" for none
    outline: closed shape, filled; also where the hatch goes
    fill: colour, or "" for a part that only lends its shape to the hatch
    opacity: of the fill (visors)
    contour: heavy lines; None stands for the outline itself
    shade, lines, folds: soft shadow shapes, thin lines, faint lines
    band: centre line of a strap or hose, drawn `width` thick instead of an outline
    base: colour of the bare margin where the piece itself has no fill
    hatch: shape to hatch where it differs from the outline (no bare margin is added)
    margin: bare margin inside the contour
    holes: the outline is filled by the even-odd rule
    part: "body", "arm", "head" or "behind" (seen past the body from its other side);
        arms may be drawn again over trunk and head, the head before or after the rest
    """

    surface: str = ""
    outline: Path = ()
    fill: str = ""
    opacity: float = 1.0
    contour: Path | None = None
    shade: Path = ()
    lines: Path = ()
    folds: Path = ()
    gleam: Path = ()
    dark: Path = ()
    band: Path = ()
    width: float = 0.0
    ribbed: bool = False
    base: str = ""
    hatch: Path = ()
    margin: float = 6.0
    holes: bool = False
    part: str = "body"
    weight: float = 2.6


Pieces = tuple[Piece, ...]


def on_head(pieces: Pieces) -> Pieces:
    """Pieces that move with the head; what hangs on the shoulders stays with the trunk."""
    return tuple(p if p.surface.endswith((".shoulders", ".hose")) else replace(p, part="head") for p in pieces)

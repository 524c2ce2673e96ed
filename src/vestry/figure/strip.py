"""A strip of figures: a route as one picture per touch, with the two faces marked and an arrow from one to the other.

A face that is not on the wearer (seat, dispenser, assistant) cannot be drawn on them; then only the wearer's is marked,
and the words beside the picture name the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from vestry.figure.compose import compose
from vestry.figure.layers import catalogue
from vestry.figure.view import FigureView, side_for

_REGIONS = {
    "head": ("eyes", "nose-mouth", "face", "hair-ears", "neck"),
    "hands": ("hand-l", "hand-r", "wrist-l", "wrist-r"),
    "feet": ("feet", "soles", "shins"),
    "trunk": ("torso", "back", "forearms", "thighs"),
}
_REGION = {site: region for region, sites in _REGIONS.items() for site in sites}
TALL = 300.0


@dataclass(frozen=True)
class Touching:
    """One touch to be drawn: what is worn, which face it goes from and to, how one stands, and what is said of it."""

    worn: tuple[str, ...]
    from_surface: str
    to_surface: str
    pose: str
    title: str


def strip(touches: Sequence[Touching], prefix: str) -> tuple[str, ...]:
    """One <svg> for each touch. `prefix` stands before every id, so that many can stand on one page."""
    return tuple(
        compose(view_of(one), prefix=f"{prefix}{number}-", height=TALL) for number, one in enumerate(touches, 1)
    )


def view_of(one: Touching) -> FigureView:
    """The part of the person that the touch is about, both faces marked."""
    both = (one.from_surface, one.to_surface)
    here = [surface for surface in both if _on_person(surface, one.worn)]
    return FigureView(
        worn=one.worn,
        contaminated=frozenset(here) if len(here) == 1 else frozenset(),
        passing=(both,) if len(here) == 2 else (),
        side=side_for(here),
        # Whoever leans hides the neck behind the head.
        pose="standing" if "body.neck" in both and one.pose == "leaning" else one.pose,
        crop=_crop(here),
        title=one.title,
    )


def _on_person(surface: str, worn: Sequence[str]) -> bool:
    owner = surface.partition(".")[0]
    return owner == "body" or owner in worn


def _crop(surfaces: Sequence[str]) -> str:
    """The one part in which all these faces lie; the whole person where they lie in several, or nowhere."""
    parts = {_part(surface) for surface in surfaces}
    return parts.pop() if len(parts) == 1 else "whole"


def _part(surface: str) -> str:
    owner, _, name = surface.partition(".")
    if owner == "body":
        return _REGION.get(name, "whole")
    face = catalogue()[owner].face(name)
    sites = (face.at or face.inside) if face else ()
    parts = {_REGION.get(site, "whole") for site in sites}
    return parts.pop() if len(parts) == 1 else "whole"

"""The picture beside a step: the wearer whole, and the place to hold, near."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext

from vestry.figure import FigureView, UnknownItem, compose, on_the_person, side_for
from vestry.procedure import Scene
from vestry.trade.words import UnknownWord, Words

_NEAR = {
    "head": (
        "shield",
        "goggles",
        "respirator",
        "mask",
        "hair-cover",
        "hood",
        "papr-hood",
        "papr-helmet",
        "papr-shroud",
    ),
    "feet": ("foot-covers", "boot-covers", "boots", "shoes"),
}


@dataclass(frozen=True)
class Picture:
    """The whole figure; where something is to be held, near; and what its marks stand for, in words."""

    whole: SafeString
    near: SafeString | None
    near_says: str
    grasp: str
    avoid: str
    contaminated: bool


def picture(scene: Scene, words: Words, plain: bool = False) -> Picture | None:
    """The picture of a scene. None where an item cannot be drawn: the words are enough then."""
    marks = () if plain else (on_the_person(scene.grasp), on_the_person(scene.avoid))
    try:
        return _picture(scene.worn, on_the_person(scene.contaminated), marks, scene.pose, words)
    except (UnknownItem, KeyError, ValueError):
        return None


_Marks = tuple[tuple[str, ...], ...]


@lru_cache(maxsize=512)
def _compose(view: FigureView, prefix: str, height: float) -> SafeString:
    return mark_safe(compose(view, prefix=prefix, height=height))  # our own drawing


def _picture(worn: tuple[str, ...], contaminated: tuple[str, ...], marks: _Marks, pose: str, words: Words) -> Picture:
    grasp, avoid = marks if marks else ((), ())
    side = side_for(grasp) if grasp else "front"
    view = FigureView(
        worn=worn,
        contaminated=frozenset(contaminated),
        grasp=frozenset(grasp),
        avoid=frozenset(avoid),
        side=side,
        pose=pose,
        title=gettext("The wearer at this step"),
        desc=_desc(contaminated, grasp, avoid, words),
    )
    named = (_names(grasp, words), _names(avoid, words), bool(contaminated))
    whole = _compose(view, "whole-", 560)
    crop = _crop(grasp)
    if crop is None:
        return Picture(whole, None, "", *named)
    near = replace(
        view, crop=crop, pose="standing" if pose == "leaning" else pose, title=gettext("Where to hold, near"), desc=""
    )
    return Picture(
        whole, _compose(near, "near-", 260), gettext("from behind") if side == "back" else gettext("near"), *named
    )


def _names(surfaces: tuple[str, ...], words: Words) -> str:
    """At most two of them by name: more is not read at a glance."""
    side = gettext("left|right")  # by which the two sides of one thing are told apart, in every form of the language
    names = dict.fromkeys(
        " ".join(re.sub(rf"(?<!\S)({side})(?=[ ,]|$)", "", _name(one, words)).split()).replace(" ,", ",")
        for one in surfaces
    )
    return gettext(" or ").join(list(names)[:2])


def _crop(grasp: tuple[str, ...]) -> str | None:
    for crop, starts in _NEAR.items():
        if any(part in surface.partition(".")[0] for surface in grasp for part in starts):
            return crop
    return None


def _desc(contaminated: tuple[str, ...], grasp: tuple[str, ...], avoid: tuple[str, ...], words: Words) -> str:
    parts = (
        (gettext("Grasp"), grasp),
        (gettext("Do not touch"), avoid),
        (gettext("May be contaminated"), contaminated),
    )
    return " ".join(f"{what}: {', '.join(_name(one, words) for one in some)}." for what, some in parts if some)


def _name(surface: str, words: Words) -> str:
    try:
        return words.surface(surface)
    except UnknownWord:
        return surface

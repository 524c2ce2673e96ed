"""Where a mark stands on each surface, from the front and from behind.

A spot is a point of the standing drawing, or a place along an arm or on a hand, so that it
moves with the pose. A surface that cannot be seen from a side has its spot where one would
reach round to it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from vestry.figure.layers import catalogue
from vestry.figure.path import MID, Pt
from vestry.figure.poses import Pose


@dataclass(frozen=True)
class Spot:
    """x, y of the standing figure; or for an arm t, s and for a hand u, v with whose it is."""

    x: float
    y: float
    limb: str = ""
    whose: str = "+"

    def place(self, pose: Pose, front: bool) -> Pt:
        """The point in this pose. `whose`: l or r of the wearer, + or - of the viewer's sides."""
        if not self.limb:
            return pose.warp((self.x, self.y))
        if self.limb == "head":
            return pose.head_warp((self.x, self.y))
        arm = pose.arm
        p = arm.at(self.x, self.y) if self.limb == "arm" else arm.hand(self.x, self.y)
        right = self.whose == "+" or (self.whose == ("l" if front else "r"))
        return p if right else (2 * MID - p[0], p[1])


def _arm(t: float, s: float = 0.0, whose: str = "+") -> Spot:
    return Spot(t, s, "arm", whose)


def _hand(u: float, v: float, whose: str) -> Spot:
    return Spot(u, v, "hand", whose)


Pair = tuple[Spot, Spot]


def _same(spot: Spot) -> Pair:
    return spot, spot


def _xy(front: Pt, back: Pt) -> Pair:
    return Spot(*front), Spot(*back)


_GLOVES: dict[str, Pair] = {
    **{f"palm-{w}": _same(_hand(31, 1, w)) for w in "lr"},
    **{f"cuff-{w}": _same(_arm(1.62, 0, w)) for w in "lr"},
    **{f"inside-{w}": _same(_arm(1.45, -4, w)) for w in "lr"},
}
_GOWN: dict[str, Pair] = {
    "front": _xy((202, 350), (320, 350)),
    "skirt": _xy((292, 650), (342, 690)),
    "sleeves": _same(_arm(0.78, 4)),
    "cuffs": _same(_arm(1.88, 0)),
    "back": _xy((158, 350), (196, 330)),
    "ties": _xy((319, 396), (268, 405)),
    "inside-body": _xy((268, 207), (252, 230)),
    "inside-sleeves": _same(_arm(1.72, -10)),
}
_COVERALL: dict[str, Pair] = {
    "front": _xy((202, 350), (320, 350)),
    "flap": _xy((240, 300), (264, 206)),
    "hood": _xy((264, 70), (276, 92)),
    "sleeves": _same(_arm(0.78, 4)),
    "cuffs": _same(_arm(1.88, 0)),
    "back": _xy((158, 350), (196, 330)),
    "legs": _xy((290, 640), (290, 640)),
    "inside-hood": _xy((276, 112), (270, 200)),
    "inside-body": _xy((262, 214), (262, 208)),
    "inside-sleeves": _same(_arm(1.72, -10)),
    "inside-legs": _xy((256, 852), (256, 852)),
}
_MASK: dict[str, Pair] = {
    "front": _xy((240, 171), (272, 164)),
    "straps": _xy((280, 128), (240, 179)),
    "inside": _xy((262, 184), (264, 172)),
}
_OWN: dict[str, dict[str, Pair]] = {
    "washable-shoes": {"upper": _xy((296, 880), (286, 878)), "sole": _xy((290, 905), (286, 905))},
    "washable-boots": {
        "shaft": _xy((281, 806), (281, 800)),
        "upper": _xy((294, 878), (286, 876)),
        "sole": _xy((290, 903), (286, 903)),
        "inside": _xy((281, 745), (281, 745)),
    },
    "foot-covers-low": {
        "upper": _xy((294, 880), (286, 876)),
        "sole": _xy((290, 905), (286, 905)),
        "inside": _xy((281, 855), (281, 853)),
    },
    "boot-covers-high": {
        "shaft": _xy((283, 808), (282, 806)),
        "upper": _xy((296, 878), (286, 876)),
        "sole": _xy((290, 905), (286, 905)),
        "inside": _xy((281, 754), (281, 754)),
    },
    "apron": {
        "front": _xy((280, 560), (335, 620)),
        "ties": _xy((319, 398), (240, 407)),
        "neck-strap": _xy((272, 226), (240, 211)),
        "inside": _xy((334, 640), (333, 560)),
    },
    "face-shield": {
        "visor": _xy((240, 168), (290, 190)),
        "strap": _xy((296, 107), (240, 128)),
        "inside": _xy((262, 222), (284, 206)),
    },
    "goggles": {
        "lens": _xy((240, 127), (286, 134)),
        "strap": _xy((292, 121), (240, 132)),
        "inside": _xy((262, 146), (280, 140)),
    },
    "hair-cover": {"outside": _xy((262, 74), (266, 84)), "inside": _xy((279, 140), (276, 156))},
    "surgical-hood": {
        "outside": _xy((264, 68), (270, 88)),
        "shoulders": _xy((316, 262), (316, 262)),
        "inside": _xy((274, 180), (268, 214)),
    },
    "papr-hood": {
        "visor": _xy((240, 158), (298, 170)),
        "outside": _xy((276, 64), (280, 96)),
        "shoulders": _xy((320, 264), (320, 264)),
        "hose-port": _xy((304, 188), (240, 186)),
        "inside": _xy((276, 222), (276, 222)),
    },
    "papr-hose": {"hose": _xy((318, 180), (294, 310))},
    "papr-belt-unit": {"belt": _xy((290, 408), (306, 407)), "unit": _xy((322, 403), (240, 425))},
    "papr-helmet": {
        "visor": _xy((240, 160), (300, 180)),
        "outside": _xy((276, 66), (276, 80)),
        "chin-seal": _xy((240, 221), (240, 190)),
        "inside": _xy((270, 214), (276, 190)),
    },
    "papr-shroud": {
        "window": _xy((240, 160), (300, 180)),
        "outside": _xy((278, 66), (282, 84)),
        "shoulders": _xy((320, 264), (320, 264)),
        "inside": _xy((276, 226), (276, 226)),
    },
}
_BODY: dict[str, Pair] = {
    "eyes": _xy((258, 131), (280, 134)),
    "nose-mouth": _xy((240, 160), (276, 160)),
    "face": _xy((266, 152), (282, 146)),
    "hair-ears": _xy((258, 76), (258, 90)),
    "neck": _xy((252, 212), (252, 206)),
    **{f"hand-{w}": _same(_hand(31, 1, w)) for w in "lr"},
    **{f"wrist-{w}": _same(_arm(1.93, 0, w)) for w in "lr"},
    "forearms": _same(_arm(1.38, 0)),
    "torso": _xy((208, 340), (320, 350)),
    "back": _xy((158, 350), (208, 340)),
    "thighs": _xy((286, 580), (286, 580)),
    "shins": _xy((281, 750), (281, 750)),
    "feet": _xy((288, 884), (282, 880)),
    "soles": _xy((288, 907), (282, 907)),
}
_BY_KIND: dict[str, dict[str, Pair]] = {
    "gloves": _GLOVES,
    "gown": _GOWN,
    "coverall": _COVERALL,
    "mask": _MASK,
    "respirator": _MASK,
}
BODY_SURFACES = tuple(f"body.{site}" for site in _BODY)

_REAR = frozenset({"back", "ties", "strap", "straps", "hose-port", "hose", "unit", "chin-seal", "neck-strap"})


# Where what an apron leaves free is marked, by kind and face; from the front.
_BESIDE_APRON = {
    ("gown", "front"): Spot(310, 312),
    ("gown", "skirt"): Spot(300, 769),
    ("coverall", "front"): Spot(310, 312),
    ("coverall", "flap"): Spot(240, 238),
    ("coverall", "legs"): Spot(284, 806),
}


def anchor(surface: str, front: bool, above: Sequence[str] = ()) -> Spot:
    """Where a mark stands on this surface; KeyError naming the surface if it is not one.

    above: the items that lie over it
    """
    owner, _, face = surface.partition(".")
    if front and "apron" in above and owner in catalogue():
        beside = _BESIDE_APRON.get((catalogue()[owner].kind, face))
        if beside and owner != "gown-isolation":
            return beside
    if owner == "body":
        table = _BODY
    elif owner in _OWN:
        table = _OWN[owner]
    else:
        item = catalogue().get(owner)
        table = _BY_KIND.get(item.kind, {}) if item else {}
    if face not in table:
        return _by_site(surface, front)
    spot = table[face][0 if front else 1]
    if front and surface == "body.neck":
        return spot
    return replace(spot, limb="head") if _on_head(owner, face, front) else spot


def _by_site(surface: str, front: bool) -> Spot:
    """For a face of the catalogue that has no anchor of its own: that of the site where it lies."""
    owner, _, name = surface.partition(".")
    item = catalogue().get(owner)
    face = item.face(name) if item else None
    if face is None:
        raise KeyError(f"no such surface: {surface}")
    return anchor(f"body.{(face.at or face.inside or ('torso',))[0]}", front)


def has_own(surface: str) -> bool:
    """Whether the surface has an anchor, and so a drawing, of its own."""
    owner, _, face = surface.partition(".")
    if owner == "body":
        return face in _BODY
    item = catalogue().get(owner)
    return face in _OWN.get(owner, _BY_KIND.get(item.kind, {}) if item else {})


_HEAD_KINDS = frozenset(
    {"mask", "respirator", "shield", "goggles", "hair-cover", "hood", "papr-hood", "papr-helmet", "papr-shroud"}
)
_HEAD_SITES = frozenset({"eyes", "nose-mouth", "face", "hair-ears", "neck"})


def _on_head(owner: str, face: str, front: bool) -> bool:
    if owner == "papr-hose":
        return front
    if owner == "body":
        return face in _HEAD_SITES
    kind = catalogue()[owner].kind
    return (kind in _HEAD_KINDS and face != "shoulders") or (kind == "coverall" and face.endswith("hood"))


def is_rear(surface: str) -> bool:
    """Whether the surface is reached and seen from behind."""
    owner, _, face = surface.partition(".")
    return face in _REAR and (owner, face) != ("surgical-mask", "straps")

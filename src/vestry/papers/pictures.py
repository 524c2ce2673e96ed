"""Which picture a step needs: part, side and marks; and the same said for those who do not see it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from vestry.figure import FigureView, compose, side_for
from vestry.figure import palette as c
from vestry.papers.labels import Labels
from vestry.sequence import PlanStep, StepState
from vestry.trade import Catalogue
from vestry.trade.words import Words

# For which size each part is drawn: its height on paper in points, and more, for print is finer than a screen.
_FINER = 1.6
_TALL = {
    part: tall * _FINER for part, tall in (("whole", 102), ("head", 102), ("trunk", 92), ("feet", 84), ("hands", 78))
}

_REGIONS = {
    "head": ("eyes", "nose-mouth", "face", "hair-ears", "neck"),
    "hands": ("hand-l", "hand-r", "wrist-l", "wrist-r"),
    "feet": ("feet", "soles", "shins"),
    "trunk": ("torso", "back", "forearms", "thighs"),
}
_REGION = {site: region for region, sites in _REGIONS.items() for site in sites}

# What is confirmed or looked at: which part, in which pose. A topic that is not here needs no picture.
_LOOKED_AT = {
    "seal-check": ("head", "standing", ("front",)),
    "flow-check": ("trunk", "standing", ("back",)),
    "integrity-check": ("whole", "arms-raised", ("front", "back")),
    "range-of-motion": ("whole", "arms-raised", ("front",)),
    "ensemble": ("whole", "arms-raised", ("front", "back")),
    "outer-gloves": ("hands", "standing", ("front",)),
    "inner-gloves": ("hands", "standing", ("front",)),
    "hands": ("hands", "standing", ("front",)),
    "hands-still": ("trunk", "standing", ("front",)),
    "skin-and-clothing": ("whole", "standing", ("front", "back")),
    "last-look": ("whole", "standing", ("front", "back")),
}

_BOX = re.compile(r'viewBox="([-\d.]+) ([-\d.]+) ([-\d.]+) ([-\d.]+)"')

_GLOVES = {
    "inner": c.GLOVE_INNER,
    "middle": c.GLOVE_MIDDLE,
    "outer": c.GLOVE_OUTER,
    "single": c.GLOVE_SINGLE,
    "fresh": c.GLOVE_FRESH,
}


@dataclass(frozen=True)
class Picture:
    """SVG beside one another, and one text for all."""

    svgs: tuple[str, ...]
    alt: str


def picture(step: PlanStep, state: StepState, words: Words, labels: Labels, catalogue: Catalogue) -> Picture | None:
    """The picture of a step; None where the step is not about anybody's body."""
    if step.act in ("disinfect-gloves", "hand-hygiene"):
        return _rubbing(step, state, labels, catalogue)
    views = _views(step, state, catalogue)
    if not views:
        return None
    svgs = tuple(svg for view in views for svg in _drawn(view))
    return Picture(svgs, _alt(views, words, labels))


def _drawn(view: FigureView) -> tuple[str, ...]:
    """The view drawn; hands, which hang far apart, as two pictures side by side."""
    svg = compose(view, height=_TALL[view.crop])
    return _halves(svg) if view.crop == "hands" else (svg,)


def _halves(svg: str) -> tuple[str, str]:
    """The left and the right third of a drawing."""
    found = _BOX.search(svg)
    assert found is not None
    left, top, width, height = (float(number) for number in found.groups())
    third = width * 0.36
    return (
        _BOX.sub(f'viewBox="{left:g} {top:g} {third:g} {height:g}"', svg, count=1),
        _BOX.sub(f'viewBox="{left + width - third:g} {top:g} {third:g} {height:g}"', svg, count=1),
    )


def _on_person(surfaces: frozenset[str], catalogue: Catalogue) -> frozenset[str]:
    """Those that the figure can show: not seat, floor, air or helper."""
    owners = {*catalogue.items, "body"}
    return frozenset(one for one in surfaces if one.partition(".")[0] in owners)


def _views(step: PlanStep, state: StepState, catalogue: Catalogue) -> tuple[FigureView, ...]:
    shown = StepState(
        state.worn,
        _on_person(state.contaminated, catalogue),
        _on_person(state.grasp, catalogue),
        _on_person(state.avoid, catalogue),
        state.pose,
    )
    if step.items:
        return (_handling(step, shown, catalogue),)
    crop, pose, sides = _LOOKED_AT.get(step.topic or "", ("", "", ()))
    return tuple(FigureView(shown.worn, shown.contaminated, side=side, pose=pose, crop=crop) for side in sides)


def _handling(step: PlanStep, state: StepState, catalogue: Catalogue) -> FigureView:
    marked = state.grasp | state.avoid
    worn = state.worn
    if step.act == "don":
        worn = tuple(dict.fromkeys((*worn, *step.items)))
    sites = [site for surface in sorted(marked) for site in _sites(surface, catalogue)]
    if not sites or step.act == "don":
        sites = [site for item in step.items for face in catalogue.items[item].faces for site in face.at]
    crop = _crop(sites)
    clean = step.act == "don" and step.phase == "donning"
    return FigureView(
        worn,
        frozenset() if clean else state.contaminated,
        grasp=frozenset() if step.act == "don" else state.grasp,
        avoid=state.avoid,
        side=side_for(state.grasp) if step.act != "don" else _donned_side(step),
        pose=state.pose,
        crop=crop,
    )


def _donned_side(step: PlanStep) -> str:
    return "back" if any(item == "papr-hose" for item in step.items) else "front"


def _sites(surface: str, catalogue: Catalogue) -> tuple[str, ...]:
    owner, _, name = surface.partition(".")
    if owner == "body":
        return (name,)
    face = catalogue.items[owner].face(name) if owner in catalogue.items else None
    return face.at if face else ()


def _crop(sites: Iterable[str]) -> str:
    """The part in which most of these sites lie."""
    found = Counter(_REGION[site] for site in sites if site in _REGION)
    return found.most_common(1)[0][0] if found else "whole"


def _alt(views: tuple[FigureView, ...], words: Words, labels: Labels) -> str:
    said = [f"{labels.front if view.side == 'front' else labels.back}." for view in views]
    view = views[0]
    for label, surfaces in ((labels.hold, view.grasp), (labels.avoid, view.avoid)):
        if surfaces:
            said.append(_sentence(label, (words.surface(one) for one in sorted(surfaces))))
    if view.contaminated:
        said.append(_sentence(labels.contaminated, (words.surface(one) for one in sorted(view.contaminated))))
    if not (view.grasp or view.avoid):
        names = [words.item_short(item) for item in view.worn]
        said.append(_sentence(labels.wearing, names or [labels.nothing]))
    return " ".join(said)


def _sentence(label: str, names: Iterable[str]) -> str:
    return f"{label[:1].upper()}{label[1:]}: {', '.join(dict.fromkeys(names))}."


# Both hands rubbing, drawn for this sheet: the figure's own hands are too small to read at 1 m.
_HAND = (
    "M -22,-60 C -20,-40 -15,-16 -13,0 C -16.5,10 -21,22 -22,35 C -23.5,44 -26,53 -27.5,61 C -29,69.5 -21,72 -19,65 "
    "C -17.3,58.5 -15.5,53 -13.8,48 C -14.6,59 -16.2,69 -16.8,78.5 C -17,87.5 -8.6,88 -8,79.5 C -7.4,69 -6,58 "
    "-4.6,48.5 C -4.2,61 -4,73 -3.6,84.5 C -3.2,93 4.8,93 5,84.5 C 5.3,72 5.5,60 6,48.5 C 7.6,58.5 9.4,68 10.9,77 "
    "C 12.6,85.5 20.6,83.6 19.4,75.4 C 17.8,64.5 17,54.5 17.4,45 C 18.4,41.5 19.6,38.5 21.4,36 C 24.6,41.5 27.2,46.5 "
    "29.8,51.6 C 33.6,58.8 41.4,54.8 38.8,47.4 C 34.8,36.6 29.4,24 22,13 C 18,8 14.6,4 13.2,0 C 15,-16 19,-40 "
    "20.5,-60 C 8,-55.5 -9,-55.5 -22,-60 Z"
)
_KNUCKLES = "M -12,40 C -11.5,37.5 -10.5,36 -9.5,35 M -2.6,39.5 C -2.2,37 -1,35.5 0,34.6 M 7,40 C 7.2,37.4 8,36 9,35"
_NAILS = "M -15,79 L -10,79 M -2,85 L 3,85 M 13,77 L 17.6,76.4 M -26,63 L -21.6,64.4"
_CUFF = "M -20.6,-46 C -9,-41 8,-41 18.6,-46"
_DROP = "M64,4 C57,15 54,20 54,26 A10,10 0 0 0 74,26 C74,20 71,15 64,4 Z"


def _rubbing(step: PlanStep, state: StepState, labels: Labels, catalogue: Catalogue) -> Picture:
    gloves = [catalogue.items[item] for item in state.worn if catalogue.items[item].kind == "gloves"]
    gloved = step.act == "disinfect-gloves"
    fill = _GLOVES.get(gloves[-1].layer or "single", c.GLOVE_SINGLE) if gloved and gloves else c.SKIN
    # A glove has a cuff, a bare hand has nails: told apart without colour.
    detail = f"{_KNUCKLES} {_CUFF if gloved else _NAILS}"
    hands = "".join(
        f'<g transform="{place}"><path d="{_HAND}" fill="{fill}" stroke-width="4.2"/>'
        f'<path d="{detail}" fill="none" stroke-width="2.4"/></g>'
        for place in ("translate(36,50) rotate(-24) scale(.56)", "translate(92,50) rotate(24) scale(-.56,.56)")
    )
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="4 0 120 104">'
        f'<g stroke="{c.INK}" stroke-linejoin="round" stroke-linecap="round">{hands}'
        f'<path d="{_DROP}" fill="#FFFFFF" stroke-width="2.4"/></g></svg>'
    )
    return Picture((svg,), f"{labels.hygiene_gloves if gloved else labels.hygiene_hands}.")

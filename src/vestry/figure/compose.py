"""From a state to one standalone SVG."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from vestry.figure import body, marks
from vestry.figure import palette as c
from vestry.figure.anchors import BODY_SURFACES, anchor, has_own, is_rear
from vestry.figure.ink import Pen
from vestry.figure.labels import Label, Placed, draw, place, width
from vestry.figure.layers import kinds, order, outermost
from vestry.figure.path import MID, Pt, backwards, close, join, mirror, parse, write
from vestry.figure.pieces import Pieces
from vestry.figure.poses import BACK, FRONT, reaching
from vestry.figure.scale import Frame, frame
from vestry.figure.stage import Stage
from vestry.figure.view import CROPS, MARKS, SIDES, FigureView
from vestry.figure.wardrobe import drawing


@dataclass(frozen=True)
class _Layer:
    """One item as drawn, or the body."""

    item: str
    pieces: Pieces


def compose(view: FigureView, *, embed_style: bool = True, prefix: str = "", height: float | None = None) -> str:
    """One complete <svg>. The same view gives the same text.

    embed_style: kept for callers; the drawing carries presentation attributes and needs no CSS
    prefix: put before every id, so that many figures can stand on one page
    height: pixels (or points) that the figure will be tall; small ones are drawn plainer
    UnknownItem (a KeyError) for an item that is not drawn; KeyError for a surface that is not
    one; ValueError for a side, pose or crop that does not exist.
    """
    _check(view)
    front = view.side == "front"
    ordered = order(view.worn, view.under)
    pose = (FRONT if front else BACK)[view.pose]
    pose = reaching(pose, Stage(front, pose, kinds(ordered)).head_half)
    base = Stage(front, pose)
    layers = _layers(base, ordered)
    fit = frame(view.crop, pose, height)
    pen = Pen(prefix, fit.stroke, fit.fine)
    dirty = {s for s in view.contaminated if outermost(s, ordered)}
    drawn = {p.surface for layer in layers for p in layer.pieces if p.surface}

    out: list[str] = []
    if pose.seated and front:
        out.append(_stool(base, pen))
    named: set[str] = set()
    for parts in _PASSES[pose.order]:
        out += [_group(layer, pen, dirty, parts, named) for layer in layers]
    if pose.seated and not front:
        out.append(_stool(base, pen))
    if pose.before:
        out.append(_arms_again(base, layers, pen, dirty))
    spots = _spots(view, ordered, drawn, base)
    out.append(_marks(spots, fit))
    out += [_passing(one, other, ordered, base, fit) for one, other in view.passing]
    words, extent = _words(view, base, spots, fit)
    out.append(words)
    return _svg(view, prefix, fit, extent, "".join(out))


def _check(view: FigureView) -> None:
    for item in view.worn:
        drawing(item)
    for name, value, allowed in (
        ("side", view.side, SIDES),
        ("pose", view.pose, tuple(FRONT)),
        ("crop", view.crop, CROPS),
    ):
        if value not in allowed:
            raise ValueError(f"{name} is {value!r}; it may be {', '.join(allowed)}")
    for mark, _ in view.marks_words:
        if mark not in MARKS:
            raise ValueError(f"mark is {mark!r}; it may be {', '.join(MARKS)}")
    titled = {surface for surface, _ in view.titles or ()}
    passing = {surface for pair in view.passing for surface in pair}
    for surface in view.contaminated | view.grasp | view.avoid | view.clean | titled | passing:
        anchor(surface, True)


def _layers(base: Stage, ordered: Sequence[str]) -> tuple[_Layer, ...]:
    out = [_Layer("body", body.body(base, "scrubs" in ordered))]
    sites = _Layer("sites", body.sites(base))
    for i, item in enumerate(ordered):
        stage = Stage(base.front, base.pose, kinds(ordered[:i]))
        out.append(_Layer(item, drawing(item)(stage, item)))
        if item == "scrubs":
            out.append(sites)
    if "scrubs" not in ordered:
        out.insert(1, sites)
    return tuple(out)


_BEHIND = frozenset({"behind"})
_PASSES: dict[str, tuple[frozenset[str], ...]] = {
    "": (_BEHIND, frozenset({"body", "arm", "head"})),
    "first": (_BEHIND, frozenset({"head"}), frozenset({"body", "arm"})),
    "last": (_BEHIND, frozenset({"body", "arm"}), frozenset({"head"})),
}
_ARMS = frozenset({"arm"})


def _group(layer: _Layer, pen: Pen, dirty: set[str], parts: frozenset[str], named: set[str]) -> str:
    """A layer's pieces of these parts as one group; its first group bears the layer's id."""
    sites = layer.item == "sites"
    pieces = "".join(
        pen.piece(p, p.surface in dirty) for p in layer.pieces if p.part in parts and (not sites or p.surface in dirty)
    )
    if not pieces:
        return ""
    name = "" if layer.item in named else f' id="{pen.prefix}layer-{layer.item}"'
    named.add(layer.item)
    return f'<g{name} data-layer="{layer.item}">{pieces}</g>'


def _arms_again(stage: Stage, layers: Sequence[_Layer], pen: Pen, dirty: set[str]) -> str:
    """Forearms and hands once more, over trunk and head."""
    arm = stage.pose.arm
    outer = arm.line([(0.8, 44), (1.0, 44), (1.5, 40), (1.9, 30)])
    inner = arm.line([(0.8, -36), (1.0, -40), (1.5, -40), (1.9, -30)])
    around = ((5, 44), (60, 48), (110, 30), (110, -30), (60, -50), (5, -46))
    hand = [arm.hand(u, v) for u, v in around]
    shape = join(outer, (("M", (hand[0],)), *(("L", (p,)) for p in hand[1:])))
    right = close(join(shape, backwards(inner)))
    name = f"{pen.prefix}forearms"
    named = {layer.item for layer in layers}
    groups = "".join(_group(layer, pen, dirty, _ARMS, named) for layer in layers)
    return (
        f'<clipPath id="{name}"><path d="{write((*right, *mirror(right)))}"/></clipPath>'
        # Not quite opaque, so that the group is clipped as one and no lower layer shows at the cut.
        f'<g clip-path="url(#{name})"><g opacity="0.999">{groups}</g></g>'
    )


def _stool(stage: Stage, pen: Pen) -> str:
    """A plain seat, so that the person does not sit on air."""
    legs = "M158,704 L134,912 L145,912 L171,704 Z M322,704 L346,912 L335,912 L309,704 Z"
    rail = "M145,826 L335,826 L336,834 L144,834 Z"
    seat = (
        "M114,684 C114,678 117,676 122,676 L358,676 C363,676 366,678 366,684 L366,696 C366,702 363,704 358,704 "
        "L122,704 C117,704 114,702 114,696 Z"
    )
    parts = "".join(
        f'<path d="{write(parse(d))}" fill="{c.SEAT}" stroke-width="{2.0 * pen.stroke:.1f}"/>'
        for d in (rail, legs, seat)
    )
    return f'<g data-layer="seat">{parts}</g>'


@dataclass(frozen=True)
class _Spot:
    """A mark to draw."""

    mark: str
    surface: str
    at: Pt
    hidden: bool = False
    away: bool = False


def _spots(view: FigureView, ordered: Sequence[str], drawn: set[str], stage: Stage) -> list[_Spot]:
    front = stage.front
    out: list[_Spot] = []

    def at(surface: str) -> Pt:
        return _at(surface, ordered, stage)

    for surface in sorted(view.clean):
        out.append(_Spot("clean", surface, at(surface)))
    for surface in sorted(view.avoid):
        out.append(_Spot("avoid", surface, at(surface)))
    for surface in sorted(view.grasp):
        away = surface not in drawn and not surface.partition(".")[2].startswith("inside")
        out.append(_Spot("grasp", surface, at(surface), away=away and front == is_rear(surface)))
    for surface in sorted(view.contaminated):
        seen = outermost(surface, ordered)
        if seen and (surface in drawn or not has_own(surface)):
            out.insert(0, _Spot("contaminated", surface, _beside(at(surface), out)))
        elif surface in BODY_SURFACES:  # under what is worn, or behind a visor
            out.insert(0, _Spot("contaminated", surface, _beside(at(surface), out), hidden=True))
    return out


def _at(surface: str, ordered: Sequence[str], stage: Stage) -> Pt:
    owner = surface.partition(".")[0]
    above = ordered[ordered.index(owner) + 1 :] if owner in ordered else ()
    return anchor(surface, stage.front, above).place(stage.pose, stage.front)


def _passing(one: str, other: str, ordered: Sequence[str], stage: Stage, fit: Frame) -> str:
    """A lozenge where it comes from and where it goes to, and an arrow between; apart where they lie together."""
    start, end = _at(one, ordered, stage), _at(other, ordered, stage)
    if math.dist(start, end) < 52 * fit.marks:
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        start, end = (middle[0] - 30 * fit.marks, middle[1]), (middle[0] + 30 * fit.marks, middle[1])
    drawn = marks.arrow(start, end, fit.marks) + marks.lozenge(start, fit.marks) + marks.lozenge(end, fit.marks)
    return f'<g data-mark="passing" data-from="{one}" data-to="{other}">{drawn}</g>'


_STEPS = ((0, 0), (28, 26), (-28, 26), (28, -26), (-28, -26), (0, 36), (0, -36), (40, 0), (-40, 0))


def _beside(p: Pt, taken: Sequence[_Spot]) -> Pt:
    """The nearest place where a lozenge does not lie on another mark."""
    for dx, dy in _STEPS:
        q = (p[0] + dx, p[1] + dy)
        if all(math.dist(q, spot.at) > (22 if spot.mark == "contaminated" else 32) for spot in taken):
            return q
    return p


def _marks(spots: Sequence[_Spot], fit: Frame) -> str:
    out: list[str] = []
    taken: list[Pt] = []
    for spot in spots:
        size = fit.marks
        if spot.mark == "contaminated":
            near = 17 * size
            if not fit.fine and any(abs(p[0] - spot.at[0]) + abs(p[1] - spot.at[1]) < 2 * near for p in taken):
                continue
            taken.append(spot.at)
            shape = marks.lozenge_beneath(spot.at, size) if spot.hidden else marks.lozenge(spot.at, size)
            name = "lozenge-beneath" if spot.hidden else "lozenge"
        elif spot.mark == "grasp":
            shape, name = marks.ring(spot.at, size, spot.away), "ring"
        elif spot.mark == "avoid":
            shape, name = marks.cross(spot.at, size), "cross"
        else:
            shape, name = marks.square(spot.at, size), "square"
        out.append(f'<g data-mark="{name}" data-surface="{spot.surface}">{shape}</g>')
    return "".join(out)


def _words(view: FigureView, stage: Stage, spots: Sequence[_Spot], fit: Frame) -> tuple[str, tuple[float, float]]:
    """Labels as SVG, and how far left and right they go."""
    said = dict(view.marks_words)
    names = dict(view.titles or ())
    labels: list[Label] = []
    found: set[str] = set()
    for spot in reversed(spots):
        if spot.surface in found:
            continue
        name, note = names.get(spot.surface, ""), said.get(spot.mark, "")
        if (
            spot.mark == "contaminated"
            and not name
            and any(s.mark == "contaminated" and s.surface in names for s in spots)
        ):
            continue
        if spot.mark == "contaminated" and not name and any(label.note == note and not label.name for label in labels):
            continue
        if name or note:
            labels.append(Label(spot.at, name, note))
            found.add(spot.surface)
    for surface, name in sorted(names.items()):
        if surface not in found:
            labels.append(Label(anchor(surface, stage.front).place(stage.pose, stage.front), name, ""))
    if not labels:
        return "", (fit.left, fit.right)
    placed: tuple[Placed, ...] = place(labels, fit.letters, fit.reach, (fit.top + 4, fit.bottom - 4))
    left = min([fit.left, *(p.x - width(p, fit.letters) for p in placed if not p.right)])
    right = max([fit.right, *(p.x + width(p, fit.letters) for p in placed if p.right)])
    text = "".join(draw(p, fit.letters, 20 * fit.marks) for p in placed)
    return f'<g data-layer="words">{text}</g>', (min(left, 2 * MID - right), max(right, 2 * MID - left))


def _svg(view: FigureView, prefix: str, fit: Frame, extent: tuple[float, float], inner: str) -> str:
    left, right = extent
    name = f"{prefix}t" if view.title else ""
    about = f"{prefix}d" if view.desc else ""
    ids = " ".join(i for i in (name, about) if i)
    spoken = f'role="img" aria-labelledby="{ids}"' if ids else 'aria-hidden="true"'
    title = f'<title id="{name}">{escape(view.title)}</title>' if name else ""
    desc = f'<desc id="{about}">{escape(view.desc)}</desc>' if about else ""
    box = f"{left:.0f} {fit.top:.0f} {right - left:.0f} {fit.bottom - fit.top:.0f}"
    pattern = marks.hatch_pattern(f"{prefix}hatch", fit.gap, fit.hatch)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="vestry-figure" viewBox="{box}" {spoken}>'
        f"{title}{desc}<defs>{pattern}</defs>"
        f'<g fill="none" stroke="{c.INK}" stroke-width="{c.CONTOUR}" stroke-linejoin="round" '
        f'stroke-linecap="round">{inner}</g></svg>'
    )


def stylesheet() -> str:
    """The little that a page may want; the drawing itself needs none of it."""
    return ".vestry-figure{display:block;max-width:100%}\n"

"""Every surface has an anchor; a hatch is drawn where a face may be contaminated and is outermost."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.figure.test_compose import CATALOGUE, GOWN, ITEMS, SUIT, drawn, marks

from vestry.figure import FigureView, anchors, palette
from vestry.figure.anchors import BODY_SURFACES, anchor, has_own
from vestry.figure.layers import outermost
from vestry.figure.poses import BACK, FRONT, POSES
from vestry.figure.view import CROPS, SIDES

FACES = tuple(f"{item.id}.{face.id}" for item in CATALOGUE.items.values() for face in item.faces)
OUTSIDE = tuple(f"{item.id}.{face.id}" for item in CATALOGUE.items.values() for face in item.faces if not face.inside)
BODY = tuple(f"body.{site}" for site in CATALOGUE.body)


@pytest.mark.parametrize("surface", FACES + BODY)
def test_every_surface_has_an_anchor_on_the_figure_in_every_pose(surface: str) -> None:
    assert has_own(surface)
    for front, pose in product((True, False), POSES):
        x, y = anchor(surface, front).place((FRONT if front else BACK)[pose], front)
        assert 0 < x < 480
        assert 36 < y < 914


def test_the_body_has_the_sites_of_the_catalogue() -> None:
    assert set(BODY_SURFACES) == set(BODY)


@pytest.mark.parametrize("surface", OUTSIDE)
@pytest.mark.sampled(25)
def test_a_face_worn_alone_is_hatched_and_has_its_lozenge(surface: str) -> None:
    item = surface.partition(".")[0]
    views = [drawn(FigureView((item,), contaminated=frozenset({surface}), side=side)) for side in SIDES]
    assert any(marks(v, "hatch") == marks(v, "lozenge") == {surface} for v in views)


@pytest.mark.parametrize("surface", BODY)
def test_bare_skin_is_hatched_and_covered_skin_has_a_broken_lozenge(surface: str) -> None:
    bare = [drawn(FigureView((), contaminated=frozenset({surface}), side=side)) for side in SIDES]
    assert any(marks(v, "hatch") == marks(v, "lozenge") == {surface} for v in bare)
    if surface == "body.torso":
        over = drawn(FigureView(GOWN, contaminated=frozenset({surface})))
        assert marks(over, "hatch") == set()
        assert marks(over, "lozenge-beneath") == {surface}


def test_a_face_that_has_no_drawing_yet_still_gets_its_lozenge(monkeypatch: pytest.MonkeyPatch) -> None:
    known = {face: spots for face, spots in anchors._OWN["apron"].items() if face != "front"}
    monkeypatch.setitem(anchors._OWN, "apron", known)
    view = FigureView(("apron",), contaminated=frozenset({"apron.front"}), side="back")
    assert marks(drawn(view), "lozenge") == {"apron.front"}


def test_a_face_beneath_another_layer_is_not_hatched() -> None:
    hidden = frozenset({"inner-gloves-long.palm-l", "gown-impermeable.cuffs", "respirator-disposable.straps"})
    root = drawn(FigureView(GOWN, contaminated=hidden))
    assert marks(root, "hatch") == set()
    assert marks(root, "lozenge") == set()
    shed = tuple(i for i in GOWN if i not in {"outer-gloves-long", "gown-impermeable", "surgical-hood"})
    assert marks(drawn(FigureView(shed, contaminated=hidden)), "hatch") == hidden - {"gown-impermeable.cuffs"}


def test_a_shield_is_open_a_powered_hood_is_not() -> None:
    front = frozenset({"respirator-disposable.front"})
    assert marks(drawn(FigureView(("respirator-disposable", "face-shield"), contaminated=front)), "hatch") == front
    assert marks(drawn(FigureView(("respirator-disposable", "papr-hood"), contaminated=front)), "hatch") == set()


def test_work_clothing_stands_for_the_site_it_covers() -> None:
    chest = frozenset({"body.torso"})
    assert marks(drawn(FigureView(("scrubs",), contaminated=chest)), "hatch") == chest


@pytest.mark.parametrize(("field", "kind"), [("grasp", "ring"), ("avoid", "cross"), ("clean", "square")])
def test_each_mark_has_its_shape(field: str, kind: str) -> None:
    surface = frozenset({"papr-hood.hose-port"})
    for side in SIDES:
        view = FigureView(SUIT, side=side, **{field: surface})  # type: ignore[arg-type]
        assert marks(drawn(view), kind) == surface


def _luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def _contrast(a: str, b: str) -> float:
    one, two = sorted((_luminance(a), _luminance(b)))
    return (two + 0.05) / (one + 0.05)


FILLS = sorted(
    name
    for name, value in vars(palette).items()
    if isinstance(value, str) and value.startswith("#") and name not in {"INK", "INK_SOFT", "PLUM", "OXIDE", "HAIR"}
)


@pytest.mark.parametrize("name", FILLS)
def test_the_hatch_and_the_contour_stand_out_on_every_fill(name: str) -> None:
    fill = getattr(palette, name)
    assert _contrast(palette.OXIDE, fill) >= 3
    assert _contrast(palette.INK, fill) >= 4.5


def test_words_stand_out_on_the_page() -> None:
    assert _contrast(palette.INK, palette.PAPER) >= 7
    assert _contrast(palette.INK_SOFT, palette.PAPER) >= 6


SURFACES = st.frozensets(st.sampled_from(FACES + BODY), max_size=12)


@pytest.mark.property
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    worn=st.lists(st.sampled_from(ITEMS), unique=True, max_size=12),
    dirty=SURFACES,
    side=st.sampled_from(SIDES),
    pose=st.sampled_from(POSES),
    crop=st.sampled_from(CROPS),
    height=st.sampled_from([None, 120.0, 480.0, 960.0]),
)
def test_any_items_in_any_order_compose(
    worn: list[str], dirty: frozenset[str], side: str, pose: str, crop: str, height: float | None
) -> None:
    view = FigureView(tuple(worn), contaminated=dirty, grasp=dirty, side=side, pose=pose, crop=crop)
    root = drawn(view, height=height)
    hatched = marks(root, "hatch")
    assert hatched <= dirty
    assert marks(root, "ring") == dirty
    for surface in hatched:
        owner = surface.partition(".")[0]
        assert owner in worn or owner == "body"
    assert all(outermost(s, _ordered(view)) for s in hatched)


def _ordered(view: FigureView) -> tuple[str, ...]:
    from vestry.figure.layers import order

    return order(view.worn, view.under)

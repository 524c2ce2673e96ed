"""The figure: every item, side, pose and crop composes, and marks say what the state says."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from itertools import pairwise, product

import pytest

from vestry.figure import FigureView, UnknownItem, compose, side_for, stylesheet
from vestry.figure.poses import POSES
from vestry.figure.view import CROPS, SIDES
from vestry.figure.wardrobe import DRAWINGS
from vestry.trade import load_catalogue

CATALOGUE = load_catalogue()
ITEMS = tuple(CATALOGUE.items)
GOWN = (
    "scrubs",
    "washable-shoes",
    "inner-gloves-long",
    "boot-covers-high",
    "gown-impermeable",
    "respirator-disposable",
    "surgical-hood",
    "outer-gloves-long",
    "face-shield",
)
SUIT = (
    "scrubs",
    "washable-shoes",
    "inner-gloves-long",
    "boot-covers-high",
    "coverall-impermeable",
    "papr-belt-unit",
    "papr-hood",
    "papr-hose",
    "outer-gloves-long",
)
HELMET = (
    "scrubs",
    "washable-shoes",
    "inner-gloves-standard",
    "boot-covers-high",
    "gown-fluid-resistant",
    "papr-helmet",
    "papr-shroud",
    "outer-gloves-long",
    "apron",
)
WARD = ("scrubs", "washable-shoes", "gown-isolation", "surgical-mask", "goggles", "gloves-standard")
BOOTS = (
    "scrubs",
    "washable-boots",
    "inner-gloves-long",
    "coverall-hooded",
    "respirator-disposable",
    "goggles",
    "gloves-long",
    "apron",
)
LATE = ("scrubs", "washable-shoes", "foot-covers-low", "respirator-disposable", "hair-cover", "fresh-gloves")
ENSEMBLES = (GOWN, SUIT, HELMET, WARD, BOOTS, LATE, ())
SVG = "{http://www.w3.org/2000/svg}"


def drawn(view: FigureView, **more: object) -> ET.Element:
    return ET.fromstring(compose(view, **more))  # type: ignore[arg-type]


def layers(root: ET.Element) -> list[str]:
    return [g.attrib["data-layer"] for g in root.iter(f"{SVG}g") if "data-layer" in g.attrib]


def marks(root: ET.Element, kind: str) -> set[str]:
    return {g.attrib["data-surface"] for g in root.iter(f"{SVG}g") if g.attrib.get("data-mark") == kind}


def test_every_item_of_the_catalogue_has_a_drawing_and_no_other() -> None:
    assert set(DRAWINGS) == set(ITEMS)


@pytest.mark.parametrize("item", ITEMS)
@pytest.mark.sampled(6)
def test_an_item_alone_composes_on_both_sides_in_every_pose_and_crop(item: str) -> None:
    for side, pose, crop in product(SIDES, POSES, CROPS):
        root = drawn(FigureView((item,), side=side, pose=pose, crop=crop))
        assert item in layers(root), (side, pose, crop)


@pytest.mark.parametrize("worn", ENSEMBLES)
@pytest.mark.sampled(1)
def test_an_ensemble_composes_on_both_sides_in_every_pose_and_crop(worn: tuple[str, ...]) -> None:
    for side, pose, crop in product(SIDES, POSES, CROPS):
        root = drawn(FigureView(worn, side=side, pose=pose, crop=crop))
        assert set(worn) <= set(layers(root))


@pytest.mark.parametrize("worn", ENSEMBLES)
@pytest.mark.sampled(2)
def test_taking_an_item_off_takes_its_group_away_and_no_other(worn: tuple[str, ...]) -> None:
    for item in worn:
        left = tuple(i for i in worn if i != item)
        assert set(layers(drawn(FigureView(worn)))) - set(layers(drawn(FigureView(left)))) == {item}


def test_later_is_over_earlier_and_what_goes_under_a_sleeve_is_under_it() -> None:
    seen = layers(drawn(FigureView(("scrubs", "surgical-hood", "face-shield", "gown-impermeable", "fresh-gloves"))))
    assert seen == ["body", "scrubs", "surgical-hood", "face-shield", "fresh-gloves", "gown-impermeable"]


def test_an_exception_puts_an_item_under_one_donned_before_it() -> None:
    worn = ("face-shield", "surgical-hood")
    assert layers(drawn(FigureView(worn)))[1:] == ["face-shield", "surgical-hood"]
    under = (("surgical-hood", "face-shield"),)
    assert layers(drawn(FigureView(worn, under=under)))[1:] == ["surgical-hood", "face-shield"]


_AGAIN = """
from vestry.figure import FigureView, compose
from tests.figure.test_compose import GOWN
dirty = frozenset({"gown-impermeable.front", "face-shield.visor", "body.neck", "outer-gloves-long.palm-l"})
print(compose(FigureView(GOWN, contaminated=dirty, grasp=dirty, avoid=dirty, clean=dirty)))
"""


@pytest.mark.slow
def test_the_same_view_gives_the_same_text_whatever_the_order_of_its_sets() -> None:
    texts = {
        subprocess.run(
            [sys.executable, "-c", _AGAIN],
            env=os.environ | {"PYTHONHASHSEED": seed},
            check=True,
            capture_output=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(texts) == 1


def ids(text: str) -> list[str]:
    return re.findall(r' id="([^"]+)"', text)


@pytest.mark.parametrize("pose", POSES)
def test_ids_are_unique_and_a_prefix_keeps_figures_apart(pose: str) -> None:
    view = FigureView(
        GOWN,
        pose=pose,
        contaminated=frozenset({"gown-impermeable.front", "outer-gloves-long.palm-l"}),
        title="Everything on",
        desc="Seen from the front",
    )
    one, two = compose(view, prefix="a-"), compose(view, prefix="b-")
    both = ids(one) + ids(two)
    assert len(both) == len(set(both))
    used = re.findall(r"url\(#([^)]+)\)", one) + re.findall(r'aria-labelledby="([^"]+)"', one)[0].split()
    assert set(used) <= set(ids(one))


@pytest.mark.parametrize("worn", ENSEMBLES)
def test_nothing_that_a_strict_page_would_refuse(worn: tuple[str, ...]) -> None:
    for side, pose in product(SIDES, POSES):
        text = compose(FigureView(worn, side=side, pose=pose))
        for refused in ("style=", "<style", "<script", "var(", "href", "onload", "http://", "https://"):
            assert refused not in text.replace('xmlns="http://www.w3.org/2000/svg"', "")


def test_an_unknown_item_is_refused_by_name() -> None:
    with pytest.raises(UnknownItem, match="'cape'") as caught:
        compose(FigureView(("scrubs", "cape")))
    assert isinstance(caught.value, KeyError)


@pytest.mark.parametrize("field", ["contaminated", "grasp", "avoid", "clean"])
def test_an_unknown_surface_is_refused_by_name(field: str) -> None:
    with pytest.raises(KeyError, match=re.escape("face-shield.brim")):
        compose(FigureView(("face-shield",), **{field: frozenset({"face-shield.brim"})}))  # type: ignore[arg-type]


@pytest.mark.parametrize(("field", "value"), [("side", "left"), ("pose", "lying"), ("crop", "knee")])
def test_an_unknown_side_pose_or_crop_is_refused(field: str, value: str) -> None:
    with pytest.raises(ValueError, match=value):
        compose(FigureView((), **{field: value}))  # type: ignore[arg-type]


def test_words_are_those_passed_in_and_none_other() -> None:
    plain = drawn(FigureView(GOWN, contaminated=frozenset({"face-shield.visor"})))
    assert not list(plain.iter(f"{SVG}text"))
    view = FigureView(
        GOWN,
        contaminated=frozenset({"gown-impermeable.front"}),
        grasp=frozenset({"face-shield.strap"}),
        avoid=frozenset({"face-shield.visor"}),
        clean=frozenset({"gown-impermeable.ties"}),
        titles=(("gown-impermeable.front", "Vorderseite <Kittel>"),),
        marks_words=(
            ("contaminated", "evtl. belastet"),
            ("grasp", "hier fassen"),
            ("avoid", "nicht anfassen"),
            ("clean", "gilt als sauber"),
        ),
    )
    words = " ".join(t.text or "" for t in drawn(view).iter(f"{SVG}text"))
    for said in ("Vorderseite", "<Kittel>", "evtl. belastet", "hier fassen", "nicht", "anfassen", "gilt als sauber"):
        assert said in words


def test_labels_stay_inside_the_frame_and_off_each_other() -> None:
    titles = tuple((f"{i}.{f.id}", f"{i} {f.id}") for i in GOWN for f in CATALOGUE.items[i].faces if not f.inside)
    root = drawn(FigureView(GOWN, titles=titles[:14]))
    left, top, wide, tall = (float(n) for n in root.attrib["viewBox"].split())
    rows: dict[str, list[float]] = {}
    for group in root.iter(f"{SVG}g"):
        for text in group.findall(f"{SVG}text"):
            x, y = float(text.attrib["x"]), float(text.attrib["y"])
            assert left <= x <= left + wide
            assert top <= y <= top + tall
            rows.setdefault(group.attrib["text-anchor"], []).append(y)
    for ys in rows.values():
        assert all(b - a > 20 for a, b in pairwise(ys))


def test_title_and_description_are_spoken_and_a_nameless_figure_is_silent() -> None:
    spoken = drawn(FigureView(GOWN, title="Shield off", desc="Hands low"))
    assert spoken.attrib["role"] == "img"
    assert [e.text for e in list(spoken)[:2]] == ["Shield off", "Hands low"]
    assert drawn(FigureView(GOWN)).attrib["aria-hidden"] == "true"


def test_rear_surfaces_are_shown_from_behind() -> None:
    assert side_for({"gown-impermeable.ties"}) == "back"
    assert side_for({"face-shield.strap"}) == "back"
    assert side_for({"papr-belt-unit.unit", "papr-hose.hose", "papr-belt-unit.belt"}) == "back"
    assert side_for({"face-shield.visor"}) == "front"
    assert side_for(()) == "front"


def test_a_small_figure_is_drawn_plainer_with_a_coarser_hatch() -> None:
    dirty = frozenset({"gown-impermeable.skirt"})
    large = compose(FigureView(GOWN, contaminated=dirty), height=900)
    small = compose(FigureView(GOWN, contaminated=dirty), height=120)
    gap = re.compile(r'<pattern [^>]*width="([\d.]+)"')
    assert float(gap.search(small)[1]) > 2 * float(gap.search(large)[1])  # type: ignore[index]
    assert len(small) < len(large)


def test_the_stylesheet_names_only_the_figure() -> None:
    assert stylesheet().startswith(".vestry-figure{")

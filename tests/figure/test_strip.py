"""A strip: one picture per touch, both faces marked, an arrow from the one to the other."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from vestry.figure import FigureView, Touching, compose, strip
from vestry.figure.strip import view_of
from vestry.sequence import explain, subject_of_order
from vestry.trade import load_catalogue, read_order
from vestry.trade.orders import packaged_orders

WORN = ("scrubs", "washable-shoes", "gown-impermeable", "respirator-disposable", "outer-gloves-long", "face-shield")


def passing(svg: str) -> list[tuple[str, str]]:
    return re.findall(r'data-mark="passing" data-from="([^"]+)" data-to="([^"]+)"', svg)


def test_a_touch_between_two_faces_of_the_wearer_is_an_arrow_between_two_lozenges():
    svg = strip([Touching(WORN, "outer-gloves-long.palm-l", "face-shield.visor", "standing", "x")], "a-")[0]

    assert passing(svg) == [("outer-gloves-long.palm-l", "face-shield.visor")]
    assert svg.count("<svg") == 1
    ElementTree.fromstring(svg)


def test_the_arrow_points_the_way_that_it_passes():
    there, back = (
        compose(FigureView(WORN, passing=((a, b),)))
        for a, b in (("body.eyes", "body.torso"), ("body.torso", "body.eyes"))
    )

    assert there != back


@pytest.mark.parametrize("other", ["place.dispenser", "assistant.gloves", "air.room"])
def test_what_is_not_on_the_wearer_is_not_drawn_on_them(other: str):
    view = view_of(Touching(WORN, other, "outer-gloves-long.palm-l", "standing", "x"))

    assert view.passing == ()
    assert view.contaminated == {"outer-gloves-long.palm-l"}
    assert view.crop == "hands"


def test_two_things_of_the_place_mark_nobody():
    view = view_of(Touching(WORN, "place.seat", "place.floor", "standing", "x"))

    assert (view.passing, view.contaminated, view.crop) == ((), frozenset(), "whole")


def test_faces_that_lie_together_are_drawn_apart():
    svg = compose(FigureView(WORN, passing=(("face-shield.visor", "body.face"),)))
    lozenges = re.findall(r'<path d="M([\d.]+),([\d.]+)L[^"]*Z" fill="#8A2F1C"', svg.split('data-mark="passing"')[1])

    assert len(lozenges) == 2
    assert lozenges[0] != lozenges[1]


def test_ids_of_several_pictures_on_a_page_do_not_clash():
    touch = Touching(WORN, "outer-gloves-long.palm-l", "face-shield.visor", "standing", "x")
    ids = re.findall(r' id="([^"]+)"', "".join([*strip([touch, touch], "a-"), *strip([touch], "b-")]))

    assert len(ids) == len(set(ids))


def test_what_is_said_is_escaped():
    svg = strip([Touching(WORN, "body.eyes", "body.face", "standing", "<script>&")], "a-")[0]

    assert "<script>" not in svg


@pytest.mark.slow
def test_every_route_of_the_superseded_orders_can_be_drawn():
    for name, text in packaged_orders().items():
        if name.startswith("cdc-ebola-2014oct"):
            found = explain(subject_of_order(read_order(text, name), name, load_catalogue()))
            for number, route in enumerate(found.routes):
                touches = [Touching(t.worn, t.from_surface, t.to_surface, t.pose, "x") for t in route.touches]
                assert len(strip(touches, f"{number}-")) == len(route.touches)

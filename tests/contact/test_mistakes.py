"""Textbook mistakes, each an edit of a clean order: what the model says of it, with the route.

Where the mistake is a route as taught, the witness must pass through the surfaces that a teacher would name. Where a
second barrier still stands as taught, the mistake shows in the counts: fewer further errors reach an endpoint. The
reason then stands in `because`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest
from tools.make_evidence_pages import (
    at,
    changed,
    doffing_orders,
    inserted,
    is_clean,
    judge,
    moved,
    without,
    worse,
)

from vestry.contact.check import Reached, as_taught, check
from vestry.contact.compiler import compile_order
from vestry.contact.program import Program
from vestry.trade import Order, Step, load_catalogue

ROUTINE = "cdc-standard-doff-ex1--mask-shield"
PRACTICE = "practice-haemorrhagic-respirator"
BELT_BLOWER = "practice-haemorrhagic-belt-blower"
NO_HAIR_COVER = "practice-haemorrhagic-respirator--no-hair-cover"
GOWN_SET = "cdc-vhf-unstable-n95-gown-doff-2015--with-apron"
COVERALL_SET = "cdc-vhf-unstable-n95-coverall-doff-2015--with-apron"
AIRBORNE = "au-doh-2021-doff--respirator-shield"
FRESH_PAIR = "ecdc-2020-covid-doff--alone"


@dataclass(frozen=True)
class Mistake:
    """An edit of a clean order. `route`: the surfaces of the witness, from a loaded face to the endpoint.

    `when`: at the end, or ever (bare skin that is cleaned later). Without a route: the counts are worse, `because`.
    """

    name: str
    base: str
    edit: Callable[[Order], Order]
    route: tuple[str, ...] = ()
    when: str = "at-end"
    because: str = ""

    def clean(self) -> Order:
        return doffing_orders()[self.base]

    def order(self) -> Order:
        return self.edit(self.clean())


def with_worn(order: Order, item: str, over: str) -> Order:
    """The order with an item put on just after another: it lies over it."""
    worn = [other for other in order.worn if other != item]
    worn.insert(worn.index(over) + 1, item)
    return order.model_copy(update={"worn": tuple(worn)})


def lane_left_dirty(order: Order) -> Order:
    return order.model_copy(update={"lane": order.lane.model_copy(update={"contaminated": ("place.seat",)})})


# ---- the edits that need more than a line ----


def foot_covers_with_bare_hands(order: Order) -> Order:
    """The inner gloves are off and the hands cleaned when the foot covers are remembered; then the fresh pair."""
    return moved(order, at(order, "doff", "foot-covers-low"), at(order, "hand-hygiene"))


def outer_gloves_still_on_at_the_shield(order: Order) -> Order:
    """Neither disinfected nor taken off before the shield; off right after it."""
    shield = at(order, "doff", "face-shield")
    order = moved(order, at(order, "doff", "outer-gloves-long"), shield)
    before = range(at(order, "doff", "face-shield"))
    return without(order, *(n for n in before if order.steps[n].act == "disinfect-gloves"))


def helper_touches_the_neck(order: Order) -> Order:
    """Once the suit is rolled down, with the gloves that rolled it."""
    touch = Step(act="touch", who="assistant", touches=("assistant.gloves", "outer@neck"))
    return inserted(order, at(order, "doff", "coverall-impermeable") + 1, touch)


def gloves_off_last(order: Order) -> Order:
    return moved(order, at(order, "doff", "gloves-standard"), at(order, "doff", "surgical-mask"))


MISTAKES = [
    Mistake(
        "mask off with contaminated gloves",
        ROUTINE,
        gloves_off_last,
        ("gloves-standard.palm-l", "surgical-mask.straps", "body.face"),
    ),
    Mistake(
        "gown pulled by its front over bare forearms",
        ROUTINE,
        lambda order: changed(order, at(order, "doff", "gown-isolation"), technique="pull-by-front"),
        ("gown-isolation.sleeves", "body.forearms"),
    ),
    Mistake(
        "no disinfection between glove layers",
        PRACTICE,
        lambda order: without(order, at(order, "disinfect-gloves", nth=1)),
        because=(
            "the outer pair was disinfected and turned over itself, so that as taught nothing is on the inner pair; "
            "one barrier against a finger on the layer below is gone"
        ),
    ),
    Mistake(
        "hood off after the respirator",
        GOWN_SET,
        lambda order: moved(order, at(order, "doff", "surgical-hood"), at(order, "doff", "respirator-disposable")),
        ("surgical-hood.outside", "body.hair-ears"),
    ),
    Mistake(
        "bare hands on the visor",
        ROUTINE,
        lambda order: changed(order, at(order, "doff", "face-shield"), technique="by-the-front"),
        ("face-shield.visor", "body.hand-l"),
        "ever",
    ),
    Mistake(
        "foot covers off with bare hands",
        PRACTICE,
        foot_covers_with_bare_hands,
        ("foot-covers-low.upper", "body.hand-r", "fresh-gloves.palm-l", "respirator-disposable.straps", "body.face"),
    ),
    Mistake(
        "respirator off in the room while the air is contaminated",
        AIRBORNE,
        lambda order: moved(order, at(order, "move"), at(order, "doff", "respirator-disposable")),
        ("air.room", "body.nose-mouth"),
    ),
    Mistake(
        "inner cuffs left outside the sleeve",
        PRACTICE,
        lambda order: with_worn(order, "inner-gloves-long", "gown-impermeable"),
        because=(
            "the sleeve is drawn out from under the inner cuff; that its outside follows, and gets to the bare wrist, "
            "takes one slip that is not there when the cuff is under the sleeve"
        ),
    ),
    Mistake(
        "outer gloves never disinfected before the visor strap",
        NO_HAIR_COVER,
        outer_gloves_still_on_at_the_shield,
        ("outer-gloves-long.palm-l", "face-shield.strap", "body.hair-ears"),
    ),
    Mistake(
        "outer gloves never disinfected before the visor strap, held at the temples",
        GOWN_SET,
        outer_gloves_still_on_at_the_shield,
        ("outer-gloves-long.palm-l", "face-shield.strap", "body.face"),
    ),
    Mistake(
        "new gloves put on over hands not cleaned",
        FRESH_PAIR,
        lambda order: without(order, at(order, "hand-hygiene")),
        because=(
            "gloves taken off as taught leave the hands clean; a finger on the bare hand is now enough, where it took "
            "that and a rub left out"
        ),
    ),
    Mistake(
        "helper touches the wearer's neck with used gloves",
        COVERALL_SET,
        helper_touches_the_neck,
        ("coverall-impermeable.sleeves", "assistant.gloves", "body.neck"),
    ),
    Mistake(
        "seat used before the foot covers are off, and again after",
        PRACTICE,
        lambda order: inserted(order, at(order, "disinfect-gloves"), Step(act="sit")),
        ("gown-impermeable.skirt", "place.seat", "body.thighs"),
    ),
    Mistake(
        "seat left as the wearer before has used it",
        PRACTICE,
        lane_left_dirty,
        ("place.seat", "body.thighs"),
    ),
    Mistake(
        "boot covers off before the garment",
        GOWN_SET,
        lambda order: moved(order, at(order, "doff", "boot-covers-high"), at(order, "doff", "apron")),
        ("place.seat", "body.thighs"),
    ),
    Mistake(
        "mask off from under the shield",
        ROUTINE,
        lambda order: moved(order, at(order, "doff", "face-shield"), at(order, "doff", "surgical-mask")),
        ("face-shield.visor", "body.nose-mouth"),
    ),
    Mistake(
        "gown drawn out from under the apron",
        GOWN_SET,
        lambda order: moved(order, at(order, "doff", "apron"), at(order, "doff", "gown-impermeable")),
        ("apron.front", "body.torso"),
    ),
    Mistake(
        "gown drawn out from under the belt of the blower",
        BELT_BLOWER,
        lambda order: moved(
            order,
            tuple(at(order, "doff", item) for item in ("papr-hose", "papr-hood", "papr-belt-unit")),
            at(order, "doff", "gown-impermeable"),
        ),
        ("papr-belt-unit.belt", "body.torso"),
    ),
    Mistake(
        "respirator taken by its front",
        PRACTICE,
        lambda order: changed(order, at(order, "doff", "respirator-disposable"), technique="by-the-front"),
        ("respirator-disposable.front", "fresh-gloves.palm-l", "body.face"),
    ),
    Mistake(
        "mask taken by its front with bare hands",
        ROUTINE,
        lambda order: changed(order, at(order, "doff", "surgical-mask"), technique="by-the-front"),
        ("surgical-mask.front", "body.hand-l"),
        "ever",
    ),
]

by_name = {mistake.name: mistake for mistake in MISTAKES}
every = pytest.mark.parametrize("mistake", [pytest.param(one, id=one.name) for one in MISTAKES])


def routes(order: Order) -> tuple[Program, tuple[Reached, ...]]:
    program = compile_order(order, load_catalogue())
    return program, as_taught(program)


def chains(program: Program, found: tuple[Reached, ...]) -> dict[tuple[str, str], tuple[str, ...]]:
    """The surfaces of each witness, by endpoint and when."""
    return {(one.surface, one.when): tuple(program.surfaces[link.surface] for link in one.links) for one in found}


@every
def test_a_mistake_is_an_edit_of_a_clean_order(mistake: Mistake) -> None:
    assert is_clean(routes(mistake.clean())[1])
    assert mistake.order() != mistake.clean()


@every
def test_a_mistake_shows(mistake: Mistake) -> None:
    before, after = chains(*routes(mistake.clean())), chains(*routes(mistake.order()))

    if mistake.route:
        end = (mistake.route[-1], mistake.when)
        assert end not in before
        assert after[end] == (*after[end][: -len(mistake.route)], *mistake.route)
    else:
        assert before.keys() == after.keys()
        found = worse(judge(mistake.clean()), judge(mistake.order()))
        assert found is not None
        assert (found.how, bool(mistake.because)) == ("count", True)


# ---- of some, more than the route ----


def test_the_sleeve_that_reaches_the_wrist_when_inner_cuffs_are_outside() -> None:
    """One slip: the sleeve follows as it is drawn from under the cuff. With the cuff under the sleeve it takes more."""
    mistake = by_name["inner cuffs left outside the sleeve"]
    slip = "doff:gown-impermeable:roll-outside:drags-out@doff:gown-impermeable:roll-outside"

    def routes_of_the_slip(order: Order) -> dict[str, list[str]]:
        program = compile_order(order, load_catalogue())
        weak = (one for one in check(program, 1).weak if one.events == (slip,))
        return {one.surface: [program.surfaces[link.surface] for link in one.links] for one in weak}

    assert routes_of_the_slip(mistake.clean()) == {}
    assert routes_of_the_slip(mistake.order())["body.wrist-l"] == [
        "gown-impermeable.sleeves",
        "inner-gloves-long.inside-l",
        "body.wrist-l",
    ]


def test_one_error_less_under_new_gloves_over_hands_not_cleaned() -> None:
    """A gloved finger on the bare hand as the first glove comes off, which the rub would have cleaned away."""
    mistake = by_name["new gloves put on over hands not cleaned"]
    finger = "doff:gloves-standard:glove-in-glove:touches-layer-below@doff:gloves-standard:glove-in-glove"

    def alone(order: Order) -> set[str]:
        return {one.surface for one in check(compile_order(order, load_catalogue()), 1).weak if one.events == (finger,)}

    assert {"body.face", "body.hair-ears"} <= alone(mistake.order()) - alone(mistake.clean())


def test_one_error_less_without_disinfection_between_glove_layers() -> None:
    """The outer pair's own disinfection left out, or a finger on the layer below: neither is cleaned away any more."""
    mistake = by_name["no disinfection between glove layers"]
    before, after = judge(mistake.clean()), judge(mistake.order())

    assert after.counts[("all", False, "ever")] > before.counts[("all", False, "ever")]
    assert after.counts[("all", True, "ever")] > before.counts[("all", True, "ever")]


def test_a_clean_seat_is_what_the_wipe_makes_of_a_used_one() -> None:
    dirty = by_name["seat left as the wearer before has used it"].order()
    wiped = inserted(dirty, 0, Step(act="wipe", technique="wipe-seat", who="assistant", agent="disinfectant-wipe"))

    assert ("body.thighs", "clothing", "at-end") in judge(dirty).reached
    assert ("body.thighs", "clothing", "at-end") not in judge(wiped).reached


def test_the_neck_stays_clean_when_the_helper_disinfects_first() -> None:
    order = by_name["helper touches the wearer's neck with used gloves"].order()
    rub = Step(act="disinfect-gloves", who="assistant", technique="rub-gloves-helper")
    place = at(order, "touch")

    assert ("body.neck", "skin", "at-end") in judge(order).reached
    assert ("body.neck", "skin", "at-end") not in judge(inserted(order, place, rub)).reached


def test_clean_air_makes_the_respirator_in_the_room_no_route() -> None:
    order = by_name["respirator off in the room while the air is contaminated"].order()
    clean_air = order.model_copy(update={"case": order.case.model_copy(update={"air_contaminated": False})})

    assert not any(kind == "mucosa" for _, kind, _ in judge(clean_air).reached)


def test_hands_that_are_never_cleaned_stay_reached() -> None:
    """The last hand hygiene left out, where the visor was held by its front: skin that was cleaned is not any more."""
    order = by_name["bare hands on the visor"].order()
    last = max(n for n, step in enumerate(order.steps) if step.act == "hand-hygiene")

    assert ("body.hand-l", "skin", "ever") in judge(order).reached
    assert ("body.hand-l", "skin", "at-end") in judge(without(order, last)).reached

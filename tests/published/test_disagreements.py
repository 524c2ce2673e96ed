"""Where publishers disagree on order or grip: both sides are accepted, and each has a cost that can be read.

The question and who says what: the publishers' texts, as noted beside each side. No side is called right here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest
from tools.make_evidence_pages import (
    PAGES,
    at,
    changed,
    disagreements_page,
    doffing_orders,
    inserted,
    judge,
    moved,
    with_steps,
    without,
)

from vestry.contact.check import check
from vestry.contact.compiler import compile_order
from vestry.trade import Order, Step, load_catalogue

ROUTINE = "cdc-standard-doff-ex1--respirator-goggles"
ROUTINE_SHIELD = "cdc-standard-doff-ex1--respirator-shield"
TOGETHER = "cdc-standard-doff-ex2--respirator-goggles"
GOWN_SET = "cdc-vhf-unstable-n95-gown-doff-2015--with-apron"
NO_APRON = "cdc-vhf-unstable-n95-gown-doff-2015--without-apron"
COVERALL_SET = "cdc-vhf-unstable-n95-coverall-doff-2015--with-apron"
HELMET = "cdc-ebola-2014oct-papr-doff--gown-self-contained-without-apron"
PRACTICE = "practice-haemorrhagic-respirator"


@dataclass(frozen=True)
class Side:
    """What one side says, who says it, and how: an edit of a shipped order."""

    says: str
    who: str
    base: str
    edit: Callable[[Order], Order] = lambda order: order
    clean: bool = True

    def order(self) -> Order:
        return self.edit(doffing_orders()[self.base])


@dataclass(frozen=True)
class Disagreement:
    """A question with its sides. `one_ensemble`: the sides wear the same, so that their counts compare."""

    id: str
    question: str
    sides: tuple[Side, ...]
    note: str = ""
    one_ensemble: bool = True


def with_its_rub(order: Order, item: str, after: str) -> Order:
    """A removal, and the rub that follows it, moved to just after another removal and its rub."""
    place, end = at(order, "doff", item), at(order, "doff", after)
    rub = (place + 1,) if order.steps[place + 1].act == "disinfect-gloves" else ()
    return moved(order, (place, *rub), end + (order.steps[end + 1].act == "disinfect-gloves"))


def apart(order: Order) -> Order:
    """Gloves first, then the gown, where both came off in one movement."""
    place = at(order, "doff", "gown-isolation")
    steps = list(order.steps)
    steps[place : place + 1] = [Step(act="doff", item="gloves-standard"), Step(act="doff", item="gown-isolation")]
    return with_steps(order, steps)


def inner_gloves_to_the_end(order: Order) -> Order:
    """No change of gloves: the disinfected inner pair takes the face piece off, and comes off last."""
    first, second = at(order, "doff", "inner-gloves-long"), at(order, "doff", "fresh-gloves")
    order = changed(order, second, item="inner-gloves-long")
    return without(order, first, first + 1, at(order, "don", "fresh-gloves"))


def bare_hands_for_the_face(order: Order) -> Order:
    """No fresh pair: washed bare hands take the face piece off, and are washed again."""
    off = at(order, "doff", "fresh-gloves")
    return without(order, at(order, "don", "fresh-gloves"), off - 1, off)


def both_before_the_eyes(order: Order) -> Order:
    worn = list(order.worn)
    worn.insert(worn.index("goggles") + 1, "face-shield")
    order = order.model_copy(update={"worn": tuple(worn)})
    return inserted(order, at(order, "doff", "goggles"), Step(act="doff", item="face-shield"))


def inner_gloves_put_on_first(order: Order) -> Order:
    worn = [item for item in order.worn if item != "boot-covers-high"]
    worn.insert(worn.index("inner-gloves-long") + 1, "boot-covers-high")
    return order.model_copy(update={"worn": tuple(worn)})


def boot_covers_put_on_first(order: Order) -> Order:
    worn = [item for item in order.worn if item != "boot-covers-high"]
    worn.insert(worn.index("inner-gloves-long"), "boot-covers-high")
    return order.model_copy(update={"worn": tuple(worn)})


DISAGREEMENTS = [
    Disagreement(
        "D1",
        "Eye or face shield before the gown, or after",
        (
            Side("before", "CDC poster, example 1", ROUTINE_SHIELD),
            Side(
                "after",
                "PHE, Australian poster, CDC COVID-19, ECDC",
                ROUTINE_SHIELD,
                lambda order: moved(order, at(order, "doff", "face-shield"), at(order, "doff", "gown-isolation")),
            ),
        ),
        "Routine isolation: gown, respirator, shield, one pair of gloves.",
    ),
    Disagreement(
        "D1 (two pairs of gloves)",
        "Face shield before the gown, or after",
        (
            Side("before", "CDC, unstable VHF, N95 sets", GOWN_SET),
            Side(
                "after",
                "WHO; field texts of 2014",
                GOWN_SET,
                lambda order: with_its_rub(
                    with_its_rub(order, "surgical-hood", "gown-impermeable"), "face-shield", "gown-impermeable"
                ),
            ),
        ),
        "The shield lies over the hood here, so that the hood waits with it.",
    ),
    Disagreement(
        "D2",
        "Gloves first, or gown and gloves in one movement",
        (
            Side("gloves first", "CDC poster, example 1; PHE; Australian poster; CDC COVID-19", TOGETHER, apart),
            Side("together", "CDC poster, example 2; WHO, epidemic respiratory infections", TOGETHER),
        ),
        "Everything else as in example 2.",
    ),
    Disagreement(
        "D3",
        "Gown held on its outside or on its inside",
        (
            Side("outside, gloved hands", "CDC, VHF sets", NO_APRON),
            Side(
                "inside, gloved hands",
                "field graphic of 2014",
                NO_APRON,
                lambda order: changed(order, at(order, "doff", "gown-impermeable"), technique="peel-from-inside"),
            ),
        ),
    ),
    Disagreement(
        "D3 (bare hands)",
        "Gown held on its inside with bare hands, or pulled by its outside front with gloves",
        (
            Side("inside, bare hands", "CDC poster, example 1; PHE; Australian poster", TOGETHER, apart),
            Side("outside front, gloves", "CDC poster, example 2", TOGETHER),
        ),
        "The two orders of D2: they differ in both ways at once.",
    ),
    Disagreement(
        "D4",
        "Hood before the garment, or after",
        (
            Side("before", "CDC, VHF sets; MSF; WHO", NO_APRON),
            Side(
                "after",
                "field graphic of 2014 (cap after gown and boots)",
                NO_APRON,
                lambda order: with_its_rub(order, "surgical-hood", "gown-impermeable"),
            ),
        ),
    ),
    Disagreement(
        "D4 (blower in the helmet)",
        "Helmet with its shroud after the garment, or before",
        (
            Side("after", "CDC, 2014 text", HELMET),
            Side(
                "before",
                "as the hood of a belt blower in CDC, VHF sets",
                HELMET,
                lambda order: with_its_rub(order, "gown-impermeable", "papr-helmet"),
            ),
        ),
    ),
    Disagreement(
        "D5",
        "Boot covers before the outer gloves, or after the garment",
        (
            Side("after the garment", "CDC, 2015 text", GOWN_SET),
            Side(
                "before the outer gloves",
                "CDC, 2014 text",
                GOWN_SET,
                lambda order: with_its_rub(order, "boot-covers-high", "apron"),
            ),
            Side(
                "last, after the respirator",
                "MSF (boots last)",
                GOWN_SET,
                lambda order: with_its_rub(order, "boot-covers-high", "respirator-disposable"),
            ),
        ),
        "The route of the earlier place runs over the seat to the trousers; the text of 2015 closed it.",
    ),
    Disagreement(
        "D6",
        "Apron before the outer gloves, or outer gloves before the apron",
        (
            Side("apron first", "CDC, VHF sets; WHO", GOWN_SET),
            Side(
                "outer gloves first",
                "MSF; field graphic of 2014",
                GOWN_SET,
                lambda order: with_its_rub(order, "apron", "outer-gloves-long"),
            ),
        ),
    ),
    Disagreement(
        "D7",
        "Apron over the garment, or none",
        (
            Side("with", "MSF; WHO", GOWN_SET),
            Side("without", "CDC: optional", NO_APRON),
        ),
        "Not the same ensemble: there is one item more to be reached and taken off, so that the counts do not compare.",
        one_ensemble=False,
    ),
    Disagreement(
        "D8",
        "Face piece off with inner gloves, with new gloves, or with washed bare hands",
        (
            Side("inner gloves", "CDC, VHF sets; MSF; WHO", PRACTICE, inner_gloves_to_the_end),
            Side("new gloves", "ECDC; CDC where the inner pair is changed", PRACTICE),
            Side(
                "washed bare hands",
                "field graphic of 2014; CDC poster; PHE; Australian poster",
                PRACTICE,
                bare_hands_for_the_face,
            ),
        ),
        "A respirator, taken off last of what is on the face.",
    ),
    Disagreement(
        "D14",
        "Goggles or shield, or both",
        (
            Side("shield", "CDC and California, VHF", ROUTINE_SHIELD),
            Side("goggles", "either: WHO; CDC poster", ROUTINE),
            Side("goggles and shield", "an unnamed UK hospital team", ROUTINE, both_before_the_eyes),
        ),
        "Not the same ensemble, so that the counts do not compare.",
        one_ensemble=False,
    ),
    Disagreement(
        "D15",
        "Ties of the gown undone, or broken by pulling",
        (
            Side("undone", "CDC poster, example 1; Australian poster; PHE", TOGETHER, apart),
            Side("broken", "CDC poster, example 2", TOGETHER),
        ),
        "The two orders of D2 again. Neck before waist, or in no order, makes no difference that the model could see: "
        "the ties are one face.",
    ),
    Disagreement(
        "D15 (by whom)",
        "Ties of the gown undone by the wearer, or by the assistant",
        (
            Side("wearer", "CDC, VHF sets (no assistant listed for the gown)", NO_APRON),
            Side(
                "assistant",
                "CDC, VHF sets (one team)",
                NO_APRON,
                lambda order: changed(order, at(order, "doff", "gown-impermeable"), who="both"),
            ),
        ),
    ),
    Disagreement(
        "D17",
        "Putting on: boot covers before the inner gloves, or after",
        (
            Side(
                "boot covers first",
                "CDC, coverall set (implied by its hand rule)",
                COVERALL_SET,
                boot_covers_put_on_first,
            ),
            Side("inner gloves first", "CDC, general text", COVERALL_SET, inner_gloves_put_on_first),
        ),
        "They lie at different sites, so that neither lies over the other.",
    ),
]

NOT_HERE = {
    "D9": "eye protection inside or outside the room: where, not in which order; both are among the shipped orders",
    "D10": "gloves disinfected or not: hygiene; what each disinfection left out costs is [its own table](mutants.md)",
    "D11": "how often hands are cleaned: hygiene; the same table",
    "D12": "whether the watcher may touch: people",
    "D13": "mask or respirator: what is worn, from the hazard",
    "D16": "gown over an oversuit, or one garment: what is worn",
    "D18": "which disinfectant: an agent, written on the step",
}

each_side = pytest.mark.parametrize(
    "side", [pytest.param(side, id=f"{one.id}, {side.says}") for one in DISAGREEMENTS for side in one.sides]
)


@each_side
def test_a_side_is_accepted(side: Side) -> None:
    """It compiles and is checked, and nothing in the verdict but its routes is held against it."""
    verdict = check(compile_order(side.order(), load_catalogue()), order=1)

    assert verdict.clean is side.clean
    assert not any(one.endpoint == "mucosa" for one in verdict.reached)


@pytest.mark.parametrize("one", [pytest.param(one, id=one.id) for one in DISAGREEMENTS])
def test_the_sides_differ_in_what_is_disputed_alone(one: Disagreement) -> None:
    orders = [side.order() for side in one.sides]

    assert len({(order.worn, order.steps) for order in orders}) == len(orders)
    if one.one_ensemble:
        assert len({frozenset(order.worn) for order in orders}) == 1
        assert len({(order.case, order.zone) for order in orders}) == 1


def test_what_is_put_on_first_of_two_things_that_never_meet_costs_nothing() -> None:
    one, other = (judge(side.order()) for side in next(d for d in DISAGREEMENTS if d.id == "D17").sides)

    assert (one.reached, one.counts) == (other.reached, other.counts)


def test_the_earlier_place_of_the_boot_covers_costs_the_trousers() -> None:
    after, before, _ = (judge(side.order()) for side in next(d for d in DISAGREEMENTS if d.id == "D5").sides)

    assert before.reached - after.reached == {("body.thighs", "clothing", "at-end")}


def test_every_published_disagreement_is_here_or_said_not_to_be() -> None:
    named = {one.id.split()[0] for one in DISAGREEMENTS} | set(NOT_HERE)

    assert named == {f"D{number}" for number in range(1, 19)}


def test_the_page_is_up_to_date() -> None:
    assert (PAGES / "disagreements.md").read_text("utf-8") == disagreements_page()

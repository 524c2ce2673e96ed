"""The unit's approved answer: only what was approved, only where it fits, never a guess."""

from __future__ import annotations

from vestry.procedure import Happened, answer
from vestry.sequence import Recovery

AT = "doff:face-shield:rear-strap"
SWUNG = f"{AT}:swings-onto-neck@{AT}"
SNAPPED = f"{AT}:snaps@{AT}"
WORN = ("scrubs", "respirator-disposable", "inner-gloves-long")


def recovery(happened: tuple[str, ...], *assumed: str, worn: tuple[str, ...] = WORN, clean: bool = True) -> Recovery:
    return Recovery(
        at=AT,
        happened=happened,
        worn=worn,
        assumed=assumed,
        zone="doffing-area",
        exposed=(),
        steps=(),
        clean=clean,
        further=(),
    )


FOR_SWUNG = recovery((SWUNG,), "body.neck")
FOR_SNAPPED = recovery((SNAPPED,), "body.eyes")
FOR_ANYTHING = recovery(("envelope",), "body.neck", "body.eyes", "body.face")
ALL = (FOR_ANYTHING, FOR_SWUNG, FOR_SNAPPED)


def happened(*events: str, contaminated: frozenset[str] | None = None, worn: tuple[str, ...] = WORN) -> Happened:
    return Happened(AT, events, frozenset(worn), contaminated)


def test_the_answer_to_exactly_what_happened_comes_first():
    assert answer(ALL, happened(SWUNG)) == FOR_SWUNG


def test_not_sure_gets_the_answer_for_whatever_may_have_happened():
    assert answer(ALL, happened()) == FOR_ANYTHING


def test_without_its_own_answer_one_event_gets_the_answer_for_whatever_may_have_happened():
    assert answer((FOR_ANYTHING, FOR_SNAPPED), happened(SWUNG)) == FOR_ANYTHING


def test_two_things_at_once_get_no_answer_when_it_is_not_known_what_they_reached():
    assert answer(ALL, happened(SWUNG, SNAPPED)) is None


def test_an_answer_must_assume_all_that_may_be_contaminated():
    assert answer(ALL, happened(SWUNG, contaminated=frozenset({"body.neck", "body.eyes"}))) == FOR_ANYTHING
    assert answer(ALL, happened(SWUNG, contaminated=frozenset({"body.torso"}))) is None


def test_an_answer_for_other_items_worn_is_none():
    assert answer(ALL, happened(SWUNG, worn=("scrubs",))) is None


def test_the_order_in_which_items_are_named_does_not_matter():
    assert answer(ALL, happened(SWUNG, worn=WORN[::-1])) == FOR_SWUNG


def test_an_answer_that_reaches_further_is_not_offered():
    assert answer((recovery((SWUNG,), "body.neck", clean=False),), happened(SWUNG)) is None


def test_an_answer_for_another_step_is_none():
    elsewhere = Happened("doff:gown-impermeable:roll-outside", (SWUNG,), frozenset(WORN))

    assert answer(ALL, elsewhere) is None

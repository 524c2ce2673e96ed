"""What an entry took from the shelf, read from its own events."""

from __future__ import annotations

from tests.entry.making import done, event, opened
from tests.procedure.example import plan

from vestry.entry import Course, Led, fold
from vestry.stock import consumed, entry_use
from vestry.trade import load_catalogue

FACTS = load_catalogue()
LED = Led(Course("plan", plan().steps))
DONNING = [step for step in plan().steps if step.act == "don" and step.phase == "donning"]
ALL = [step.id for step in plan().steps]


def used(*events):
    """What these events come to."""
    return entry_use(LED, fold(LED, events), events, FACTS)


def test_an_entry_to_its_end_takes_what_its_plan_uses_up():
    found = used(opened(), *done(*ALL), event("closed"))

    assert found.worn == consumed(plan(), FACTS)
    assert (found.changed, found.torn) == ({}, {})


def test_an_entry_broken_off_takes_only_what_was_put_on():
    first = DONNING[0]

    found = used(opened(), *done(first.id), event("abandoned", reason="unwell"))

    assert found.worn == {item: 1 for item in first.items if item in consumed(plan(), FACTS)}


def test_a_tear_before_going_in_takes_one_more_and_a_later_one_does_not():
    gown = next(step for step in DONNING if step.items[0].startswith("gown"))
    tear = {"item": gown.items[0]}

    before = used(opened(), *done(gown.id), event("tear", gown.id, **tear), event("abandoned", reason="x"))
    after = used(opened(), *done(*ALL), event("entered"), event("tear", ALL[-1], **tear), event("closed"))

    assert before.torn == {gown.items[0]: 1}
    assert after.torn == {}


def test_gloves_changed_inside_are_the_outermost_and_on_the_way_out_the_fresh_ones():
    inside = next(step.id for step in reversed(plan().steps) if step.phase in ("donning", "entry"))
    outermost = [item for step in DONNING for item in step.items if FACTS.items[item].kind == "gloves"][-1]

    found = used(
        opened(), *done(*ALL), event("glove-changed", inside), event("glove-changed", ALL[-1]), event("closed")
    )

    assert found.changed == {outermost: 1, "fresh-gloves": 1}


def test_the_order_in_which_events_arrive_does_not_matter():
    events = [opened(), *done(*ALL), event("entered"), event("glove-changed", ALL[-1]), event("closed")]

    assert used(*reversed(events)) == used(*events)


def test_a_drill_and_an_entry_never_opened_take_nothing():
    drill = event("opened", wearer="noor", observer="tomas", drill=True)

    assert used(drill, *done(*ALL), event("closed")).nothing
    assert used(*done(*ALL)).nothing


def test_what_is_torn_and_is_no_item_is_not_made_up():
    found = used(opened(), event("tear", DONNING[0].id, item="curtain"), event("abandoned", reason="x"))

    assert found.nothing

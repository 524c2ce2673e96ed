"""When donning must begin: back from the arrival by what the plan's steps take."""

from __future__ import annotations

import datetime

from tests.procedure.example import plan
from vestry.call import Stretch, latest_start, stretches
from vestry.sequence.timing import Span, span_of
from vestry.trade import load_catalogue

ARRIVAL = datetime.datetime(2026, 11, 27, 3, 0, tzinfo=datetime.UTC)
PARTS = (
    Stretch("observer", 5, Span(600, 300, 900), counts=False),
    Stretch("assistant", 6, Span(660, 300, 1200)),
    Stretch("wearer", 12, Span(540, 300, 1500)),
)


def before(minutes: float) -> datetime.datetime:
    return ARRIVAL - datetime.timedelta(minutes=minutes)


def test_the_longer_of_the_two_who_dress_beside_each_other_counts_then_the_wearer():
    found = latest_start(PARTS, ARRIVAL, before(60))

    assert (found.usual, found.slow) == (before(20), before(45))
    assert (found.state, found.minutes, found.too_late_by) == ("in-time", 40, 0)


def test_between_slow_and_usual_it_is_tight_and_after_that_too_late_by_whole_minutes():
    assert latest_start(PARTS, ARRIVAL, before(30)).state == "tight"
    assert latest_start(PARTS, ARRIVAL, before(20)).state == "tight"
    late = latest_start(PARTS, ARRIVAL, before(19.5))
    assert (late.state, late.too_late_by) == ("too-late", 1)
    assert latest_start(PARTS, ARRIVAL, before(-10)).too_late_by == 30


def test_without_an_arrival_or_a_procedure_nothing_is_said_and_once_begun_nobody_is_pressed():
    assert latest_start(PARTS, None, before(60)).state == "unknown"
    assert latest_start((), ARRIVAL, before(60)).state == "unknown"
    assert latest_start(PARTS, ARRIVAL, before(-10), begun=True).state == "begun"


def test_the_parts_of_a_plan_are_its_own_steps_up_to_the_door():
    catalogue, one = load_catalogue(), plan()
    parts = {part.name: part for part in stretches(one, catalogue)}
    entry = one.phase("entry")
    door = next(number for number, step in enumerate(entry, 1) if step.to == "room")
    mine = (*one.phase("donning"), *entry[:door])

    assert parts["wearer"].steps == len(mine)
    assert parts["wearer"].span.seconds == sum(
        span_of(step.act, step.items, step.agent, catalogue).seconds for step in mine
    )
    assert sum(part.counts for part in parts.values() if part.name in ("observer", "assistant")) <= 1

"""The browser folds and interprets as Python does: generated streams and programs, and the real plans' own programs.

A difference is a tablet that shows one thing while the record says another.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from typing import Any

import pytest
from tests.browser.alike import Alike
from tests.browser.streams import event_document, forced, led, led_document, program, stream, walk
from tests.entry.real import REAL, a_real_plan

from vestry.contact.reach import reach
from vestry.entry import KINDS, Deviation, EntryState, Flag, fold
from vestry.entry.actual import actual
from vestry.entry.offering import offered

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def alike(chromium: Any) -> Iterator[Alike]:
    page = Alike(chromium)
    yield page
    page.close()


# ---- streams ----


def streams_that_differ(page: Alike, seeds: range) -> list[int]:
    """The seeds whose stream folds to one state in Python and to another in the browser."""
    cases = []
    for seed in seeds:
        chance = random.Random(seed)
        way = led(chance)
        cases.append((way, stream(chance, way)))
    told = page.ask(
        "folded",
        ({"led": led_document(way), "events": [event_document(one) for one in events]} for way, events in cases),
    )
    return [
        seed
        for seed, (way, events), theirs in zip(seeds, cases, told, strict=True)
        if fold(way, events).as_json() != theirs
    ]


def test_the_browser_knows_the_same_kinds(alike: Alike):
    assert alike.page.evaluate("() => window.kinds()") == sorted(KINDS)


def test_streams_fold_alike(alike: Alike):
    assert streams_that_differ(alike, range(150)) == []


@pytest.mark.slow
def test_two_thousand_streams_fold_alike(alike: Alike):
    different = [
        seed for first in range(0, 2000, 250) for seed in streams_that_differ(alike, range(first, first + 250))
    ]

    assert different == []


def test_the_streams_reach_every_kind_every_stage_and_every_flag():
    """Streams that never say something would hold nothing together."""
    states, kinds = [], set()
    for seed in range(600):
        chance = random.Random(seed)
        way = led(chance)
        events = stream(chance, way)
        kinds |= {one.kind for one in events}
        states.append(fold(way, events))

    assert kinds >= set(KINDS) | {"not-known-here"}
    assert {one.stage for one in states} == {"not-opened", "under-way", "held", "walked", "closed", "abandoned"}
    assert any(one.course != "plan" for one in states)
    assert any(one.taken_back for one in states)
    assert len({flag.what for one in states for flag in one.flags}) >= 28


# ---- programs ----


def programs_that_differ(page: Alike, seeds: range) -> list[int]:
    cases = []
    for seed in seeds:
        chance = random.Random(seed)
        one = program(chance)
        happening, seen = forced(chance, one)
        cases.append((one, happening, seen))
    told = page.ask(
        "ran",
        (
            {"program": one.as_json(), "happening": happening, "seen": [[step, all_] for step, all_ in seen.items()]}
            for one, happening, seen in cases
        ),
    )
    return [
        seed
        for seed, (one, happening, seen), theirs in zip(seeds, cases, told, strict=True)
        if [sorted(after) for after in reach(one, happening, seen=seen).after] != theirs
    ]


def test_programs_run_alike(alike: Alike):
    assert programs_that_differ(alike, range(150)) == []


@pytest.mark.slow
def test_two_thousand_programs_run_alike(alike: Alike):
    different = [
        seed for first in range(0, 2000, 250) for seed in programs_that_differ(alike, range(first, first + 250))
    ]

    assert different == []


def said(chance: random.Random, steps: tuple[str, ...], events: list[str]) -> EntryState:
    """A state with deviations of every sort, known and unknown to the program."""
    deviations = []
    for _ in range(chance.randint(0, 3)):
        kind = chance.choice(["deviation", "deviation", "tear", "soiling", "zone-crossed"])
        happened = chance.sample([*events, "not-sure", "something-else", "e99"], chance.randint(0, 2))
        touched = chance.choice([None, "gloves-long", "gown-isolation.a", "nowhere.a"])
        step, course = chance.choice([*steps, "nowhere"]), chance.choice(["plan", "plan", "answer-1"])
        deviations.append(Deviation("t", step, tuple(sorted(happened)), "", kind, None, touched, course))
    flags = (Flag("t", "e", "done out of order"),) if chance.random() < 0.1 else ()
    return EntryState(deviations=tuple(deviations), flags=flags)


@pytest.mark.slow
def test_what_may_be_contaminated_is_told_alike(alike: Alike):
    cases = []
    for seed in range(200):
        chance = random.Random(seed)
        one = program(chance)
        cases.append((one, said(chance, one.steps, [event.id for event in one.events])))
    told = alike.ask("actually", ({"program": one.as_json(), "state": state.as_json()} for one, state in cases))

    ours = [actual(one, state) for one, state in cases]
    assert {one.whole for one in ours} == {True, False}
    assert [
        {
            "before": {step: sorted(names) for step, names in one.before.items()},
            "after": {step: sorted(names) for step, names in one.after.items()},
            "whole": one.whole,
        }
        for one in ours
    ] == told


# ---- the real plans' own programs ----


@pytest.mark.slow
@pytest.mark.parametrize("name", REAL)
def test_entries_along_real_plans_are_told_alike(alike: Alike, name: str):
    """State, what may be contaminated, and the approved answer that is offered: after whatever happened, wherever."""
    real = a_real_plan(name)
    alike.page.evaluate("(text) => window.carry(text)", json.dumps(real.carried.model_dump(mode="json", by_alias=True)))
    slips = {scene.step: scene.slips for scene in real.approved.scenes}
    entries = [walk(random.Random(seed), real.led, slips, real.program.surfaces) for seed in range(400)]
    told = alike.ask("walked", ([event_document(one) for one in events] for events in entries))

    answered = 0
    for events, theirs in zip(entries, told, strict=True):
        state = fold(real.led, events)
        now = actual(real.program, state)
        found = offered(real.approved.answers, real.approved.plan.steps, state, real.program, real.carried.items)
        answered += found is not None
        assert theirs["state"] == state.as_json()
        assert theirs["offered"] == (found.name if found else None)
        assert theirs["actual"]["whole"] == now.whole
        assert theirs["actual"]["after"] == {step: sorted(names) for step, names in now.after.items()}
    assert answered > 40


# ---- the tests can fail ----

PLANTED = [
    ("order.js", "a.counter - b.counter ||", "0 ||"),
    ("order.js", "left[n].codePointAt(0) - right[n].codePointAt(0)", "left[n].charCodeAt(0) - right[n].charCodeAt(0)"),
    ("now.js", "place >= position && place <", "place >= position && place <="),
    ("handling.js", "!sameSet(course.worn, now.worn)", "course.worn.length !== now.worn.length"),
    ("fold.js", "if (said && TAKEN_BACK.has(said.kind))", "if (said)"),
]
PLANTED_IN_THE_INTERPRETER = [
    ("interpret.js", 'if (fromB && verb === "contact")', "if (fromB)"),
    ("interpret.js", 'verb === "fresh" || !happening.has(event)', "!happening.has(event)"),
    ("interpret.js", "event === -1 || happening.has(event)", "true"),
    ("interpret.js", "for (const surface of seen.get(step) ?? []) now.add(surface);", ""),
]


@pytest.mark.slow
@pytest.mark.parametrize("planted", PLANTED, ids=[f"{one[0]}-{n}" for n, one in enumerate(PLANTED)])
def test_a_planted_bug_in_the_fold_is_caught(chromium: Any, planted: tuple[str, str, str]):
    page = Alike(chromium, planted)
    caught = any(streams_that_differ(page, range(first, first + 50)) for first in range(0, 1000, 50))
    page.close()

    assert caught


@pytest.mark.slow
@pytest.mark.parametrize("planted", PLANTED_IN_THE_INTERPRETER, ids=["both-ways", "fresh", "events", "soiled"])
def test_a_planted_bug_in_the_interpreter_is_caught(chromium: Any, planted: tuple[str, str, str]):
    page = Alike(chromium, planted)
    caught = any(programs_that_differ(page, range(first, first + 50)) for first in range(0, 500, 50))
    page.close()

    assert caught

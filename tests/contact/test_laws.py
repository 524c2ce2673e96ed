"""Laws that hold for every order, whatever the catalogue says: more contamination in, never less out, and the like."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.contact.strategies import LANE, can_be_done, order_files, orders, rename_items

from vestry.contact.compiler import compile_order
from vestry.contact.cutsets import Antichain, at_most, cut_sets
from vestry.contact.program import NO_EVENT, Program
from vestry.contact.reach import chain, reach
from vestry.contact.taught import taught
from vestry.trade import Order, Step, load_catalogue

pytestmark = pytest.mark.property
CONVENTIONS = sorted(load_catalogue().conventions)

many_cases: dict[str, Callable[[], None]] = {}


def law(*cases: st.SearchStrategy[Any]) -> Callable[[Callable[..., None]], Callable[[], None]]:
    """A few cases each time; many under `slow` (the last test here)."""

    def checked(check: Callable[..., None]) -> Callable[[], None]:
        many_cases[check.__name__] = settings(max_examples=300)(given(*cases)(check))
        return settings(max_examples=40)(given(*cases)(check))

    return checked


some_orders = orders() | st.sampled_from(list(order_files().values()))

Named = dict[str, frozenset[frozenset[str]]]


def some_events(data: st.DataObject, program: Program) -> set[int]:
    numbers = range(len(program.events))
    return data.draw(st.sets(st.sampled_from(numbers), max_size=8)) if numbers else set()


def named_cut_sets(program: Program, order: int = 2) -> tuple[Named, Named]:
    """Cut sets with surfaces and events by name, ever and at the end."""
    found = cut_sets(program, order, latent=True)

    def named(sets: Antichain) -> frozenset[frozenset[str]]:
        events = program.events
        return frozenset(frozenset(e.id for n, e in enumerate(events) if bits >> n & 1) for bits in sets)

    return (
        {program.surfaces[surface]: named(sets) for surface, sets in found.ever.items()},
        {program.surfaces[surface]: named(sets) for surface, sets in found.at_end.items()},
    )


def assert_no_route_lost(before: Program, after: Program) -> None:
    """Each cut set of before contains one of after: what carried contamination then, still does."""
    for old, new in zip(named_cut_sets(before), named_cut_sets(after), strict=True):
        for surface, sets in old.items():
            for one in sets:
                assert any(smaller <= one for smaller in new.get(surface, ())), (surface, one)


# ---- more in, never less out ----


@law(some_orders, st.data())
def test_more_events_never_reach_less(order: Order, data: st.DataObject) -> None:
    program = compile_order(order, load_catalogue())
    fewer, more = some_events(data, program), some_events(data, program)

    less, all_of_it = reach(program, fewer), reach(program, fewer | more)

    assert less.ever.keys() <= all_of_it.ever.keys()
    assert less.at_end.keys() <= all_of_it.at_end.keys()
    assert all(early <= late for early, late in zip(less.after, all_of_it.after, strict=True))


@law(some_orders, st.data())
def test_more_contamination_on_arrival_never_reaches_less(order: Order, data: st.DataObject) -> None:
    program = compile_order(order, load_catalogue())
    extra = data.draw(st.sets(st.sampled_from(range(len(program.surfaces))), max_size=4))
    dirtier = replace(program, start=(*program.start, *((surface, "high") for surface in extra)))
    happening = some_events(data, program)

    less, more = reach(program, happening), reach(dirtier, happening)

    assert less.ever.keys() | extra <= more.ever.keys()
    assert less.at_end.keys() <= more.at_end.keys()
    assert_no_route_lost(program, dirtier)


@law(some_orders, st.sets(st.sampled_from(LANE), max_size=3))
def test_what_the_lane_carries_in_never_removes_a_route(order: Order, contaminated: set[str]) -> None:
    lane = order.lane.model_copy(update={"contaminated": (*order.lane.contaminated, *sorted(contaminated))})
    after = order.model_copy(update={"lane": lane})

    assert_no_route_lost(compile_order(order, load_catalogue()), compile_order(after, load_catalogue()))


@law(some_orders, st.sampled_from(CONVENTIONS), st.sets(st.sampled_from(CONVENTIONS)))
@pytest.mark.slow
def test_switching_a_convention_off_never_removes_a_route(order: Order, convention: str, others: set[str]) -> None:
    before = compile_order(order, load_catalogue(), others - {convention})
    after = compile_order(order, load_catalogue(), others | {convention})

    assert_no_route_lost(before, after)


# ---- less can go wrong, no new way of going wrong ----


@law(some_orders, st.data())
def test_deleting_a_slip_touch_never_adds_a_cut_set(order: Order, data: st.DataObject) -> None:
    program = compile_order(order, load_catalogue())
    slips = [n for n, op in enumerate(program.ops) if op.verb != "clean" and op.event != NO_EVENT]
    assume(slips)
    deleted = data.draw(st.sampled_from(slips))
    without = replace(program, ops=program.ops[:deleted] + program.ops[deleted + 1 :])

    before, after = cut_sets(program, 3, latent=True), cut_sets(without, 3, latent=True)

    for old, new in ((before.ever, after.ever), (before.at_end, after.at_end)):
        assert all(at_most(sets, old.get(surface, ())) for surface, sets in new.items())


@law(some_orders, st.data())
def test_a_technique_without_one_of_its_slip_touches_adds_no_cut_set(order: Order, data: st.DataObject) -> None:
    """Where cleaning counts for nothing: else a touch less can make two rubs one (see the touch language, Cleaning)."""
    catalogue = load_catalogue()
    used = sorted({step.technique.id for step in taught(order, catalogue)})
    with_slips = [
        n for n, t in enumerate(catalogue.techniques) if t.id in used and any(touch.slip for touch in t.touches)
    ]
    assume(with_slips)
    number = data.draw(st.sampled_from(with_slips))
    technique = catalogue.techniques[number]
    line = data.draw(st.sampled_from([touch for touch in technique.touches if touch.slip]))
    kept = technique.model_copy(update={"touches": tuple(touch for touch in technique.touches if touch is not line)})
    less = replace(catalogue, techniques=(*catalogue.techniques[:number], kept, *catalogue.techniques[number + 1 :]))

    off = {"cleaning-clears"}
    assert_no_route_lost(compile_order(order, less, off), compile_order(order, catalogue, off))


# ---- a rub twice is a rub ----


@law(some_orders, st.data())
@pytest.mark.slow
def test_a_glove_disinfection_done_twice_adds_no_margin(order: Order, data: st.DataObject) -> None:
    rubs = [number for number, step in enumerate(order.steps) if step.act == "disinfect-gloves"]
    if not rubs:
        steps = list(order.steps)
        steps.insert(data.draw(st.integers(0, len(steps))), Step(act="disinfect-gloves"))
        order = order.model_copy(update={"steps": tuple(steps)})
        assume(can_be_done(order, load_catalogue()))
        rubs = [number for number, step in enumerate(order.steps) if step.act == "disinfect-gloves"]
    at = data.draw(st.sampled_from(rubs))
    twice = order.model_copy(update={"steps": (*order.steps[: at + 1], *order.steps[at:])})

    once_program, twice_program = compile_order(order, load_catalogue()), compile_order(twice, load_catalogue())

    ids = [step.id for step in taught(twice, load_catalogue())]
    doubled = next(n for n, step in enumerate(taught(order, load_catalogue())) if step.number == at + 1)
    del ids[doubled + 1]
    renumbered = dict(zip(once_program.steps, ids, strict=True))
    events = tuple(
        replace(e, id=f"{name}@{renumbered[step]}") if step else e
        for e in once_program.events
        for name, _, step in [e.id.partition("@")]
    )
    assert_no_route_lost(replace(once_program, events=events), twice_program)
    assert {e.id for e in twice_program.events} == {e.id for e in events}


# ---- names are names ----


@law(orders(plain=True), st.data())
@pytest.mark.slow
def test_items_called_otherwise_change_nothing_but_names(order: Order, data: st.DataObject) -> None:
    """All but fresh gloves, which `change-gloves` takes by name. One item gets the very name of its kind."""
    catalogue = load_catalogue()
    kinds = {item.kind for item in catalogue.items.values()}
    spoken = {reference.partition(".")[0] for step in order.steps for reference in step.touches or ()}
    names = {item: f"n{number}" for number, item in enumerate(catalogue.items) if item != "fresh-gloves"}
    twins = [item for item in names if catalogue.items[item].kind not in catalogue.items and item not in spoken]
    worn_kinds = {catalogue.items[item].kind for item in order.worn}
    likely = [item for item in twins if item not in order.worn and catalogue.items[item].kind in worn_kinds]
    twin = data.draw(st.sampled_from(likely or twins))
    names[twin] = catalogue.items[twin].kind

    def renamed(text: str) -> str:
        return re.sub(r"[a-z0-9-]+", lambda word: names.get(word[0], word[0]), text)

    def step_renamed(step: Step) -> Step:
        touches = step.touches and tuple(t if t.partition(".")[0] in kinds else renamed(t) for t in step.touches)
        items = {"item": names.get(step.item or "", step.item), "items": tuple(names.get(i, i) for i in step.items)}
        return step.model_copy(update={**items, "touches": touches})

    steps = tuple(step_renamed(step) for step in order.steps)
    other = order.model_copy(update={"worn": tuple(names.get(i, i) for i in order.worn), "steps": steps})

    before, after = compile_order(order, catalogue), compile_order(other, rename_items(catalogue, names))

    for old, new in zip(named_cut_sets(before), named_cut_sets(after), strict=True):
        assert new == {
            renamed(surface): frozenset(frozenset(renamed(event) for event in one) for one in sets)
            for surface, sets in old.items()
        }


# ---- witnesses ----


@law(some_orders, st.data())
@pytest.mark.slow
def test_a_witness_is_a_real_chain_of_touches_from_a_source(order: Order, data: st.DataObject) -> None:
    program = compile_order(order, load_catalogue())
    happening = some_events(data, program)
    found = reach(program, happening)

    for surface, last in (*found.ever.items(), *found.at_end.items()):
        links = chain(last)
        assert (links[0].op, links[-1].surface) == (-1, surface)
        assert links[0].surface in program.sources("all")
        assert [link.length for link in links] == list(range(len(links)))
        for before, link in pairwise(links):
            op = program.ops[link.op]
            assert before.op < link.op
            assert (op.a, op.b) == (before.surface, link.surface) or (
                op.verb == "contact" and (op.b, op.a) == (before.surface, link.surface)
            )
            assert op.event == NO_EVENT or op.event in happening
            assert not cleared(program, before.surface, happening, before.op + 1, link.op)
    for surface, last in found.at_end.items():
        assert not cleared(program, surface, happening, last.op + 1, len(program.ops))


def cleared(program: Program, surface: int, happening: set[int], start: int, end: int) -> bool:
    """Whether the surface becomes clean between two operations."""
    return any(
        op.a == surface and (op.verb == "fresh" or (op.verb == "clean" and op.event not in happening))
        for op in program.ops[start:end]
    )


# ---- the same again is the same ----


@law(some_orders)
def test_an_order_compiles_to_the_same_program_each_time(order: Order) -> None:
    one, other = compile_order(order, load_catalogue()), compile_order(order, load_catalogue())

    assert one.as_json() == other.as_json()
    assert cut_sets(one, 2, latent=True) == cut_sets(other, 2, latent=True)


def test_another_process_with_other_hashes_compiles_the_same_program() -> None:
    script = """
import hashlib, json
from importlib import resources
from vestry.contact.compiler import compile_order
from vestry.contact.cutsets import cut_sets
from vestry.trade import load_catalogue, read_order
digest = hashlib.sha256()
files = sorted((resources.files("vestry.trade") / "data" / "orders").iterdir(), key=str)
for file in files[::20]:
    program = compile_order(read_order(file.read_text("utf-8"), file.name), load_catalogue())
    digest.update(json.dumps([program.as_json(), cut_sets(program, 2).ever]).encode())
print(digest.hexdigest())
"""
    here = {**os.environ, "PYTHONPATH": os.pathsep.join([".", *sys.path])}
    command = [sys.executable, "-c", script]
    digests = {
        subprocess.run(command, env={**here, "PYTHONHASHSEED": seed}, capture_output=True, text=True, check=True).stdout
        for seed in ("1", "2")
    }
    assert len(digests) == 1


@pytest.mark.slow
@pytest.mark.timeout(600)
@pytest.mark.parametrize("name", sorted(many_cases))
def test_the_law_holds_on_many_orders(name: str) -> None:
    many_cases[name]()

"""The fast answers against slower, plainer ones.

The compiler with reach against the reference, which walks the touch language by surface names; cut sets against the
enumeration of all scenarios, against the reference, and against clingo, a general solver.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set
from functools import cache
from itertools import combinations
from random import Random
from typing import Literal

import pytest
from bench.peers.answer_sets import Grounded, Told
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.contact.strategies import catalogues, order_files, orders, with_case

from vestry.contact.compiler import compile_order
from vestry.contact.cutsets import cut_sets
from vestry.contact.program import Program
from vestry.contact.reach import reach
from vestry.contact.reference import run
from vestry.contact.scenarios import cut_sets_by_enumeration
from vestry.contact.taught import taught
from vestry.trade import Catalogue, Order, load_catalogue

FILES = sorted(order_files())
FEW = FILES[::8]  # some of every kind
NOTHING: frozenset[str] = frozenset()
CONVENTIONS = sorted(load_catalogue().conventions)

each_file = pytest.mark.parametrize("file", FILES)
few_files = pytest.mark.parametrize("file", FEW)


def settings_of(order: Order) -> Iterator[tuple[Order, frozenset[str]]]:
    """An order as written; wet, in bad air and relying on cleaning alone; dry, against what alcohol does not clear."""
    yield order, NOTHING
    yield with_case(order, presentation="wet", air_contaminated=True), frozenset(CONVENTIONS) - {"cleaning-clears"}
    yield with_case(order, presentation="dry", virus_class="non-enveloped", air_contaminated=False), NOTHING


def happening_events(program: Program) -> dict[str, int]:
    return {event.id: number for number, event in enumerate(program.events) if event.sort != "residue"}


def assert_the_same(
    order: Order,
    catalogue: Catalogue,
    happening: Set[str],
    switched_off: Set[str] = NOTHING,
    loads: Literal["all", "high"] = "all",
) -> None:
    plain = run(order, catalogue, happening, switched_off=switched_off, high_only=loads == "high")
    program = compile_order(order, catalogue, switched_off)
    numbers = happening_events(program)
    fast = reach(program, {numbers[event] for event in happening if event in numbers}, loads)

    assert numbers.keys() == plain.events
    assert names(program, fast.ever) == plain.ever
    assert names(program, fast.at_end) == plain.at_end


def names(program: Program, surfaces: Iterable[int]) -> set[str]:
    return {program.surfaces[number] for number in surfaces}


# ---- what is reached ----


@each_file
@pytest.mark.sampled(40)
def test_compiled_orders_reach_what_the_reference_reaches(file: str) -> None:
    chance, order = Random(file), order_files()[file]
    assert_the_same(order, load_catalogue(), NOTHING)
    assert_the_same(order, load_catalogue(), frozenset(happening_events(compile_order(order, load_catalogue()))))
    for setting, switched_off in settings_of(order):
        events = sorted(happening_events(compile_order(setting, load_catalogue(), switched_off)))
        some = frozenset(chance.sample(events, chance.randint(1, min(8, len(events)))))
        assert_the_same(setting, load_catalogue(), some, switched_off, chance.choice(["all", "high"]))


@few_files
def test_what_is_contaminated_after_each_step_is_what_the_steps_so_far_leave(file: str) -> None:
    order, catalogue = order_files()[file], load_catalogue()
    program = compile_order(order, catalogue)
    after = reach(program).after

    assert len(after) == len(program.steps) + 1
    for count in range(1, len(order.steps) + 1):
        so_far = order.model_copy(update={"steps": order.steps[:count]})
        assert names(program, after[len(taught(so_far, catalogue))]) == run(so_far, catalogue).at_end


def compare_generated(data: st.DataObject, catalogue: Catalogue) -> None:
    order = data.draw(orders(catalogue))
    switched_off = data.draw(st.sets(st.sampled_from(CONVENTIONS), max_size=2))
    loads: Literal["all", "high"] = data.draw(st.sampled_from(["all", "high"]))
    events = sorted(run(order, catalogue, switched_off=switched_off).events)
    some = data.draw(st.lists(st.booleans(), min_size=len(events), max_size=len(events)))
    for happening in (events, [event for event, happens in zip(events, some, strict=True) if happens], events[:0]):
        assert_the_same(order, catalogue, frozenset(happening), switched_off, loads)


@pytest.mark.property
@settings(max_examples=50)
@given(st.data())
def test_generated_orders_reach_what_the_reference_reaches(data: st.DataObject) -> None:
    compare_generated(data, load_catalogue())


@pytest.mark.property
@settings(max_examples=30)
@given(st.data())
def test_the_two_agree_on_other_catalogues_too(data: st.DataObject) -> None:
    compare_generated(data, data.draw(catalogues()))


@pytest.mark.slow
@pytest.mark.property
@pytest.mark.timeout(600)
@settings(max_examples=800)
@given(st.data())
def test_the_two_agree_on_many_generated_orders_and_catalogues(data: st.DataObject) -> None:
    compare_generated(data, data.draw(catalogues() | st.just(load_catalogue())))


# ---- cut sets against the enumeration of all scenarios ----


def assert_enumeration_agrees(program: Program, order: int, latent: bool) -> None:
    fast = cut_sets(program, order, latent)
    ever, at_end = cut_sets_by_enumeration(program, order, latent)
    assert fast.ever == ever
    assert fast.at_end == at_end


@each_file
@pytest.mark.sampled(40)
def test_cut_sets_to_order_3_are_the_minimal_scenarios(file: str) -> None:
    assert_enumeration_agrees(compile_order(order_files()[file], load_catalogue()), 3, latent=True)


@few_files
def test_cut_sets_without_latent_faults_are_the_minimal_scenarios(file: str) -> None:
    assert_enumeration_agrees(compile_order(order_files()[file], load_catalogue()), 2, latent=False)


@pytest.mark.slow
@pytest.mark.timeout(600)
@few_files
def test_cut_sets_to_order_4_are_the_minimal_scenarios(file: str) -> None:
    assert_enumeration_agrees(compile_order(order_files()[file], load_catalogue()), 4, latent=True)


@pytest.mark.property
@settings(max_examples=30)
@given(orders(max_steps=5), st.booleans())
def test_cut_sets_of_generated_orders_are_the_minimal_scenarios(order: Order, latent: bool) -> None:
    program = compile_order(order, load_catalogue())
    assert_enumeration_agrees(program, 2, latent)
    if len(program.events) <= 20:
        assert_enumeration_agrees(program, 3, latent)


# ---- cut sets against the reference ----


def assert_cut_sets_cut(order: Order, catalogue: Catalogue, size: int, latent: bool) -> None:
    """With exactly its events a cut set reaches its surface; with any of them left out it does not."""
    program = compile_order(order, catalogue)
    found = cut_sets(program, size, latent)

    @cache
    def reached(events: frozenset[str]) -> tuple[frozenset[str], frozenset[str]]:
        plain = run(order, catalogue, events)
        return plain.ever, plain.at_end

    for which, values in enumerate((found.ever, found.at_end)):
        for surface, sets in values.items():
            name = program.surfaces[surface]
            for bits in sets:
                events = [event.id for number, event in enumerate(program.events) if bits >> number & 1]
                assert name in reached(frozenset(events))[which], (name, events)
                for fewer in combinations(events, len(events) - 1) if events else ():
                    assert name not in reached(frozenset(fewer))[which], (name, events, fewer)


@pytest.mark.parametrize("file", FEW[::2])
def test_every_cut_set_of_order_2_reaches_in_the_reference_and_no_part_of_it_does(file: str) -> None:
    assert_cut_sets_cut(order_files()[file], load_catalogue(), 2, latent=True)


@pytest.mark.slow
@each_file
def test_every_cut_set_of_order_3_reaches_in_the_reference_and_no_part_of_it_does(file: str) -> None:
    assert_cut_sets_cut(order_files()[file], load_catalogue(), 3, latent=True)


@pytest.mark.property
@settings(max_examples=30)
@given(orders(max_steps=5), st.booleans())
@pytest.mark.slow
def test_every_cut_set_of_a_generated_order_reaches_in_the_reference(order: Order, latent: bool) -> None:
    assert_cut_sets_cut(order, load_catalogue(), 3, latent)


# ---- cut sets against clingo ----


def assert_clingo_agrees(program: Program, size: int, told: Told = "text") -> None:
    found = cut_sets(program, size, latent=True)
    ours = {(surface, "ever"): frozenset(found.ever.get(surface, ())) for surface, _ in program.endpoints}
    ours |= {(surface, "at-end"): frozenset(found.at_end.get(surface, ())) for surface, _ in program.endpoints}
    theirs = Grounded(program, size, told=told).minimal_sets()
    assert {asked: sets for asked, sets in theirs.items() if sets} == {a: sets for a, sets in ours.items() if sets}


@pytest.mark.parametrize("file", FEW[::5])
@pytest.mark.parametrize("told", ["text", "ground-rules"])
def test_clingo_finds_the_same_cut_sets_to_order_3(file: str, told: Told) -> None:
    assert_clingo_agrees(compile_order(order_files()[file], load_catalogue()), 3, told)


@pytest.mark.slow
@each_file
def test_clingo_finds_the_same_cut_sets_to_order_4_of_every_order(file: str) -> None:
    assert_clingo_agrees(compile_order(order_files()[file], load_catalogue()), 4)


@pytest.mark.slow
@pytest.mark.property
@pytest.mark.timeout(300)
@settings(max_examples=40)
@given(orders(max_steps=5))
def test_clingo_finds_the_same_cut_sets_of_generated_orders(order: Order) -> None:
    assert_clingo_agrees(compile_order(order, load_catalogue()), 3)

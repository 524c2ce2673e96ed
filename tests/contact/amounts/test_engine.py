"""The engine against slower, plainer answers: a matrix product, the Boolean run, and itself in other blocks."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.contact.amounts.numbers import model_of
from tests.contact.strategies import order_files, orders

from vestry.contact.amounts import Model, Outcome, collected, simulate, stream
from vestry.contact.amounts.model import CLEAN, CONTACT, FRESH, LEFT_OUT, TOO_SHORT
from vestry.contact.compiler import compile_order
from vestry.contact.program import Program
from vestry.contact.reach import reach
from vestry.trade import load_catalogue

DRAWS = np.arange(64, dtype=np.int64)


@cache
def shipped(name: str = "cdc-vhf-unstable-n95-gown-doff-2015--with-apron.toml") -> Program:
    return compile_order(order_files()[name], load_catalogue())


programs = orders().map(lambda order: compile_order(order, load_catalogue())) | st.sampled_from(
    sorted(order_files())
).map(shipped)


def matrix(model: Model, happened: np.ndarray) -> np.ndarray:
    """All operations as one matrix, multiplied out; every quantity is a constant."""
    total = np.eye(len(model.surfaces))
    value = model.tables[:, 0]
    for op in range(len(model.verb)):
        one = np.eye(len(model.surfaces))
        a, b, event = model.a[op], model.b[op], model.event[op]
        on = event >= 0 and happened[event] != 0
        if model.verb[op] == FRESH:
            one[a, a] = 0.0
        elif model.verb[op] == CLEAN:
            if event >= 0 and happened[event] == LEFT_OUT:
                left = 1.0
            elif event >= 0 and happened[event] == TOO_SHORT:
                left = value[model.back[op]]
            else:
                left = value[model.onward[op]]
            one[a, a] = left
        elif event < 0 or on:
            there = value[model.onward[op]]
            again = value[model.back[op]] if model.verb[op] == CONTACT else 0.0
            one[a, a], one[b, a], one[b, b], one[a, b] = 1 - there, there, 1 - again, again
        total = one @ total
    return total


@settings(max_examples=10)
@given(programs)
def test_with_fixed_parameters_the_draws_are_the_matrix_product(program: Program) -> None:
    model = model_of(program).fixed()
    found = simulate(model, DRAWS[:8], seed=3)
    start = np.zeros(len(model.surfaces))
    start[model.start] = model.tables[model.start_quantity, 0] * model.start_scale
    for lane in range(8):
        expected = matrix(model, found.happened[:, lane]) @ start
        np.testing.assert_allclose(found.end[:, lane], expected, rtol=1e-12, atol=0)


@settings(max_examples=10)
@given(programs)
def test_contacts_conserve_mass(program: Program) -> None:
    model = model_of(program)
    kept = np.isin(model.verb, (CLEAN, FRESH))
    only = [op for op, gone in zip(program.ops, kept, strict=True) if not gone]
    bare = model_of(Program(**{**program.__dict__, "ops": tuple(only)}))
    found = simulate(bare, DRAWS, seed=5)
    np.testing.assert_allclose(found.end.sum(axis=0), found.source, rtol=1e-12)
    assert (found.end >= 0).all()


@pytest.mark.slow
@settings(max_examples=20)
@given(programs, st.integers(0, 2**32))
def test_a_load_is_there_exactly_where_the_boolean_run_reaches(program: Program, seed: int) -> None:
    model = model_of(program, residue=0.0, perfect=True).with_events()
    too_short_is_an_error = model_of(program, residue=0.0, perfect=True, short=0.3)
    for one in (model, too_short_is_an_error):
        found = simulate(one, DRAWS[:12], seed=seed)
        for lane in range(12):
            run = reach(program, set(np.flatnonzero(found.happened[:, lane]).tolist()))
            assert set(np.flatnonzero(found.end[:, lane] > 0).tolist()) == set(run.at_end)
            assert set(np.flatnonzero(found.peak[:, lane] > 0).tolist()) == set(run.ever)


def same(one: Outcome, other: Outcome) -> bool:
    names = ("draws", "end", "peak", "source", "happened", "left_at")
    return all(np.array_equal(getattr(one, name), getattr(other, name)) for name in names)


@pytest.mark.slow
def test_a_draw_does_not_depend_on_its_block_its_thread_or_its_company() -> None:
    model = model_of(shipped())
    whole = simulate(model, np.arange(300), seed=11, choice="numpy")
    for lanes, threads, batch in ((37, 1, 300), (64, 2, 100), (300, 3, 77)):
        parts = stream(model, 300, seed=11, choice="numpy", lanes=lanes, threads=threads, batch=batch)
        assert same(whole, collected(parts))
    backwards = simulate(model, np.arange(299, -1, -1), seed=11, choice="numpy")
    assert np.array_equal(backwards.end[:, ::-1], whole.end)
    assert not np.array_equal(simulate(model, np.arange(300), seed=12).end, whole.end)


@pytest.mark.slow
def test_compiled_and_not_the_numbers_are_the_same_bit_for_bit() -> None:
    pytest.importorskip("numba")
    for name in sorted(order_files())[::9]:
        model = model_of(shipped(name))
        numpy = simulate(model, np.arange(700), seed=2, choice="numpy")
        assert same(numpy, simulate(model, np.arange(700), seed=2, choice="numba", lanes=129))
        threads = stream(model, 700, seed=2, choice="numba", threads=2, batch=100)
        assert same(numpy, collected(threads))


def test_the_lane_by_lane_engine_says_the_same_uncompiled() -> None:
    from vestry.contact.amounts import engine as engines
    from vestry.contact.amounts.simulate import Prepared, _simulate

    model = model_of(shipped())
    with np.errstate(over="ignore"):
        slow = _simulate(Prepared(model, 4), {}, np.arange(9), engines.UNCOMPILED, 5)
    assert same(slow, simulate(model, np.arange(9), seed=4, choice="numpy"))


def test_a_progress_callback_can_stop_the_draws() -> None:
    seen: list[tuple[int, int]] = []

    def enough(done: int, total: int) -> bool:
        seen.append((done, total))
        return done < 200

    parts = list(stream(model_of(shipped()), 1000, batch=100, progress=enough))
    assert seen == [(100, 1000), (200, 1000)]
    assert sum(len(one.draws) for one in parts) == 200


@pytest.mark.slow
def test_of_a_margin_of_two_nothing_arrives_before_two_slips() -> None:
    from vestry.contact.cutsets import counts, cut_sets

    found_some = False
    for name in sorted(order_files())[::5]:
        program = shipped(name)
        if not program.start:
            continue
        sets = cut_sets(program, 2)
        model = model_of(program, slip=0.04, short=0.04, spread=1.5).as_taught()
        found = simulate(model, np.arange(3000), seed=8)
        errors = (found.happened != 0).sum(axis=0)
        for row, _ in program.endpoints:
            tally = counts(sets.ever.get(row, ()), 2)
            if tally[0] == tally[1] == 0:
                assert (found.peak[row, errors < 2] == 0).all()
                found_some = found_some or bool((found.peak[row, errors >= 2] > 0).any())
    assert found_some


@pytest.mark.slow
def test_marginal_rates_stay_while_slips_come_together() -> None:
    program = shipped()
    slips = [n for n, event in enumerate(program.events) if event.sort == "slip"]

    def rates(spread: float) -> tuple[float, float]:
        model = model_of(program, slip=0.1, spread=spread)
        happened = collected(stream(model, 20_000, seed=6)).happened[slips] != 0
        return float(happened.mean()), float(happened.sum(axis=0).var())

    alone, together = rates(0.0), rates(1.5)
    for rate, _ in (alone, together):
        assert rate == pytest.approx(0.1, abs=0.006)
    assert together[1] > 3 * alone[1]

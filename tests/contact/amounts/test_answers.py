"""Answers against slower or independent ones: numpy quantiles, decision diagrams, brute-force knock-outs, Saltelli."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import combinations

import numpy as np
import pytest
from dd.autoref import BDD
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.contact.amounts.numbers import BACK, TOUCH, WELL, model_of
from tests.contact.strategies import order_files, orders

from vestry.contact.amounts import (
    ENVELOPE,
    Continuation,
    Model,
    Quantity,
    bind_order,
    collected,
    simulate,
    stream,
)
from vestry.contact.amounts.answers import (
    Question,
    contributions,
    difference,
    first_order,
    what_matters,
    whole,
)
from vestry.contact.amounts.limits import Limit, limits_of
from vestry.contact.amounts.model import NONE
from vestry.contact.amounts.tables import constant
from vestry.contact.compiler import compile_order
from vestry.contact.cutsets import cut_sets
from vestry.contact.program import Program
from vestry.trade import load_catalogue, read_order
from vestry.trade.evidence import load_evidence

NAME = "cdc-covid-doff-2020--respirator-shield.toml"
ONE = Quantity("one", constant(1.0))


@cache
def program_of(name: str = NAME) -> Program:
    return compile_order(order_files()[name], load_catalogue())


def limit(model: Model, level: float) -> Limit:
    return Limit("alarm", Quantity("level", constant(level)), (ONE,) * len(model.reported), ())


def question(model: Model, level: float = 5.0, **more: object) -> Question:
    return Question(model, (limit(model, level),), choice="numpy", **more)  # type: ignore[arg-type]


programs = orders(max_steps=4).map(lambda order: compile_order(order, load_catalogue())) | st.just(program_of())


# ---- what reaches where ----


def test_chances_means_and_quantiles_are_those_of_the_draws() -> None:
    asked = question(model_of(program_of()), draws=3000)
    found = whole(asked)
    draws = collected(asked.outcomes())
    for row in found.reaching:
        loads = draws.peak if row.when == "ever" else draws.end
        if row.surface is None:
            continue
        mine = loads[asked.model.reported_names.index(row.surface)]
        assert row.chances["alarm"].value == (mine >= 5.0).mean()
        assert row.mean.value == pytest.approx((mine / draws.source).mean())
        for quantile in row.quantiles:
            exact = np.quantile(mine / draws.source, quantile.at, method="inverted_cdf")
            assert quantile.low <= quantile.value <= quantile.high
            assert quantile.value == pytest.approx(exact, rel=0.03, abs=1e-13)


@pytest.mark.slow
def test_an_answer_is_the_same_whatever_the_threads() -> None:
    asked = question(model_of(program_of()), draws=40_000)
    assert whole(asked) == whole(replace(asked, threads=3))


@pytest.mark.slow
def test_the_monte_carlo_error_is_the_spread_over_seeds() -> None:
    model = model_of(program_of())

    def skin(seed: int) -> tuple[float, float]:
        rows = whole(question(model, draws=400, seed=seed)).reaching
        row = next(r for r in rows if r.endpoint == "skin" and r.surface is None and r.when == "at-end")
        return row.chances["alarm"].value, row.chances["alarm"].error

    values = np.array([skin(seed) for seed in range(40)])
    assert values[:, 0].std() == pytest.approx(values[:, 1].mean(), rel=0.35)


# ---- the chance from cut sets ----


def chance_of_any(sets: tuple[int, ...], chances: dict[int, float]) -> float:
    """The chance that all events of one of the sets happen, exactly, by a binary decision diagram."""
    diagram = BDD()
    names = {event: f"e{event}" for one in sets for event in range(one.bit_length()) if one >> event & 1}
    diagram.declare(*names.values())
    union = diagram.false
    for one in sets:
        every = diagram.true
        for event, name in names.items():
            if one >> event & 1:
                every &= diagram.var(name)
        union |= every
    by_name = {name: chances[event] for event, name in names.items()}
    known: dict[int, float] = {}

    def up(node: object) -> float:
        if node == diagram.true:
            return 1.0
        if node == diagram.false:
            return 0.0
        key = int(node)  # type: ignore[call-overload]
        if key not in known:
            p = by_name[node.var]  # type: ignore[attr-defined]
            high, low = node.high, node.low  # type: ignore[attr-defined]
            if node.negated:  # type: ignore[attr-defined]
                high, low = ~high, ~low
            known[key] = p * up(high) + (1 - p) * up(low)
        return known[key]

    return up(union)


SHORT_ORDER = """
format-version = 1
title = "short"
worn = ["scrubs", "washable-shoes", "respirator-disposable", "gown-isolation", "gloves-standard"]
steps = [
  { act = "disinfect-gloves" },
  { act = "doff", item = "gloves-standard" },
  { act = "hand-hygiene" },
  { act = "doff", item = "gown-isolation" },
  { act = "hand-hygiene" },
]
"""


@pytest.mark.parametrize("latent", [False, True])
def test_the_chance_of_a_load_is_that_of_the_cut_sets(latent: bool) -> None:
    program = compile_order(read_order(SHORT_ORDER, "short"), load_catalogue())
    order = sum(event.sort != "residue" for event in program.events)
    sets = cut_sets(program, order, latent)
    slip, short, hole = 0.15, 0.1, 0.3
    model = model_of(program, slip=slip, short=short, latent=hole, residue=0.0, perfect=True, spread=0.0)
    if not latent:
        model = model.without_sorts("latent")
    chances = {
        number: {"slip": slip, "omission": slip + short, "latent": hole}.get(event.sort, 0.0)
        for number, event in enumerate(program.events)
    }
    draws = 20_000
    found = simulate(model, np.arange(draws), seed=17, choice="numpy")
    checked = 0
    for surface, _ in program.endpoints:
        for values, loads in ((sets.ever, found.peak), (sets.at_end, found.end)):
            exact = chance_of_any(values.get(surface, ()), chances)
            seen = float((loads[surface] > 0).mean())
            assert abs(seen - exact) <= 4.5 * np.sqrt(max(exact * (1 - exact), 1e-9) / draws) + 1e-12
            checked += 0.001 < exact < 0.999
    assert checked >= 6


# ---- laws ----


@settings(max_examples=12)
@given(programs, st.integers(0, 1000))
def test_more_load_never_lowers_an_endpoint(program: Program, seed: int) -> None:
    model = model_of(program)
    if not len(model.start):
        return
    more = model.start_scale.copy()
    more[seed % len(more)] *= 7.0
    less, greater = (
        simulate(one, np.arange(40), seed=seed, choice="numpy") for one in (model, replace(model, start_scale=more))
    )
    assert (greater.end >= less.end * (1 - 1e-12)).all()
    assert (greater.peak >= less.peak * (1 - 1e-12)).all()


@settings(max_examples=12)
@given(programs, st.integers(0, 1000))
def test_a_stronger_agent_never_raises_an_endpoint(program: Program, seed: int) -> None:
    model = model_of(program)
    if WELL.id not in model.quantities:
        return
    stronger = model.with_table(WELL.id, WELL.table / 10)
    weak, strong = (simulate(one, np.arange(40), seed=seed, choice="numpy") for one in (model, stronger))
    assert (strong.end <= weak.end * (1 + 1e-12)).all()
    assert (strong.peak <= weak.peak * (1 + 1e-12)).all()


def test_another_rub_at_a_dirty_dispenser_is_not_better() -> None:
    """Non-enveloped virus, alcohol, clean gloves, and a dispenser that the wearer before has loaded."""
    catalogue, evidence = load_catalogue(), load_evidence()
    text = """
format-version = 1
title = "rub"
case = { presentation = "wet", virus-class = "non-enveloped" }
worn = ["scrubs", "respirator-disposable", "fresh-gloves"]
loads = {}
lane = { contaminated = ["place.dispenser"] }
steps = [STEPS{ act = "doff", item = "respirator-disposable" }]
"""
    none, once = (
        bind_order(read_order(text.replace("STEPS", rubs), "rub"), catalogue, evidence)
        for rubs in ("", '{ act = "disinfect-gloves", agent = "alcohol-rub" }, ')
    )
    a, b = (
        Question(one.model, limits_of(one, evidence), draws=4000, choice="numpy", leave_out=one.uncovered)
        for one in (none, once)
    )
    exposure = next(row for row in difference(a, b) if row.endpoint == "mucosa")
    assert exposure.interval[0] > 0
    assert exposure.more > 0.01


# ---- contributions ----


@pytest.mark.slow
def test_a_contribution_is_what_a_whole_run_without_it_shows() -> None:
    asked = question(model_of(program_of()), draws=1500)
    base = collected(asked.outcomes())
    rows = {row.id: row for row in contributions(asked)}
    skin = [n for n, kind in enumerate(asked.model.classes) if kind == "skin"]
    events = [asked.model.events[n] for n in np.flatnonzero((base.happened != 0).mean(axis=1) > 0.02)][::7]
    assert len(events) > 3
    for name in events:
        without = collected(stream(asked.model.with_events(never=[name]), 1500, choice="numpy"))
        fall = (base.peak[skin] >= 5).any(axis=0).mean() - (without.peak[skin] >= 5).any(axis=0).mean()
        assert rows[name].by["skin"].value == pytest.approx(fall, abs=1e-12)
        share = base.end[skin].sum(axis=0) / base.source
        other = without.end[skin].sum(axis=0) / without.source
        assert rows[name].mean["skin"].value == pytest.approx((share.sum() - other.sum()) / share.sum(), rel=1e-6)


@pytest.mark.slow
def test_contributions_need_not_sum_to_one() -> None:
    shares = [row.mean["skin"].value for row in contributions(question(model_of(program_of()), draws=800))]
    assert sum(share for share in shares if share > 0) != pytest.approx(1.0, abs=0.05)


# ---- what matters ----


def saltelli(function: object, dimensions: int, n: int) -> np.ndarray:
    """First-order indices by Saltelli's estimator with two independent samples."""
    rng = np.random.default_rng(5)
    a, b = rng.random((n, dimensions)), rng.random((n, dimensions))
    f = function
    assert callable(f)
    at_a, at_b = f(a), f(b)
    found = []
    for one in range(dimensions):
        mixed = a.copy()
        mixed[:, one] = b[:, one]
        found.append(float((at_b * (f(mixed) - at_a)).mean() / np.concatenate([at_a, at_b]).var()))
    return np.array(found)


def test_first_order_shares_are_those_of_saltellis_estimator() -> None:
    def ishigami(u: np.ndarray) -> np.ndarray:
        x = (2 * u - 1) * np.pi
        return np.sin(x[:, 0]) + 7 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])  # type: ignore[no-any-return]

    u = np.random.default_rng(3).random((40_000, 3))
    values = ishigami(u)
    classical = saltelli(ishigami, 3, 40_000)
    for one in range(3):
        share = first_order(values, (u[:, one] * 32).astype(np.intp), 32)
        assert share is not None
        assert share.value == pytest.approx(classical[one], abs=0.02)
        assert share.value == pytest.approx((0.3139, 0.4424, 0.0)[one], abs=0.012)


def test_the_unknown_that_is_made_wide_matters_most() -> None:
    model = model_of(program_of())
    wide = (
        model.with_table(BACK.id, np.full(2049, 0.3))
        .with_table("load", np.full(2049, 100.0))
        .with_table(TOUCH.id, np.logspace(-4, -0.01, 2049))
    )
    found = [row for row in what_matters(question(wide, draws=4000)) if row.endpoint == "skin"]
    assert found[0].unknown == TOUCH.id
    assert found[0].direction > 0
    # Most runs carry nothing, so most of the spread is chance; the rest is far beyond what the parts give alone.
    assert found[0].share.value > 3 * found[0].share.error


# ---- comparing ----


def test_a_sequence_differs_from_itself_by_nothing() -> None:
    asked = question(model_of(program_of()), draws=500)
    for row in difference(asked, asked):
        assert row.ever.value == row.less == row.more == 0.0


@pytest.mark.slow
def test_the_interval_on_a_difference_holds_it_and_pairing_narrows_it() -> None:
    model = model_of(program_of())
    weaker = model.with_table(WELL.id, np.sqrt(WELL.table))
    a, b = question(model, draws=1500), question(weaker, draws=1500)
    found = next(row for row in difference(a, b) if row.endpoint == "skin")
    truth = next(r for r in difference(replace(a, draws=30_000, seed=9), b) if r.endpoint == "skin")
    assert found.interval[0] < truth.ever.value < found.interval[1]
    assert found.ever.error < 0.8 * np.hypot(found.a.error, found.b.error)


# ---- observer and recovery ----


def with_ways(missed: float) -> tuple[Model, dict[tuple[int, str], Continuation]]:
    """After any deviation seen: everything on the hands is cleaned away for good, and nothing more happens."""
    program = program_of()
    model = model_of(program, missed=missed)
    text = 'format-version = 1\ntitle = "w"\nworn = []\nsteps = [{ act = "hand-hygiene" }]'
    way = compile_order(read_order(text, "w"), load_catalogue())
    rest = model_of(way, perfect=True, slip=0.0, short=0.0)
    on = replace(rest, prefix="recovery:", onward=np.where(rest.onward == NONE, NONE, rest.onward))
    return model, {(step, ENVELOPE): Continuation(on) for step in range(len(program.steps))}


def test_who_sees_a_deviation_steps_in_and_who_misses_it_does_not() -> None:
    draws = np.arange(800)
    model, ways = with_ways(0.0)
    slips = np.array([sort in ("slip", "omission") for sort in model.sorts])
    alone = simulate(model, draws, choice="numpy")
    seen = simulate(model, draws, continuations=ways, choice="numpy")
    blind, blind_ways = with_ways(1.0)
    missed = simulate(blind, draws, continuations=blind_ways, choice="numpy")
    assert np.array_equal(missed.end, alone.end)
    assert (missed.left_at == -1).all()
    went_wrong = (alone.happened[slips] != 0).any(axis=0)
    assert np.array_equal(seen.left_at >= 0, went_wrong)
    steps = np.array(model.event_step)
    for lane in np.flatnonzero(went_wrong)[:50]:
        first = steps[slips][alone.happened[slips][:, lane] != 0].min()
        assert seen.left_at[lane] == first
    hand = model.reported_names.index("body.hand-l")
    assert (seen.end[hand, went_wrong] == 0).all()
    assert (alone.end[hand, went_wrong] > 0).any()
    assert np.array_equal(seen.end[:, ~went_wrong], alone.end[:, ~went_wrong])


GLOVED = """
format-version = 1
title = "gloved"
worn = ["scrubs", "gloves-standard"]
steps = [{ act = "disinfect-gloves" }]
"""


@pytest.mark.parametrize("hole", [False, True])
def test_a_hole_that_is_there_is_there_in_the_recovery_too(hole: bool) -> None:
    """Whatever the recovery itself would have drawn."""
    program = compile_order(read_order(GLOVED, "gloved"), load_catalogue())
    holes = [event.id for event in program.events if event.sort == "latent"]
    loaded = replace(program, start=((program.index["gloves-standard.palm-l"], "high"),))
    model = model_of(loaded, slip=0.0, short=1.0, missed=0.0)
    model = model.with_events(happening=holes if hole else (), never=() if hole else holes)
    way = model_of(replace(program, start=()), latent=0.0 if hole else 1.0, slip=0.0, short=0.0)
    ways = {(0, ENVELOPE): Continuation(replace(way, prefix="recovery:"))}
    found = simulate(model, np.arange(50), continuations=ways, choice="numpy")
    assert (found.left_at == 0).all()
    beneath = [row for row, name in enumerate(model.reported_names) if name.startswith("body.") or ".inside" in name]
    before = simulate(model, np.arange(50), choice="numpy").end[beneath].sum(axis=0)
    after = found.end[beneath].sum(axis=0)
    assert (after > before).all() if hole else (after == 0).all()


def test_half_of_the_deviations_are_seen_by_who_misses_half() -> None:
    model, ways = with_ways(0.5)
    one_slip = model.with_events(
        never=[n for n, sort in zip(model.events, model.sorts, strict=True) if sort in ("slip", "omission")]
    ).with_events(happening=[next(n for n, sort in zip(model.events, model.sorts, strict=True) if sort == "slip")])
    left = simulate(one_slip, np.arange(4000), continuations=ways, choice="numpy").left_at
    assert (left >= 0).mean() == pytest.approx(0.5, abs=0.03)


def test_recoveries_do_not_depend_on_blocks_either() -> None:
    model, ways = with_ways(0.3)
    whole_run = simulate(model, np.arange(300), continuations=ways, choice="numpy")
    parts = collected(stream(model, 300, continuations=ways, choice="numpy", batch=70, lanes=31, threads=2))
    assert np.array_equal(whole_run.end, parts.end)
    assert np.array_equal(whole_run.left_at, parts.left_at)


def test_two_cut_sets_with_a_common_event_are_not_independent() -> None:
    """The oracle itself: a or b, both with c, at a half each."""
    sets = tuple(sum(1 << event for event in pair) for pair in ((0, 2), (1, 2)))
    by_hand = sum(
        0.125
        for size in range(4)
        for happening in combinations(range(3), size)
        if 2 in happening and {0, 1} & set(happening)
    )
    assert chance_of_any(sets, dict.fromkeys(range(3), 0.5)) == pytest.approx(by_hand)

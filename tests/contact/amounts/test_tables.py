"""Inverse tables and counter-based chance against scipy and against plain arithmetic."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from vestry.contact.amounts.chance import bits, key, mix, short_uniform, uniform, weyl
from vestry.contact.amounts.model import recentred
from vestry.contact.amounts.tables import POINTS, constant, factors, fractions, mean, quantiles, read
from vestry.trade import Law

U = np.linspace(0.0, 1.0, POINTS)


@settings(max_examples=12, deadline=None)
@given(st.floats(0.05, 300.0), st.floats(0.05, 300.0))
def test_a_beta_table_holds_the_quantiles_that_scipy_computes(alpha: float, beta: float) -> None:
    found = quantiles(Law(kind="beta", alpha=alpha, beta=beta))
    np.testing.assert_allclose(found[1:-1], stats.beta.ppf(U, alpha, beta)[1:-1], atol=1e-9)
    assert mean(found) == pytest.approx(alpha / (alpha + beta), rel=1e-3)


@pytest.mark.parametrize(
    ("law", "peer"),
    [
        (Law(kind="uniform", low=0.2, high=0.5), stats.uniform(0.2, 0.3)),
        (Law(kind="log-uniform", low=0.01, high=10.0), stats.loguniform(0.01, 10.0)),
        (Law(kind="triangular", low=0.0, mode=0.3, high=0.7), stats.triang(3 / 7, 0.0, 0.7)),
        (Law(kind="normal", mean=2.5, sd=1.0, low=0.0, high=4.0), stats.truncnorm(-2.5, 1.5, 2.5, 1.0)),
        (Law(kind="normal", mean=2.5, sd=1.0, low=3.5), stats.truncnorm(1.0, np.inf, 2.5, 1.0)),
        (Law(kind="log-normal", median=0.1, gsd=2.0), stats.lognorm(np.log(2.0), scale=0.1)),
    ],
)
def test_the_other_shapes_hold_the_quantiles_that_scipy_computes(law: Law, peer: stats.rv_continuous) -> None:
    inner = slice(1, -1)
    np.testing.assert_allclose(quantiles(law)[inner], peer.ppf(U[inner]), rtol=1e-9, atol=1e-12)
    assert mean(quantiles(law)) == pytest.approx(peer.mean(), rel=2e-4)


def test_what_a_cleaning_leaves_never_exceeds_what_was_there() -> None:
    left = factors(Law(kind="normal", mean=0.5, sd=1.0))
    assert left.max() == 1.0
    assert left.min() > 0.0
    assert fractions(Law(kind="log-normal", median=0.5, gsd=3.0)).max() == 1.0


def test_what_is_read_from_a_table_has_its_law() -> None:
    law = Law(kind="beta", alpha=0.9, beta=2.1)
    shorts = short_uniform(np.uint64(key(7, "a")), weyl(np.arange(200_000, dtype=np.uint64)))
    drawn = read(quantiles(law), shorts)
    assert stats.kstest(drawn, stats.beta(0.9, 2.1).cdf).pvalue > 1e-3
    assert drawn.mean() == pytest.approx(mean(quantiles(law)), abs=4 * drawn.std() / 447)


@given(st.integers(0, 2**64 - 1), st.integers(0, 2**40))
def test_the_vectors_are_the_plain_arithmetic(start: int, draw: int) -> None:
    plain = mix(start + (draw + 1) * 0x9E3779B97F4A7C15)
    assert int(bits(np.uint64(start), weyl(np.array([draw], dtype=np.uint64)))[0]) == plain


def test_streams_are_even_and_do_not_follow_each_other() -> None:
    steps = weyl(np.arange(100_000, dtype=np.uint64))
    drawn = np.array([uniform(np.uint64(key(1, f"stream {n}")), steps) for n in range(12)])
    for row in drawn:
        assert stats.kstest(row, "uniform").pvalue > 1e-4
    correlations = np.corrcoef(drawn)
    assert np.abs(correlations - np.eye(12)).max() < 5 / np.sqrt(100_000)
    lagged = np.corrcoef(drawn[0, 1:], drawn[0, :-1])[0, 1]
    assert abs(lagged) < 5 / np.sqrt(100_000)


@pytest.mark.parametrize("spread", [0.0, 0.5, 2.0])
def test_a_shifted_chance_keeps_its_mean_at_every_level(spread: float) -> None:
    law = Law(kind="beta", alpha=1.0, beta=30.0)
    cube = recentred(fractions(law), spread)
    levels = recentred(fractions(law), 0.0)[:, 0]
    np.testing.assert_allclose(cube.mean(axis=1), levels, rtol=1e-9)
    assert levels.mean() == pytest.approx(1 / 31, rel=1e-3)
    assert (cube[:, 0] < cube[:, -1]).all() == (spread > 0)
    assert recentred(constant(0.0), spread).max() == 0.0
    assert recentred(constant(1.0), spread).min() == 1.0

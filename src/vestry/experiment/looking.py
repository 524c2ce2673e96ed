"""What is looked at, as numbers draw by draw, and how the numbers of a group of draws become one answer.

A study of a given size is a group of so many draws: the spread of the answers of many groups is what studies of that
size would find, were the model right.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fnmatch import fnmatchcase

import numpy as np

from vestry.experiment.arms import F64, Bench, Run, law_of
from vestry.experiment.setup import Experiment, Outcome, Setup
from vestry.trade.evidence_values import Layer
from vestry.trade.values import Id

MONTE_CARLO_GROUPS = 40
FEWEST_GROUPS = 20
LOWEST, HIGHEST = 5.0, 95.0


@dataclass(frozen=True, eq=False)
class Seen:
    """An outcome in one arm: (n) numbers, one for each draw, and what makes one answer of the last axis of many."""

    numbers: F64
    answer: Callable[[F64], F64]

    def whole(self) -> float:
        """The answer on all draws."""
        return float(self.answer(self.numbers[None, :])[0])

    def groups(self, size: int) -> F64:
        """The answers of as many whole groups of this size as there are."""
        count = len(self.numbers) // size
        return self.answer(self.numbers[: count * size].reshape(count, size))


def look(bench: Bench, experiment: Experiment, arm: Id, outcome: Outcome, run: Run | None) -> Seen:
    """An outcome (not `importance`) in an arm. `run`: of an arm with surfaces, else None."""
    whole = experiment.whole(arm)
    if outcome.measure == "slip-per-step":
        return _slips(bench, whole, run)
    if outcome.measure == "log10-reduction" and run is None:
        return Seen(_reduction(bench, whole), _statistic(outcome))
    assert run is not None, "checked when the file was read"
    amounts = _on(run.at(outcome.when), outcome.sites, bench.chances.draws)
    if outcome.measure in ("any", "count"):
        found = detected(bench, whole, outcome, amounts)
        return Seen(found.sum(axis=0) if outcome.measure == "count" else found.any(axis=0).astype(float), _mean)
    total = np.sum([*amounts.values()], axis=0) if amounts else np.zeros(bench.chances.draws)
    if outcome.measure == "amount":
        return Seen(total, _statistic(outcome))
    share = np.divide(total, run.source, out=np.zeros_like(total), where=run.source > 0)
    if outcome.measure == "log10-reduction":
        with np.errstate(divide="ignore"):
            return Seen(-np.log10(share), _statistic(outcome))
    return Seen(share, _statistic(outcome))


def detected(bench: Bench, whole: Setup, outcome: Outcome, amounts: dict[str, F64]) -> F64:
    """(sites, n) 1 where a sample of the site is at or above the limit, else 0."""
    marker = whole.marker or "virus"
    given = outcome.limit if outcome.limit is not None else whole.limit
    law = bench.evidence.find("detection-limit", marker=marker).law if given is None else law_of(given)
    limit = bench.chances.of(law, "limit")
    rows = []
    for site, amount in amounts.items():
        layer = _layer(bench, site)
        if whole.recoverable is not None:
            share = law_of(whole.recoverable)
        else:
            share = bench.evidence.find("recoverable-share", marker=marker, layer=layer).law
        rows.append((amount > 0) & (amount * bench.chances.of(share, f"recoverable|{layer}") >= limit))
    return np.array(rows, dtype=float).reshape(len(rows), bench.chances.draws)


def interval(answers: Callable[[int], F64], whole: float, draws: int, sample: int | None) -> tuple[float, float] | None:
    """5th to 95th percentile of what studies of this size find; with too few groups, of the answer's own error.

    answers    size of a group -> an answer for each group
    """
    if sample is not None and draws // sample >= FEWEST_GROUPS:
        found = answers(sample)
        finite = found[np.isfinite(found)]
        if not len(finite):
            return None
        low, high = np.percentile(finite, (LOWEST, HIGHEST))
        return float(low), float(high)
    found = answers(max(draws // MONTE_CARLO_GROUPS, 1))
    if not np.all(np.isfinite(found)) or np.ptp(found) == 0.0:
        return None
    half = 1.645 * float(np.std(found, ddof=1)) / len(found) ** 0.5
    return whole - half, whole + half


def _on(amounts: dict[str, F64], patterns: tuple[str, ...], draws: int) -> dict[str, F64]:
    return {name: amount for name, amount in amounts.items() if any(fnmatchcase(name, one) for one in patterns)}


def _layer(bench: Bench, site: str) -> Layer:
    if site.startswith("body."):
        return "hands"
    nature = bench.evidence.natures.get(site)
    return "gloves" if nature is not None and nature.material == "glove" else "surfaces"


def _reduction(bench: Bench, whole: Setup) -> F64:
    if whole.decay is not None:
        return bench.chances.of(bench.evidence.find("inactivation").law, "inactivation")
    cleaning = whole.cleaning
    assert cleaning is not None, "checked when the file was read"
    record = bench.evidence.find(
        "log-reduction",
        agent=cleaning.agent,
        layer=cleaning.layer,
        virus_class=cleaning.virus_class,
        seconds=cleaning.seconds,
        soil=cleaning.soil,
    )
    return bench.chances.of(record.law, f"reduction|{record.id}")


def _slips(bench: Bench, whole: Setup, run: Run | None) -> Seen:
    if whole.implied is not None:
        share, steps = whole.implied.faultless, whole.implied.steps
        return Seen(np.full(bench.chances.draws, share), lambda n: 1 - n.mean(axis=-1) ** (1 / steps))
    assert run is not None, "checked when the file was read"
    steps = run.steps
    return Seen(run.faultless.astype(float), lambda n: 1 - n.mean(axis=-1) ** (1 / steps))


def _mean(numbers: F64) -> F64:
    return np.asarray(numbers.mean(axis=-1))


def _median(numbers: F64) -> F64:
    return np.asarray(np.median(numbers, axis=-1))


def _statistic(outcome: Outcome) -> Callable[[F64], F64]:
    return _mean if outcome.statistic == "mean" else _median

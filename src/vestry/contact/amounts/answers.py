"""Questions to a model: what reaches where, what each step and event contributes, what matters, which is better.

All compare on paired draws: the same seed and draw give every side the same touches, slips and limits, so that a
difference is that of what differs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from math import sqrt

import numpy as np
import numpy.typing as npt

from vestry.contact.amounts.chance import F64
from vestry.contact.amounts.engine import Choice
from vestry.contact.amounts.limits import Drawn, Limit, Limits
from vestry.contact.amounts.model import Model
from vestry.contact.amounts.simulate import (
    BATCH,
    Continuations,
    Outcome,
    Runner,
    stream,
    uniforms_of,
)
from vestry.contact.amounts.tally import Estimate, Reaching, Tally, proportion

Progress = Callable[[int, int], bool | None]
EXPOSURE = "exposure"
BINS_OF_AN_UNKNOWN = 16
FLOOR = 1e-6


@dataclass(frozen=True, eq=False)
class Question:
    """A sequence to be asked about: model, ways on, limits; and how it is drawn.

    leave_out       surfaces that the room loads directly: nothing in the sequence moves that
    limits          contributions and comparisons are told by the first
    """

    model: Model
    limits: tuple[Limit, ...]
    draws: int = 20_000
    seed: int = 1
    continuations: Continuations | None = None
    leave_out: frozenset[str] = frozenset()
    choice: Choice = "auto"
    threads: int = 1

    def outcomes(self, progress: Progress | None = None) -> Iterable[Outcome]:
        """The draws, batch by batch."""
        return stream(
            self.model,
            self.draws,
            self.seed,
            self.continuations,
            choice=self.choice,
            threads=self.threads,
            progress=progress,
        )


@dataclass(frozen=True)
class Whole:
    """What reaches where; `happened` is the share of draws in which each event happened; `recovered` in which a seen
    deviation led into a recovery."""

    draws: int
    reaching: tuple[Reaching, ...]
    happened: dict[str, float]
    recovered: float


@dataclass(frozen=True)
class Contribution:
    """How much goes with one event, or with all that can go wrong in one step, knocked out on the same draws.

    by          endpoint class -> how far the chance of ever reaching the limit falls
    mean        endpoint class -> the same of the mean load at the end, as a share of it
    Contributions need not sum to one: two events that are both needed each take all of it away.
    """

    kind: str
    id: str
    step: int
    happened: float
    by: dict[str, Estimate]
    mean: dict[str, Estimate]

    @property
    def exposure(self) -> float:
        """How far the chance of exposure falls, for ranking."""
        return self.by[EXPOSURE].value if EXPOSURE in self.by else 0.0


@dataclass(frozen=True)
class Matter:
    """How much of the spread of the logarithm of what reaches a class goes with not knowing one quantity.

    share       first-order share (0 to 1) of the variance, and its error
    direction   rank correlation: above 0, more of it means more there
    """

    unknown: str
    endpoint: str
    share: Estimate
    direction: float


@dataclass(frozen=True)
class Difference:
    """Side b less side a in one endpoint class, on paired draws: chance of ever reaching the limit, and at the end."""

    endpoint: str
    a: Estimate
    b: Estimate
    ever: Estimate
    at_end: Estimate
    less: float
    more: float

    @property
    def interval(self) -> tuple[float, float]:
        """95 percent for the difference of the chances (ever)."""
        return (self.ever.value - 1.96 * self.ever.error, self.ever.value + 1.96 * self.ever.error)


def whole(question: Question, progress: Progress | None = None) -> Whole:
    """What reaches where, over all draws. Memory does not grow with their number."""
    tally = Tally(question.model, Limits(question.limits, question.seed), question.leave_out)
    for outcome in question.outcomes(progress):
        tally.add(outcome)
    n = max(tally.draws, 1)
    happened = {name: int(count) / n for name, count in zip(question.model.events, tally.events, strict=True)}
    return Whole(tally.draws, tally.reaching(), happened, tally.left / n)


# ---- contributions ----------------------------------------------------------------------------------------------


def contributions(question: Question, progress: Progress | None = None) -> tuple[Contribution, ...]:
    """Every step's and every event's, worst first. Only the draws in which it happened are run again."""
    sums = _Knocked(question)
    with ThreadPoolExecutor(max(1, question.threads)) as pool:
        for outcome in question.outcomes(progress):
            sums.add(outcome, pool)
    return tuple(sorted(sums.found(), key=lambda one: (-one.exposure, one.kind, one.id)))


class _Knocked:
    """Sums of what changes when events are knocked out, one row for each set of events."""

    def __init__(self, question: Question) -> None:
        model = question.model
        self.model, self.classes = model, _Classes(question)
        single = [("event", name, model.event_step[n], (n,)) for n, name in enumerate(model.events)]
        self.named = [*_steps(model), *single]
        self.sets = list(dict.fromkeys(events for _, _, _, events in self.named))
        work = len(model.verb) * question.draws * 8
        self.runner = Runner(model, question.seed, question.continuations, question.choice, work)
        shape = (len(self.sets), len(self.classes.names))
        self.fell, self.rose = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
        self.change, self.squares = np.zeros(shape), np.zeros(shape)
        self.there, self.base, self.n = np.zeros(len(self.sets)), np.zeros(shape[1]), 0

    def add(self, outcome: Outcome, pool: ThreadPoolExecutor) -> None:
        drawn = self.classes.drawn(outcome)
        over, load = self.classes.over(outcome, drawn), self.classes.share(outcome)
        self.n += len(outcome.draws)
        self.base += load.sum(axis=1)

        def one(number: int) -> None:
            events = list(self.sets[number])
            lanes = np.flatnonzero((outcome.happened[events] != 0).any(axis=0))
            self.there[number] += lanes.size
            if lanes.size == 0:
                return
            without = self.runner.run(outcome.draws[lanes], events)
            fall = over[:, lanes].astype(np.int8) - self.classes.over(without, drawn.at(lanes)).astype(np.int8)
            self.fell[number] += (fall > 0).sum(axis=1)
            self.rose[number] += (fall < 0).sum(axis=1)
            change = load[:, lanes] - self.classes.share(without)
            self.change[number] += change.sum(axis=1)
            self.squares[number] += (change * change).sum(axis=1)

        list(pool.map(one, range(len(self.sets))))

    def found(self) -> Iterator[Contribution]:
        n, names = max(self.n, 1), self.classes.names
        for kind, name, step, events in self.named:
            at = self.sets.index(events)
            yield Contribution(
                kind=kind,
                id=name,
                step=step,
                happened=float(self.there[at]) / n,
                by={end: paired(int(self.fell[at, k]), int(self.rose[at, k]), n) for k, end in enumerate(names)},
                mean={
                    end: _share(self.change[at, k], self.squares[at, k], self.base[k], n) for k, end in enumerate(names)
                },
            )


def _steps(model: Model) -> list[tuple[str, str, int, tuple[int, ...]]]:
    found = []
    for step, name in enumerate(model.steps):
        events = tuple(n for n, at in enumerate(model.event_step) if at == step)
        if events:
            found.append(("step", name, step, events))
    return found


def paired(fell: int, rose: int, n: int) -> Estimate:
    """The mean of a difference that is -1, 0 or 1 in each draw, and its standard error."""
    mean = (fell - rose) / n
    variance = max((fell + rose) / n - mean * mean, 1.0 / (n * n))
    return Estimate(mean, sqrt(variance / n))


def _share(total: float, squares: float, base: float, n: int) -> Estimate:
    if base <= 0:
        return Estimate(0.0, 0.0)
    mean = total / n
    variance = max(squares / n - mean * mean, 0.0)
    return Estimate(float(total / base), float(sqrt(variance / n) / (base / n)))


class _Classes:
    """Outcomes by endpoint class: whether the first limit was reached, and loads.

    The last class is exposure: mucosa at any time, or skin at the end.
    """

    def __init__(self, question: Question) -> None:
        tally = Tally(question.model, Limits(question.limits[:1], question.seed), question.leave_out)
        self.members = {kind: rows for kind, rows in tally.members.items() if len(rows)}
        self.names = (*self.members, EXPOSURE)
        self.limits = tally.limits
        self.mucosa, self.skin = (self.members.get(kind, np.empty(0, np.intp)) for kind in ("mucosa", "skin"))

    def drawn(self, outcome: Outcome) -> Drawn:
        return self.limits.drawn(outcome.draws)

    def over(self, outcome: Outcome, drawn: Drawn, at_end: bool = False) -> npt.NDArray[np.bool_]:
        if not self.limits.limits:
            return np.zeros((len(self.names), len(outcome.draws)), dtype=np.bool_)
        ever, end = drawn.exceeded(outcome.peak), drawn.exceeded(outcome.end)
        first = end if at_end else ever
        exposed = ever[self.mucosa].any(axis=0) | end[self.skin].any(axis=0)
        return np.array([*(first[rows].any(axis=0) for rows in self.members.values()), exposed])

    def share(self, outcome: Outcome) -> F64:
        source = np.where(outcome.source > 0, outcome.source, 1.0)
        return self._sums(outcome, outcome.end) / source

    def ever(self, outcome: Outcome) -> F64:
        return self._sums(outcome, outcome.peak)

    def _sums(self, outcome: Outcome, loads: F64) -> F64:
        exposed = outcome.peak[self.mucosa].sum(axis=0) + outcome.end[self.skin].sum(axis=0)
        return np.array([*(loads[rows].sum(axis=0) for rows in self.members.values()), exposed])


# ---- what matters -----------------------------------------------------------------------------------------------


def what_matters(question: Question, progress: Progress | None = None) -> tuple[Matter, ...]:
    """Which unknowns the spread goes with, by class, largest first.

    Each quantity is held alike all through a run here, so that it can be told from chance. First-order shares are those
    of the variance of the mean in 16 equal parts of the unknown's law, less what chance alone would give (the
    given-data estimator of Plischke and others 2013; the classical one is Saltelli's).
    """
    model = replace(question.model, together=np.ones_like(question.model.together))
    asked = replace(question, model=model)
    classes = _Classes(asked)
    unknowns = sorted({*model.unknowns, *model.chance_unknowns})
    logs, draws = [], []
    for outcome in asked.outcomes(progress):
        logs.append(np.log10(classes.ever(outcome) + FLOOR))
        draws.append(outcome.draws)
    values, numbers = np.concatenate(logs, axis=1), np.concatenate(draws)
    ranks = np.array([_ranks(row) for row in values])
    found = []
    for unknown in unknowns:
        u = uniforms_of(unknown, numbers, question.seed)
        bins = (u * BINS_OF_AN_UNKNOWN).astype(np.intp)
        for at, endpoint in enumerate(classes.names):
            share = first_order(values[at], bins, BINS_OF_AN_UNKNOWN)
            if share is not None:
                found.append(Matter(unknown, endpoint, share, _correlation(u, ranks[at])))
    return tuple(sorted(found, key=lambda one: (-one.share.value, one.unknown, one.endpoint)))


def first_order(values: F64, bins: npt.NDArray[np.intp], count: int) -> Estimate | None:
    """Share of the variance between bins, what chance alone gives taken off; None when nothing varies."""
    n, variance = len(values), float(values.var())
    if variance < 1e-12:
        return None
    sizes = np.bincount(bins, minlength=count)
    filled = sizes > 0
    means = np.bincount(bins, weights=values, minlength=count)[filled] / sizes[filled]
    between = float((sizes[filled] * (means - values.mean()) ** 2).sum()) / n / variance
    degrees = int(filled.sum()) - 1
    noise = degrees / n * (1 - min(between, 1.0))
    error = sqrt(2 * degrees) / n + 2 * sqrt(max(between, 0.0) * (1 - min(between, 1.0)) / n)
    return Estimate(max(between - noise, 0.0), error)


def _ranks(values: F64) -> F64:
    """Ranks, ties at their middle."""
    order = np.argsort(values, kind="stable")
    ordered = values[order]
    edges = np.flatnonzero(np.concatenate([[True], ordered[1:] != ordered[:-1], [True]]))
    ranks = np.empty(len(values))
    middles = (edges[:-1] + edges[1:] - 1) / 2
    ranks[order] = np.repeat(middles, np.diff(edges))
    return ranks


def _correlation(u: F64, ranks: F64) -> float:
    """Of ranks; the place of a quantity in its law is its rank already."""
    spread = float(u.std() * ranks.std())
    return 0.0 if spread == 0 else float(((u - u.mean()) * (ranks - ranks.mean())).mean() / spread)


# ---- comparing --------------------------------------------------------------------------------------------------


def difference(a: Question, b: Question, progress: Progress | None = None) -> tuple[Difference, ...]:
    """Side b less side a by endpoint class, on the draws of a; both take a's seed and number of draws."""
    b = replace(b, seed=a.seed, draws=a.draws)
    mine, theirs = _Classes(a), _Classes(b)
    names = [name for name in mine.names if name in theirs.names]
    rows = [(mine.names.index(name), theirs.names.index(name)) for name in names]
    counts = np.zeros((len(names), 6), dtype=np.int64)
    less, more, n = np.zeros(len(names)), np.zeros(len(names)), 0
    for one, other in zip(a.outcomes(progress), b.outcomes(), strict=False):
        n += len(one.draws)
        drawn_a, drawn_b = mine.drawn(one), theirs.drawn(other)
        for at_end in (False, True):
            over_a, over_b = mine.over(one, drawn_a, at_end), theirs.over(other, drawn_b, at_end)
            for at, (row_a, row_b) in enumerate(rows):
                here = 4 if at_end else 2
                counts[at, here] += (over_b[row_b] & ~over_a[row_a]).sum()
                counts[at, here + 1] += (over_a[row_a] & ~over_b[row_b]).sum()
                if not at_end:
                    counts[at, 0] += over_a[row_a].sum()
                    counts[at, 1] += over_b[row_b].sum()
        load_a, load_b = mine.ever(one), theirs.ever(other)
        for at, (row_a, row_b) in enumerate(rows):
            less[at] += (load_b[row_b] < load_a[row_a] * (1 - 1e-9)).sum()
            more[at] += (load_b[row_b] > load_a[row_a] * (1 + 1e-9)).sum()
    n = max(n, 1)
    return tuple(
        Difference(
            endpoint=name,
            a=proportion(int(counts[at, 0]), n),
            b=proportion(int(counts[at, 1]), n),
            ever=paired(int(counts[at, 2]), int(counts[at, 3]), n),
            at_end=paired(int(counts[at, 4]), int(counts[at, 5]), n),
            less=float(less[at]) / n,
            more=float(more[at]) / n,
        )
        for at, name in enumerate(names)
    )


__all__ = [
    "BATCH",
    "Contribution",
    "Difference",
    "Matter",
    "Question",
    "Whole",
    "contributions",
    "difference",
    "first_order",
    "paired",
    "what_matters",
    "whole",
]

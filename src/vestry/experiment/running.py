"""An experiment run and held against what was found: each check met or missed, with the model's answer and interval."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from vestry.experiment.arms import F64, Bench, Chances, Run
from vestry.experiment.looking import Seen, interval, look
from vestry.experiment.setup import Check, Experiment, Outcome
from vestry.trade import Catalogue, Evidence

Interval = tuple[float, float] | None


@dataclass(frozen=True)
class Answer:
    """What the model says of one outcome in one arm."""

    arm: str
    outcome: str
    value: float
    interval: Interval


@dataclass(frozen=True)
class Judged:
    """One check: the model's answer, and whether it meets the tolerance.

    answer      for `order` the share of study-sized groups in which the order holds, for `top` how many families are
                among the first
    detail      for `order` the numbers in order; for `top` the families by importance with how far each makes the
                chance fall
    """

    check: Check
    answer: float
    interval: Interval
    met: bool
    detail: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Validated:
    """An experiment as it came out."""

    experiment: Experiment
    draws: int
    seed: int
    evidence: str
    facts: str
    answers: tuple[Answer, ...]
    judged: tuple[Judged, ...]
    rests_on: tuple[str, ...]
    defaults: tuple[str, ...]

    @property
    def met(self) -> bool:
        """Whether every check is met."""
        return all(one.met for one in self.judged)

    def as_json(self) -> dict[str, Any]:
        """Plain JSON; docs/reference/experiment-file.md. What is no number is null."""
        return {
            "id": self.experiment.id,
            "title": self.experiment.title,
            "relation": self.experiment.relation,
            "met": self.met,
            "draws": self.draws,
            "seed": self.seed,
            "evidence": self.evidence,
            "facts": self.facts,
            "answers": [
                {"arm": one.arm, "outcome": one.outcome, "value": _number(one.value), "interval": _pair(one.interval)}
                for one in self.answers
            ],
            "checks": [_judged(one) for one in self.judged],
            "rests-on": list(self.rests_on),
            "defaults": list(self.defaults),
        }


def validate(
    experiment: Experiment,
    catalogue: Catalogue,
    evidence: Evidence,
    *,
    draws: int = 20_000,
    seed: int = 1,
    file: str = "experiment",
    progress: Callable[[int, int], bool | None] | None = None,
) -> Validated:
    """Run every arm, look at every outcome that a check names, and judge the checks.

    The answer depends on the experiment, the facts, the evidence, the seed and the number of draws alone. BadFacts
    when an arm cannot be run as written.
    """
    return _Run(experiment, Bench(catalogue, evidence, Chances(draws, seed), file, progress)).validated()


class _Run:
    def __init__(self, experiment: Experiment, bench: Bench) -> None:
        self.experiment, self.bench = experiment, bench
        self.runs: dict[tuple[str, tuple[str, ...]], Run] = {}
        self.outcomes = {one.id: one for one in experiment.outcome}

    def validated(self) -> Validated:
        """All of it."""
        judged = tuple(self._judge(check) for check in self.experiment.check)
        return Validated(
            experiment=self.experiment,
            draws=self.bench.chances.draws,
            seed=self.bench.chances.seed,
            evidence=self.bench.evidence.digest,
            facts=self.bench.catalogue.digest,
            answers=tuple(self._answers()),
            judged=judged,
            rests_on=tuple(sorted({name for run in self.runs.values() for name in run.rests_on})),
            defaults=tuple(sorted({name for run in self.runs.values() for name in run.defaults})),
        )

    def _run(self, arm: str, never: tuple[str, ...] = ()) -> Run | None:
        whole = self.experiment.whole(arm)
        if not (whole.steps or whole.protocol or whole.edge):
            return None
        if (arm, never) not in self.runs:
            self.runs[arm, never] = self.bench.run(self.experiment, arm, never)
        return self.runs[arm, never]

    def _seen(self, arm: str, outcome: str) -> Seen:
        return look(self.bench, self.experiment, arm, self.outcomes[outcome], self._run(arm))

    def _interval(self, answers: Callable[[int], F64], whole: float) -> Interval:
        return interval(answers, whole, self.bench.chances.draws, self.experiment.sample)

    def _answers(self) -> list[Answer]:
        named: dict[tuple[str, str], None] = {}
        for check in self.experiment.check:
            outcomes = [one for one in (check.outcome, check.against_outcome) if one] or list(check.order)
            for arm in filter(None, (check.arm, check.against)):
                named.update({(arm, one): None for one in outcomes if self.outcomes[one].measure != "importance"})
        found = []
        for arm, outcome in named:
            seen = self._seen(arm, outcome)
            found.append(Answer(arm, outcome, seen.whole(), self._interval(seen.groups, seen.whole())))
        return found

    # ---- checks -----------------------------------------------------------------------------------------------

    def _judge(self, check: Check) -> Judged:
        if check.compare == "order":
            return self._order(check)
        if check.compare == "top":
            return self._top(check)
        assert check.outcome is not None, "checked when the file was read"
        assert check.tolerance is not None, "checked when the file was read"
        first = self._seen(check.arm, check.outcome)
        if check.compare == "value":
            answer, groups = first.whole(), first.groups
        else:
            other = self._seen(check.against or check.arm, check.against_outcome or check.outcome)
            how = _ratio if check.compare == "ratio" else np.subtract
            answer = float(how(np.array([first.whole()]), np.array([other.whole()]))[0])
            shift = 1 if check.against else 0  # arms are other people; outcomes of one arm the same ones

            def groups(size: int) -> F64:
                return np.asarray(how(first.groups(size), np.roll(other.groups(size), shift)))

        return Judged(check, answer, self._interval(groups, answer), check.tolerance.holds(answer))

    def _order(self, check: Check) -> Judged:
        seen = [self._seen(check.arm, one) for one in check.order]
        values = [one.whole() for one in seen]
        size = min(self.experiment.sample or self.bench.chances.draws, self.bench.chances.draws)
        rows = np.array([one.groups(size) for one in seen])
        share = float(np.mean(np.all(rows[:-1] >= rows[1:], axis=0)))
        met = all(a >= b for a, b in pairwise(values))
        return Judged(check, share, None, met, tuple(zip(check.order, values, strict=True)))

    def _top(self, check: Check) -> Judged:
        assert check.outcome is not None, "checked when the file was read"
        outcome = self.outcomes[check.outcome]
        ranked = self.importance(check.arm, outcome)
        first = [name for name, falls in ranked[: check.of_first] if falls > 0]
        count = len(set(first) & set(check.order))
        return Judged(check, float(count), None, count >= (check.at_least or 0), ranked)

    def importance(self, arm: str, outcome: Outcome) -> tuple[tuple[str, float], ...]:
        """Families of steps, the most important first, each with how far the chance falls without its errors."""
        looked = outcome.model_copy(update={"measure": "any"})
        all_of_it = look(self.bench, self.experiment, arm, looked, self._run(arm)).whole()
        falls = {}
        for family, steps in outcome.families.items():
            without = look(self.bench, self.experiment, arm, looked, self._run(arm, steps)).whole()
            falls[family] = all_of_it - without
        return tuple(sorted(falls.items(), key=lambda one: -one[1]))


def _ratio(a: F64, b: F64) -> F64:
    """a / b; not a number where b is nothing."""
    return np.divide(a, b, out=np.full_like(a, np.nan), where=b > 0)


def _judged(one: Judged) -> dict[str, Any]:
    check = one.check
    return {
        "id": check.id,
        "compare": check.compare,
        "met": one.met,
        "answer": _number(one.answer),
        "interval": _pair(one.interval),
        "observed": check.observed,
        "observed-interval": None if check.interval is None else list(check.interval),
        "found": check.found,
        "tolerance": None if check.tolerance is None else check.tolerance.model_dump(exclude_none=True),
        "detail": [{"what": name, "value": _number(value)} for name, value in one.detail],
    }


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _pair(pair: Interval) -> list[float | None] | None:
    return None if pair is None else [_number(pair[0]), _number(pair[1])]

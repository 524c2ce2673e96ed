"""Fit tests: the overall factor, and whether a test passes and still holds.

1. The overall fit factor is the harmonic mean of the scored exercises; a grimace is not scored.
2. It passes where it reaches the level of its own system for its class of respirator. Systems are never mixed: a test
   of another system than the unit's does not count, whatever its factor.
3. A qualitative test will do only where the system says so for the class.
4. It counts only if the wearer was cleared for such a respirator on that day.
5. It holds for the months that it states, else for its system's interval; the day itself is the last.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from vestry.people.values import FitTest
from vestry.trade.dates import months_after
from vestry.trade.jurisdictions import UNSTATED
from vestry.trade.standards import Standards

FitFails = Literal["below-level", "failed", "method-not-accepted", "level-unknown", "other-system", "fit-test-lapsed"]


@dataclass(frozen=True)
class Judged:
    """A fit test as it stands on a day.

    overall    the overall factor; None: a qualitative test
    level      what had to be reached; None: none is held for its system and class
    until      the last day on which it holds, if it passed
    why        empty: it counts
    """

    test: FitTest
    overall: float | None
    level: int | None
    until: datetime.date
    why: tuple[FitFails, ...]

    @property
    def counts(self) -> bool:
        """Whether it was passed and holds."""
        return not self.why


def harmonic_mean(factors: Iterable[float]) -> float:
    """N over the sum of reciprocals. ValueError where there is none, or one is not above 0."""
    given = list(factors)
    if not given or not all(0 < one < float("inf") for one in given):
        raise ValueError(f"an overall factor needs factors above 0, all of them numbers (got {given})")
    return len(given) / sum(1 / one for one in given)


def overall_factor(test: FitTest, standards: Standards) -> float | None:
    """The overall factor of a quantitative test, from its scored exercises where they are kept. None: qualitative."""
    if test.method == "qualitative":
        return None
    scored = [one.factor for one in test.exercises if _scored(one.exercise, standards)]
    return harmonic_mean(scored) if scored else test.overall


def judge(test: FitTest, on: datetime.date, standards: Standards, system: str = UNSTATED) -> Judged:
    """How a test stands on a day, where the unit works by `system` (`unstated`: by the test's own)."""
    return Judging(standards, system).on(test, on)


class Judging:
    """Many tests, each on many days: what does not hang on the day is worked out once for each test.

    standards, system    as for `judge`
    """

    def __init__(self, standards: Standards, system: str = UNSTATED) -> None:
        self.standards, self.system = standards, system
        # By identity: two tests that are equal are judged twice, and to compare them would take longer. The test is
        # held, so that no other takes its identity.
        self._known: dict[int, Judged] = {}

    def on(self, test: FitTest, day: datetime.date) -> Judged:
        """How a test stands on a day."""
        passed = self.whenever(test)
        if test.on <= day <= passed.until:
            return passed
        return Judged(test, passed.overall, passed.level, passed.until, (*passed.why, "fit-test-lapsed"))

    def whenever(self, test: FitTest) -> Judged:
        """How a test stands on any day on which it holds."""
        found = self._known.get(id(test))
        if found is None:
            found = self._known[id(test)] = self._judged(test)
        return found

    def _judged(self, test: FitTest) -> Judged:
        level = self.standards.pass_level(test.system, test.device)
        overall = overall_factor(test, self.standards)
        until = months_after(test.on, test.months or self.standards.months("fit-test", test.system))
        why: list[FitFails] = []
        if self.system not in (UNSTATED, test.system):
            why.append("other-system")
        if level is None:
            why.append("level-unknown")
        elif test.method == "qualitative":
            if not level.qualitative:
                why.append("method-not-accepted")
            elif not test.passed:
                why.append("failed")
        elif overall is None or overall < level.level:
            why.append("below-level")
        return Judged(test, overall, level.level if level else None, until, tuple(why))


def _scored(exercise: str, standards: Standards) -> bool:
    known = standards.exercises.get(exercise)
    return known is None or known.scored

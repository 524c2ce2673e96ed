"""The fast forecast against the same stays played event by event, on random small cases.

Five standard errors of the two together, chosen before the first run; one draw more or less is never held against it.
"""

from __future__ import annotations

import random
from math import sqrt

import numpy as np
import pytest
from bench.peers.stay_events import Run, play
from hypothesis import HealthCheck, Phase, given, seed, settings
from tests.readiness.stays import drawn, model, stay, stays

from vestry.readiness import Stay

FAST, SLOW, WIDE = 1500, 150, 5.0


def compare(asked: Stay, fast: int, slow: int) -> None:
    made = drawn(asked.model_copy(update={"draws": fast}))
    chance = random.Random(asked.seed)
    runs = [play(asked, chance) for _ in range(slow)]
    for number, pool in enumerate(model(asked).pools):
        for name in ("used", "lacking", "expired", "left"):
            theirs = np.array([getattr(run, name)[pool] for run in runs])
            alike(getattr(made.kept, name)[:, number], theirs, f"{name} of {pool}")
        short = np.array([run.short_at.get(pool, asked.hours) for run in runs])
        alike(made.kept.short_at[:, number], short, f"cover of {pool}")
        alike(made.kept.short_at[:, number] >= asked.hours, short >= asked.hours, f"lasting of {pool}")
    alike(made.uncovered, np.array([run.uncovered for run in runs]), "uncovered")


def alike(ours: np.ndarray, theirs: np.ndarray, what: str) -> None:
    error = sqrt(ours.var() / len(ours) + theirs.var() / len(theirs)) + 1 / len(theirs)
    assert abs(ours.mean() - theirs.mean()) <= WIDE * error, f"{what}: {ours.mean()} and {theirs.mean()}"


@pytest.mark.property
@seed(20270301)
@settings(max_examples=3, deadline=None, phases=(Phase.generate,), suppress_health_check=list(HealthCheck))
@given(stays())
def test_random_stays_come_out_as_event_by_event(asked):
    compare(asked, FAST, 60)


@pytest.mark.slow
@pytest.mark.property
@pytest.mark.timeout(600)
@seed(20270302)
@settings(max_examples=120, deadline=None, phases=(Phase.generate,), suppress_health_check=list(HealthCheck))
@given(stays())
def test_many_random_stays_come_out_as_event_by_event(asked):
    compare(asked, FAST, SLOW)


def test_without_chance_the_two_are_equal():
    asked = stay(
        ensembles=[{"id": "set", "wearer": ["apron", "papr-helmet"]}],
        stock=[
            {"item": "apron", "count": 20, "expires": "2027-03-01"},
            {"item": "apron", "count": 9},
            {"item": "papr-helmet", "count": 3},
        ],
        deliveries=[{"item": "apron", "count": 5, "arrives-hours": [31, 31]}],
        again=[{"item": "papr-helmet", "hours": 3}],
        reserves=[{"item": "apron", "count": 2}],
    )
    kept, run = drawn(asked).kept, play(asked, random.Random(0))

    for number, pool in enumerate(model(asked).pools):
        ours = [int(getattr(kept, name)[0, number]) for name in ("used", "lacking", "expired", "left", "short_at")]
        assert ours == [*(getattr(run, name)[pool] for name in ("used", "lacking", "expired", "left")),
                        run.short_at.get(pool, 48)]  # fmt: skip


def test_the_comparison_sees_more_on_the_shelf():
    """A shelf with six more than twenty is told apart: the comparison can fail."""
    work = [{"id": "care", "ensemble": "set", "by": "nurse", "extra-a-day": 12, "minutes-inside": 60}]
    asked = stay(work=work, stock=[{"item": "apron", "count": 20}])
    other = stay(work=work, stock=[{"item": "apron", "count": 26}])
    runs: list[Run] = [play(other, random.Random(3)) for _ in range(SLOW)]

    with pytest.raises(AssertionError, match="used of"):
        alike(drawn(asked).kept.used[:, 0], np.array([run.used["apron", "one-size"] for run in runs]), "used of aprons")

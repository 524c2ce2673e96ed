"""The clock of an entry. The unit's policy sets it; a prediction that is shorter shortens it; nothing lengthens it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import floor, isfinite
from typing import Literal

from vestry.heat.strain import Predicted

By = Literal["policy", "core", "loss-most"]


@dataclass(frozen=True)
class Shortening:
    """A limit that was predicted: by the core temperature, or by the water that nearly everyone has lost by then."""

    by: By
    minutes: float


@dataclass(frozen=True)
class Allowed:
    """Minutes that an entry may last, and what set them."""

    minutes: int
    by: By
    policy: int


def shortenings(predicted: Predicted) -> tuple[Shortening, ...]:
    """The limits of a prediction that were reached; one that was not reached is no number and shortens nothing."""
    limits: tuple[tuple[By, int | None], ...] = (
        ("core", predicted.core.minutes),
        ("loss-most", predicted.loss_most.minutes),
    )
    return tuple(Shortening(by, minutes) for by, minutes in limits if minutes is not None)


def allowed(policy: int, predictions: Iterable[Shortening] = ()) -> Allowed:
    """The unit's limit, or the shortest prediction where that is less; whole minutes, downwards.

    ValueError for a policy below 1 minute and for a prediction that is no number or not above 0.
    """
    if policy < 1:
        raise ValueError(f"a policy of {policy} minutes; at least 1")
    shortest = Allowed(policy, "policy", policy)
    for one in predictions:
        if not isfinite(one.minutes) or one.minutes <= 0:
            raise ValueError(f"a prediction of {one.minutes} minutes is none")
        if floor(one.minutes) < shortest.minutes:
            shortest = Allowed(floor(one.minutes), one.by, policy)
    return shortest

"""What a benchmark gives back, and how time is taken.

Two ways to one answer are timed in turn, round by round, in one process, so that whatever else the machine does meets
both; the best round of each counts. A number of seconds belongs to the machine that is named beside it; a ratio says
more.
"""

from __future__ import annotations

import math
import resource
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any, TypeVar

T = TypeVar("T")


@dataclass(frozen=True)
class Floor:
    """What was to be reached, what was found, and whether it was. `what` says which number; `wanted` in words."""

    what: str
    wanted: str
    found: str
    met: bool


@dataclass(frozen=True)
class Table:
    """A table of what was measured."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    long: bool = False


@dataclass(frozen=True)
class Measured:
    """The answer of one benchmark.

    said      what was compared, in sentences
    unequal   where two ways gave different answers: a failure, whatever the times
    """

    name: str
    title: str
    said: tuple[str, ...]
    floors: tuple[Floor, ...] = ()
    tables: tuple[Table, ...] = ()
    unequal: tuple[str, ...] = ()
    resources: Mapping[str, float] = field(default_factory=dict)

    @property
    def good(self) -> bool:
        """Whether all answers were equal and every floor was met."""
        return not self.unequal and all(floor.met for floor in self.floors)

    def as_json(self) -> dict[str, Any]:
        """Plain JSON."""
        return asdict(self) | {"resources": dict(self.resources)}


def from_json(document: Mapping[str, Any]) -> Measured:
    """A benchmark's answer as it was kept."""
    return Measured(
        name=document["name"],
        title=document["title"],
        said=tuple(document["said"]),
        floors=tuple(Floor(**one) for one in document["floors"]),
        tables=tuple(
            Table(one["title"], tuple(one["head"]), tuple(map(tuple, one["rows"])), one["long"])
            for one in document["tables"]
        ),
        unequal=tuple(document["unequal"]),
        resources=document["resources"],
    )


def in_turn(rounds: int, ways: Sequence[Callable[[], T]]) -> list[tuple[float, T]]:
    """Each way's best wall-clock seconds over some rounds, taken in turn, and its last answer."""
    best = [float("inf")] * len(ways)
    answers: list[Any] = [None] * len(ways)
    for _ in range(rounds):
        for number, way in enumerate(ways):
            begun = time.perf_counter()
            answers[number] = way()
            best[number] = min(best[number], time.perf_counter() - begun)
    return list(zip(best, answers, strict=True))


class Resources:
    """Seconds and memory between two moments; children count only when they have ended."""

    def __init__(self) -> None:
        self.wall, self.cpu = time.perf_counter(), _cpu()

    def used(self) -> dict[str, float]:
        """Wall-clock and processor seconds since, children included, and the largest resident set so far."""
        return {
            "wall-seconds": round(time.perf_counter() - self.wall, 1),
            "cpu-seconds": round(_cpu() - self.cpu, 1),
            "peak-mb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
        }


def _cpu() -> float:
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def ms(seconds: float) -> str:
    """Milliseconds with three figures."""
    return f"{seconds * 1000:.3g}" if seconds < 1 else f"{seconds * 1000:.0f}"


def times(ratio: float) -> str:
    """A ratio with two figures."""
    return f"{ratio:.2g}" if ratio < 10 else f"{ratio:.0f}"


def at_share(ordered: Sequence[float], share: float) -> float:
    """The value that this share of an ascending list does not exceed (nearest rank). ValueError when it is empty."""
    if not ordered:
        raise ValueError("no values")
    return ordered[max(0, math.ceil(share * len(ordered)) - 1)]

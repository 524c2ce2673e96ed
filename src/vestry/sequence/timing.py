"""How long steps take, from the durations of the catalogue: what one sequence costs in minutes against another.

An estimate to compare with, in large part judgement; never a clock that anyone is held to.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import reduce

from vestry.trade import Catalogue
from vestry.trade.values import Duration


@dataclass(frozen=True)
class Span:
    """Seconds: central, brisk and slow."""

    seconds: int = 0
    least: int = 0
    most: int = 0

    def __add__(self, other: Span) -> Span:
        return Span(self.seconds + other.seconds, self.least + other.least, self.most + other.most)


def span_of(
    act: str, items: tuple[str, ...], agent: str | None, catalogue: Catalogue, stated: int | None = None
) -> Span:
    """How long one step takes, reading it aloud included. `stated`: the seconds that a sequence file gives."""
    if stated is not None:
        return Span(stated, stated, stated)
    kinds: list[str | None] = [catalogue.items[item].kind for item in items]
    parts = [_record(act, kind, agent, catalogue) for kind in kinds or [None]]
    reading = next(one for one in catalogue.durations.values() if one.act == "reading")
    return total(Span(one.seconds, *one.range) for one in (reading, *parts))


def total(spans: Iterable[Span]) -> Span:
    """The sum. Brisk and slow are sums too: everything brisk, everything slow."""
    return reduce(Span.__add__, spans, Span())


def _record(act: str, kind: str | None, agent: str | None, catalogue: Catalogue) -> Duration:
    """The record closest to the step: for this kind, for this agent, else for whatever the act is done on."""

    def closeness(one: Duration) -> tuple[bool, bool]:
        return (kind in one.for_, agent in one.agents)

    fitting = [
        one
        for one in catalogue.durations.values()
        if one.act == act and (not one.for_ or kind in one.for_) and (not one.agents or agent in one.agents)
    ]
    return max(fitting, key=closeness)

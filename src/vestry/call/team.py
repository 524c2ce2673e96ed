"""Whether the minimum team is here, or when it will be, and what is missing.

Each person fills one place, and only a place that they may fill by the registers. The most places that can be filled
at once is found as a greatest flow (readiness.teaming); which place is then left open is one way of several to say it.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from vestry.people.values import Duty
from vestry.readiness.teaming import places

DUTIES: tuple[Duty, ...] = ("wearer", "observer", "assistant")


@dataclass(frozen=True)
class Present:
    """Somebody who is here, or on the way: from when, and in which parts they may act. `here_at` None: not known."""

    person: str
    here_at: datetime.datetime | None
    may: frozenset[Duty]


@dataclass(frozen=True)
class Shortfall:
    """Places of a part that nobody fills."""

    duty: Duty
    missing: int


@dataclass(frozen=True)
class TeamNow:
    """The minimum team at this moment.

    needed     places by part
    filled     who would fill which part with those who are here
    missing    what is missing with those who are here; empty: the team is present
    whole_at   when it will be, by the arrivals that were told; None: not with those who are coming
    then_missing  what is still missing when all who are coming with a known time are here
    """

    needed: Mapping[Duty, int]
    filled: Mapping[str, Duty]
    missing: tuple[Shortfall, ...]
    whole_at: datetime.datetime | None
    then_missing: tuple[Shortfall, ...]

    @property
    def present(self) -> bool:
        """Whether the minimum team is here."""
        return not self.missing

    @property
    def places_filled(self) -> int:
        """How many places are filled now."""
        return len(self.filled)

    @property
    def places(self) -> int:
        """How many places there are."""
        return sum(self.needed.values())


def team_now(needed: Mapping[Duty, int], people: Iterable[Present], now: datetime.datetime) -> TeamNow:
    """The team with those who are here now, and when it becomes whole."""
    known = sorted((one for one in people if one.here_at is not None), key=lambda one: (one.here_at or now, one.person))
    here = [one for one in known if one.here_at is not None and one.here_at <= now]
    filled = _filled(needed, here)
    missing = _missing(needed, filled)
    whole_at = now if not missing else None
    then = filled
    if missing:
        for number, one in enumerate(known, 1):
            if number <= len(here):
                continue
            then = _filled(needed, known[:number])
            if not _missing(needed, then):
                whole_at = one.here_at
                break
    return TeamNow(dict(needed), filled, missing, whole_at, _missing(needed, then))


def _filled(needed: Mapping[Duty, int], people: Iterable[Present]) -> dict[str, Duty]:
    listed = list(people)
    able: dict[Duty, Collection[str]] = {duty: [one.person for one in listed if duty in one.may] for duty in DUTIES}
    return places(able, needed)


def _missing(needed: Mapping[Duty, int], filled: Mapping[str, Duty]) -> tuple[Shortfall, ...]:
    there = list(filled.values())
    return tuple(
        Shortfall(duty, needed.get(duty, 0) - there.count(duty))
        for duty in DUTIES
        if needed.get(duty, 0) > there.count(duty)
    )

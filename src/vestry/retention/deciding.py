"""Keeping and letting go: what a policy lets go of today, and what stays, with the reason. Pure.

1. Nothing goes without a policy for its sort. There is none by default.
2. A hold wins over every policy: on an entry, on a person, or on an exposure. It keeps all that belongs to what is
   held.
3. What is open never goes: an entry under way, an exposure that nobody took up, an absence that has not ended.
4. A subject goes when its last word is older than the days of its policy, counted from the moment asked about.
5. What went is no subject any more: asked again, the answer is that nothing goes.
6. What something else that is kept needs stays with it: the person of a record that is still there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal, get_args

Sort = Literal["entries", "drills", "health", "reads", "refusals", "people", "tablets"]
SORTS: tuple[Sort, ...] = get_args(Sort)
HeldSort = Literal["entry", "person", "exposure"]
HELD_SORTS: tuple[HeldSort, ...] = get_args(HeldSort)
LEAST_DAYS = 30
MOST_DAYS = 36_600
"""A policy is in days, from 30 (a month in which a mistake can show) to a hundred years."""

Why = Literal["off", "held", "open", "young", "needed"]


@dataclass(frozen=True)
class Subject:
    """Something that is kept and may go one day.

    last      when it was last added to, or ended; from then on the days count
    open      not over yet
    needed    what is kept and needs it, in a word; empty: nothing
    entries, people, exposures   what it belongs to, by their keys: a hold on any of these keeps it
    """

    sort: Sort
    key: str
    last: datetime
    open: bool = False
    needed: str = ""
    entries: frozenset[str] = frozenset()
    people: frozenset[str] = frozenset()
    exposures: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Hold:
    """What must not go, whatever a policy says."""

    sort: HeldSort
    key: str


@dataclass(frozen=True)
class Decision:
    """What goes, oldest first, and what stays and why."""

    goes: tuple[Subject, ...]
    stays: tuple[tuple[Subject, Why], ...]


def decide(subjects: Iterable[Subject], days: Mapping[Sort, int], holds: Iterable[Hold], now: datetime) -> Decision:
    """What goes at this moment. days: of the policies in force, by sort; a sort that is not in it is kept for ever."""
    held = frozenset((one.sort, one.key) for one in holds)
    goes: list[Subject] = []
    stays: list[tuple[Subject, Why]] = []
    for one in subjects:
        why = _why_it_stays(one, days, held, now)
        if why is None:
            goes.append(one)
        else:
            stays.append((one, why))
    return Decision(tuple(sorted(goes, key=lambda one: (one.last, one.sort, one.key))), tuple(stays))


def _why_it_stays(
    one: Subject, days: Mapping[Sort, int], held: frozenset[tuple[HeldSort, str]], now: datetime
) -> Why | None:
    belongs: dict[HeldSort, frozenset[str]] = {
        "entry": one.entries,
        "person": one.people,
        "exposure": one.exposures,
    }
    if any((sort, key) in held for sort, keys in belongs.items() for key in keys):
        return "held"
    if one.open:
        return "open"
    if one.sort not in days:
        return "off"
    if one.last > now - timedelta(days=days[one.sort]):
        return "young"
    return "needed" if one.needed else None

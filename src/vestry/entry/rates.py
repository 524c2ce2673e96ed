"""How often a unit's own entries went otherwise than taught, by family of steps. Of the unit, never of a person.

A family is what was done to what (`doff:face-shield`, `disinfect-gloves:-`), apart for slips and for hygiene acts left
out or too short. An occasion is one act that could have gone wrong in a step that was done; so that a rate is that of
one critical act, as the rates that are published. What nobody saw or marked is in no count.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import sqrt
from typing import Literal

from vestry.entry.courses import PLAN
from vestry.entry.state import EntryState

LEFT_OUT = "left-out-or-short"
Sort = Literal["slip", "omission"]
Key = tuple[str, Sort]


@dataclass(frozen=True)
class Rate:
    """Deviations on occasions in one family, over how many entries."""

    family: str
    sort: Sort
    deviations: int
    occasions: int
    entries: int

    @property
    def interval(self) -> tuple[float, float]:
        """95 percent for the share (Wilson's score interval)."""
        n, z = self.occasions, 1.96
        share = self.deviations / n
        centre, spread = share + z * z / (2 * n), z * sqrt(share * (1 - share) / n + z * z / (4 * n * n))
        below, above = (centre - spread) / (1 + z * z / n), (centre + spread) / (1 + z * z / n)
        return (max(0.0, below), min(1.0, above))


@dataclass(frozen=True)
class Counted:
    """What the entries of a unit say. `unclear`: deviations of which nobody could say what it was, in no rate."""

    rates: tuple[Rate, ...]
    entries: int
    unclear: int

    def of_events(self, events: Iterable[str]) -> dict[str, tuple[int, int]]:
        """Deviations and occasions for each of these events (`act:items:technique:slip`), by its family."""
        known = {(one.family, one.sort): (one.deviations, one.occasions) for one in self.rates}
        found = {}
        for event in events:
            base = event.partition("@")[0]
            key = family_of(base)
            if key in known:
                found[base] = known[key]
        return found


def family_of(event: str) -> Key:
    """The family of an event, by its id."""
    act, _, rest = event.partition("@")[0].partition(":")
    return f"{act}:{rest.partition(':')[0]}", "omission" if event.partition("@")[0].endswith(LEFT_OUT) else "slip"


def counted(entries: Iterable[tuple[EntryState, Mapping[str, tuple[str, ...]]]]) -> Counted:
    """The counts of entries, each with what can go wrong at each step of its plan (step id to event ids).

    Only steps of the plan that were done, and only entries that are over.
    """
    deviations: Counter[Key] = Counter()
    occasions: Counter[Key] = Counter()
    seen: Counter[Key] = Counter()
    unclear = number = 0
    for state, could in entries:
        if not state.over:
            continue
        number += 1
        here: Counter[Key] = Counter()
        for step in state.steps:
            if step.course == PLAN and step.done:
                here.update(family_of(event) for event in could.get(step.step, ()))
        went: Counter[Key] = Counter()
        for one in state.deviations:
            events = {event for event in one.events if event.count(":") >= 3 and not event.startswith("latent:")}
            unclear += not events
            went.update(family_of(event) for event in events)
        for key in here | went:
            occasions[key] += max(here[key], went[key])
            deviations[key] += went[key]
            seen[key] += 1
    rates = tuple(
        Rate(family, sort, deviations[family, sort], occasions[family, sort], seen[family, sort])
        for family, sort in sorted(occasions)
    )
    return Counted(rates, number, unclear)

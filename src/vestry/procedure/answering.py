"""The unit's approved answer after something went wrong at a step.

1. Only what was approved with the procedure is offered; nothing is computed here.
2. The recovery's worn set equals what is worn.
3. What it assumes contaminated covers what may be. Contamination only ever adds (the model is monotone), so what holds
   for more holds for less.
4. Among those that fit, the one for exactly what happened; then the one that assumes least.
5. None fits: no answer. The screen then shows the unit's hold card, never a guess.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from vestry.sequence.assurance import Recovery

ENVELOPE = ("envelope",)


@dataclass(frozen=True)
class Happened:
    """What is known after STOP.

    at             the step it happened at
    events         what was seen to happen, as event ids of the contact model; empty: not sure, anything this step knows
    worn           what is worn now
    contaminated   what may be contaminated now; None: not known, so only an answer for exactly these events counts
    """

    at: str
    events: tuple[str, ...]
    worn: frozenset[str]
    contaminated: frozenset[str] | None = None


def answer(recoveries: Sequence[Recovery], happened: Happened) -> Recovery | None:
    """The approved recovery that fits, or None: then the hold card."""
    fits = [one for one in recoveries if _fits(one, happened)]
    wanted = tuple(sorted(happened.events)) or ENVELOPE
    return min(fits, key=lambda one: (tuple(sorted(one.happened)) != wanted, len(one.assumed)), default=None)


def _fits(one: Recovery, happened: Happened) -> bool:
    if one.at != happened.at or not one.clean or frozenset(one.worn) != happened.worn:
        return False
    exact = bool(happened.events) and set(one.happened) == set(happened.events)
    envelope = one.happened == ENVELOPE
    if happened.contaminated is None:
        return exact or (envelope and len(happened.events) <= 1)
    return (exact or envelope or _more(one, happened.events)) and set(one.assumed) >= happened.contaminated


def _more(one: Recovery, events: Collection[str]) -> bool:
    """Whether it was made for these events and others besides."""
    return bool(events) and set(events) <= set(one.happened)

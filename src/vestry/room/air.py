"""How long a room's air takes to clear once nobody is left who gives off anything.

A well-mixed room clears exponentially: minutes = -ln(1 - removal) / air changes x 60, times a mixing factor. By
formula, never by table. (US CDC, MMWR 43 RR-13, 1994, Table S3-1; HICPAC 2003, Appendix B.) It holds for an empty room
without a source. It informs; nothing waits for it but people.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, exp, floor, log
from typing import Literal

from vestry.trade.values import Certainty, Hazard

Relevant = Literal["airborne", "by-task", "not-by-air", "unknown"]
MOST_ACH = 10_000


class AirRefused(ValueError):
    """Numbers that make no ventilation; `.field` says which."""

    def __init__(self, field: str, what: str) -> None:
        self.field, self.what = field, what
        super().__init__(f"{field}: {what}")


@dataclass(frozen=True)
class Part:
    """What one source gives: `room` (its own ventilation), `supply`, `exhaust` or `cleaner`, in air changes an hour.

    counted   False for the lesser of supply and exhaust: the same air goes in and out, so they are never added
    """

    source: Literal["room", "supply", "exhaust", "cleaner"]
    ach: Fraction
    counted: bool = True


@dataclass(frozen=True)
class Clearance:
    """How long until so much is removed.

    removal   percent
    minutes   by the formula, mixing factor included
    rounded   to the nearest whole minute, as the published tables print it
    wait      to the next whole minute: what to wait
    """

    removal: Fraction
    minutes: float
    rounded: int
    wait: int


@dataclass(frozen=True)
class Relevance:
    """Whether clearing the air matters for a hazard: how it goes, and how surely that is known."""

    hazard: str
    answer: Relevant
    routes: tuple[str, ...]
    source: str
    certainty: Certainty


def air_changes(
    *,
    ach: Fraction | None = None,
    flow: Fraction | None = None,
    supply: Fraction | None = None,
    exhaust: Fraction | None = None,
    volume: Fraction | None = None,
    cleaners: Iterable[Fraction] = (),
    cleaner_ach: Iterable[Fraction] = (),
) -> tuple[Fraction, tuple[Part, ...]]:
    """Air changes an hour, and what they are made of.

    flow, supply, exhaust, cleaners   cubic metres an hour; volume in cubic metres
    Of supply and exhaust the larger counts; cleaners side by side add up. AirRefused names the number that is wrong.
    """
    cleaners, cleaner_ach = tuple(cleaners), tuple(cleaner_ach)
    given = {"ach": ach, "flow": flow, "supply": supply, "exhaust": exhaust, "volume": volume}
    flows = {
        name: value for name, value in given.items() if name in ("flow", "supply", "exhaust") and value is not None
    }
    for name, value in [*given.items(), *(("cleaner", one) for one in (*cleaners, *cleaner_ach))]:
        if value is not None and value <= 0:
            raise AirRefused(name, "a number above 0")
    _one_way_only(ach, flows)
    if (flows or cleaners) and volume is None:
        raise AirRefused("volume", "a flow of air needs the volume of the room")
    if volume is not None and ach is None and not (flows or cleaners):
        raise AirRefused("volume", "a volume without a flow of air says nothing")
    parts = [Part("room", ach)] if ach is not None else []
    if volume is not None:
        largest = max(flows.values(), default=None)
        for name in ("flow", "supply", "exhaust"):
            if name in flows:
                counted = flows[name] == largest and not any(one.counted for one in parts)
                parts.append(Part("room" if name == "flow" else name, flows[name] / volume, counted))  # type: ignore[arg-type]
        parts += [Part("cleaner", one / volume) for one in cleaners]
    parts += [Part("cleaner", one) for one in cleaner_ach]
    total = sum((one.ach for one in parts if one.counted), Fraction(0))
    if not parts:
        raise AirRefused("ach", "air changes, or a flow of air and the volume of the room")
    if total > MOST_ACH:
        raise AirRefused("ach", f"{float(total):g} air changes an hour; at most {MOST_ACH}")
    return total, tuple(parts)


def _one_way_only(ach: Fraction | None, flows: dict[str, Fraction]) -> None:
    if ach is not None and flows:
        raise AirRefused(
            next(iter(flows)), "air changes are given already: the room's own ventilation would count twice"
        )
    if "flow" in flows and len(flows) > 1:
        raise AirRefused("flow", "give the room's flow, or its supply and exhaust")


def clearance(ach: Fraction, removal: Fraction, mixing: Fraction = Fraction(1)) -> Clearance:
    """How long until `removal` percent is gone. AirRefused for 0 or less, 100 or more, and a mixing factor below 1."""
    _check_mixing(mixing)
    if ach <= 0:
        raise AirRefused("ach", "a number above 0")
    if removal <= 0:
        raise AirRefused("removal", "a percentage above 0")
    if removal >= 100:
        raise AirRefused("removal", "below 100: the last of it never goes, the air only thins out")
    left = (100 - removal) / 100
    minutes = -log(left) / float(ach) * 60 * float(mixing)
    return Clearance(removal, minutes, floor(minutes + 0.5), ceil(minutes))


def remaining(ach: Fraction, minutes: Fraction, mixing: Fraction = Fraction(1)) -> float:
    """What is left after so many minutes, in percent: the same formula read the other way."""
    _check_mixing(mixing)
    if minutes < 0:
        raise AirRefused("after", "minutes that have passed: 0 or more")
    return 100 * exp(-float(ach) * float(minutes) / 60 / float(mixing))


def _check_mixing(mixing: Fraction) -> None:
    if not 1 <= mixing <= 20:
        raise AirRefused("mixing", "from 1 (perfect) to 20; published texts name up to 10")


def relevance(hazard: Hazard, aerosol_tasks: bool = False) -> Relevance:
    """Whether the air matters for this hazard.

    aerosol_tasks   whether anything was done that makes aerosol: then it may, whatever the hazard's routes are
    """
    routes = hazard.routes.value
    known = routes if routes is not None else hazard.routes.default or ()
    answer: Relevant
    if "airborne" in known:
        answer = "airborne"
    elif aerosol_tasks:
        answer = "by-task"
    else:
        answer = "not-by-air" if routes is not None else "unknown"
    return Relevance(hazard.id, answer, tuple(known), hazard.routes.source, hazard.routes.certainty)

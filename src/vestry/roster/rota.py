"""The question that a roster answers, as a file: shifts, people with what they may do, what is needed, and the rules.

A shift counts to the day on which it begins. Days count from `starts`; nothing here knows a clock.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from vestry.trade.values import Id, Value

Duty = Literal["inside", "relief", "observing", "assisting"]
Able = Literal["inside", "observing", "assisting"]
DUTIES: tuple[Duty, ...] = ("inside", "relief", "observing", "assisting")
MOST_DAYS, MOST_PEOPLE, MOST_SHIFTS = 42, 200, 6
Minutes = Annotated[float, Field(gt=0, le=1440)]
Label = Annotated[str, Field(min_length=1, max_length=60)]


def asks_for(duty: Duty) -> Able:
    """What somebody has to be able for a duty: who relieves goes in."""
    return "inside" if duty == "relief" else duty


class RotaShift(Value):
    """A shift of every day: the hour of the day at which it begins, and how many hours it lasts."""

    id: Id
    from_hour: int = Field(ge=0, le=23)
    hours: int = Field(ge=1, le=24)


class Away(Value):
    """Days on which somebody cannot be asked, both counted. Why is not written here."""

    from_: date = Field(alias="from")
    until: date


class Off(Value):
    """One shift on which somebody cannot be asked."""

    day: date
    shift: Id


class Member(Value):
    """Somebody who can be asked. `id` is a label; `may`: what they are qualified for.

    until                 the last day on which they are qualified for it, where that is known
    most_in_seven_days    their own limit, below the rule's
    further               shifts above each limit of days, shifts and hours that they have agreed to
    """

    id: Label
    may: tuple[Able, ...] = ()
    until: dict[Able, date] = Field(default_factory=dict)
    away: tuple[Away, ...] = ()
    off: tuple[Off, ...] = ()
    most_in_seven_days: int | None = Field(default=None, ge=0, le=7)
    further: int = Field(default=0, ge=0, le=7)


class Need(Value):
    """How many a duty needs at once, on these shifts (none named: all) and days (none named: all).

    Of `relief` no need is written: it follows from those inside and the longest time inside.
    """

    duty: Able
    people: int = Field(ge=0, le=12)
    shifts: tuple[Id, ...] = ()
    days: tuple[date, ...] = ()


class Assigned(Value):
    """Somebody on a duty in a shift."""

    person: Label
    day: date
    shift: Id
    duty: Duty


class Rules(Value):
    """What the unit holds to. The defaults are common working-time limits, from memory; the unit's own hold.

    rest_hours                  between the end of a shift and the start of the next
    most_in_seven_days          shifts in any seven days; most_hours_in_seven_days likewise
    most_days_in_a_row
    most_inside_in_seven_days   shifts inside or as relief in any seven days; none: as any other
    minutes_inside              the longest time inside at once; most_inside_a_shift: minutes inside in one shift
    don, doff, rest             minutes of dressing, undressing and rest around one time inside
    """

    rest_hours: int = Field(default=11, ge=0, le=72)
    most_in_seven_days: int = Field(default=5, ge=1, le=7)
    most_hours_in_seven_days: int = Field(default=48, ge=1, le=168)
    most_days_in_a_row: int = Field(default=5, ge=1, le=42)
    most_inside_in_seven_days: int | None = Field(default=None, ge=0, le=7)
    minutes_inside: Minutes = 120
    most_inside_a_shift: Minutes | None = None
    don: Minutes = 10
    doff: Minutes = 8
    rest: Annotated[float, Field(ge=0, le=1440)] = 60


class Rota(Value):
    """Everything that a roster is asked.

    fixed     what is settled and stays, whatever is proposed
    before    what people worked in the days before `starts`: it counts for rest and limits
    effort    how long the solver may try, in its own count of work; not seconds
    """

    format_version: Literal[1] = 1
    title: str = Field(default="", max_length=200)
    starts: date
    days: int = Field(ge=1, le=MOST_DAYS)
    shifts: tuple[RotaShift, ...] = Field(min_length=1, max_length=MOST_SHIFTS)
    people: tuple[Member, ...] = Field(default=(), max_length=MOST_PEOPLE)
    needs: tuple[Need, ...] = Field(min_length=1, max_length=400)
    rules: Rules = Rules()
    fixed: tuple[Assigned, ...] = Field(default=(), max_length=20_000)
    before: tuple[Assigned, ...] = Field(default=(), max_length=5_000)
    effort: float = Field(default=4, gt=0, le=600)

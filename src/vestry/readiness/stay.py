"""The question that a forecast answers, as a file: a stay, who works in it, in what, and what is on the shelf.

Numbers only; nothing here knows a clock. Hours count from `starts`, which is a whole hour. What a unit leaves out is
taken from the planning figures (vestry.trade.staying), and the answer says which were.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import Field

from vestry.sequence import Plan
from vestry.stock import MOST_LEAD_HOURS
from vestry.trade.values import Id, Value

Count = Annotated[int, Field(ge=0, le=1_000_000)]
Size = Annotated[str, Field(min_length=1, max_length=40)]
Minutes = Annotated[float, Field(gt=0, le=1440)]
LeadHours = Annotated[int, Field(ge=0, le=MOST_LEAD_HOURS)]
Share = Annotated[float, Field(ge=0, lt=1)]
HourRange = tuple[Annotated[int, Field(ge=0, le=10_000)], Annotated[int, Field(ge=0, le=10_000)]]
Team = Literal["each-exit", "each-shift", "not-counted"]

MOST_HOURS = 90 * 24
WORN_TO_WORK = ("scrubs", "washable-shoes", "washable-boots")


class Shift(Value):
    """A shift of every day: the hour of the day at which it begins, and how many hours it lasts."""

    id: Id
    from_hour: int = Field(ge=0, le=23)
    hours: int = Field(ge=1, le=24)


MOST_PEOPLE, MOST_ALIKE = 500, 200


class Person(Value):
    """Somebody who works in this stay, or several alike. No names: `id` is a label.

    may      groups of work that they may do (`by` of a work; `observer`, `assistant`)
    shifts   shifts that they are on
    sizes    size by item id, or by kind of item; what comes in one size need not be named
    """

    id: Id
    count: int = Field(default=1, ge=1, le=MOST_ALIKE)
    may: tuple[Id, ...] = Field(min_length=1)
    shifts: tuple[Id, ...] = Field(min_length=1)
    sizes: dict[Id, Size] = Field(default_factory=dict)


class Ensemble(Value):
    """What an entry puts on: a whole plan, or its items, each as often as it is put on (gloves: pairs).

    wearer      fresh gloves of the way out included
    observer    what the observer of one exit puts on; assistant likewise
    stream      waste stream of what is thrown away; with a plan: as its steps say
    """

    id: Id
    plan: Plan | None = None
    wearer: tuple[Id, ...] = ()
    observer: tuple[Id, ...] = ()
    assistant: tuple[Id, ...] = ()
    stream: Id = "infectious-lined"


class Work(Value):
    """Work inside, in one ensemble, by one group of people.

    inside           people inside at all times, relieved when their minutes are over
    hours_a_day      for so many hours of each day of the stay, from its start
    regular_a_day    besides: visits a day at even distance, one person each
    extra_a_day      besides: entries at random, on average so many a day
    minutes_inside   the longest time inside; with a plan: its limit when nothing is said
    """

    id: Id
    ensemble: Id
    by: Id
    inside: int = Field(default=0, ge=0, le=12)
    hours_a_day: float = Field(default=24, gt=0, le=24)
    regular_a_day: int = Field(default=0, ge=0, le=96)
    extra_a_day: float = Field(default=0, ge=0, le=96)
    minutes_inside: Minutes | None = None


class StockLot(Value):
    """What is on the shelf of one item in one size, of one lot. Usable through the day of expiry; none: no expiry."""

    item: Id
    size: Size = "one-size"
    lot: str | None = Field(default=None, max_length=80)
    count: Count
    expires: date | None = None


class Delivery(Value):
    """What has been ordered: it comes at some hour in this range, each as likely."""

    item: Id
    size: Size = "one-size"
    count: Count
    arrives_hours: HourRange
    expires: date | None = None


class Reserve(Value):
    """So many are kept back and not used in this stay."""

    item: Id
    size: Size = "one-size"
    count: Count


class Again(Value):
    """What is cleaned and used again: hours from when it is put on until it is ready again."""

    item: Id
    hours: int = Field(ge=1, le=2160)


class Rates(Value):
    """Damage and changes; what is left out comes from the planning figures.

    damage_per_piece      chance that a piece is found damaged before it goes on, and another is taken
    damaged_a_day         instead: damaged pieces a day of all kinds; spread over the pieces that are put on
    glove_changes_an_hour outer pairs changed for each hour that a wearer is inside, at random
    """

    damage_per_piece: Share | None = None
    damaged_a_day: float | None = Field(default=None, ge=0, le=1000)
    glove_changes_an_hour: float | None = Field(default=None, ge=0, le=60)


class Times(Value):
    """Minutes of an entry besides those inside; what is left out comes from the planning figures."""

    don: Minutes | None = None
    doff: Minutes | None = None
    rest: Annotated[float, Field(ge=0, le=1440)] | None = None


class Stay(Value):
    """Everything that a forecast is asked.

    hours            how long the unit is to last, in hours
    transfer_hours   the patient leaves at some hour in this range, each as likely; nothing is needed after it
    team             observer and assistant dress anew for each exit, once a shift, or are not counted
    not_counted      items worn to work or always at hand: no stock is kept of them
    drawn_from       item to the item on the shelf that serves as it: fresh gloves may be any gloves of the unit
    lead_hours       from an order to its delivery, of what has no time of its own in `lead_times`
    lead_times       item to its own
    target           the chance that is called enough
    """

    format_version: Literal[1] = 1
    title: str = Field(default="", max_length=200)
    starts: datetime
    hours: int = Field(ge=1, le=MOST_HOURS)
    transfer_hours: HourRange | None = None
    shifts: tuple[Shift, ...] = Field(min_length=1, max_length=12)
    people: tuple[Person, ...] = Field(default=(), max_length=MOST_PEOPLE)
    ensembles: tuple[Ensemble, ...] = Field(min_length=1, max_length=20)
    work: tuple[Work, ...] = Field(min_length=1, max_length=40)
    team: Team = "each-exit"
    stock: tuple[StockLot, ...] = Field(default=(), max_length=5000)
    deliveries: tuple[Delivery, ...] = Field(default=(), max_length=500)
    reserves: tuple[Reserve, ...] = Field(default=(), max_length=500)
    again: tuple[Again, ...] = Field(default=(), max_length=100)
    not_counted: tuple[Id, ...] = WORN_TO_WORK
    drawn_from: dict[Id, Id] = Field(default_factory=dict)
    rates: Rates = Rates()
    minutes: Times = Times()
    lead_hours: LeadHours | None = None
    lead_times: dict[Id, LeadHours] = Field(default_factory=dict, max_length=1000)
    target: float = Field(default=0.95, gt=0, lt=1)
    draws: int = Field(default=1000, ge=100, le=20_000)
    seed: int = Field(default=1, ge=0, lt=2**63)

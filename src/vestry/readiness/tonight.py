"""Could this hospital take this patient tonight, and for how many hours: the values of the question and of its answer.

An answer is a chain of links: a procedure in force, people who can go in, observe and assist, a team of different
people, a roster that was taken, practice, things in their sizes and their reserves, powered units, a room,
disinfectant, bags and containers for waste. The weakest comes first. Ids and numbers; no words.
"""

from __future__ import annotations

import datetime
from functools import cached_property
from typing import Any, Literal

from pydantic import Field

from vestry.sequence.case import Task
from vestry.trade.values import Id, Presentation, Value

Topic = Literal[
    "procedure",
    "wearer",
    "observer",
    "assistant",
    "team",
    "roster",
    "practice",
    "stock",
    "reserve",
    "powered-unit",
    "room",
    "disinfectant",
    "concentrate",
    "waste-bag",
    "waste-container",
]
State = Literal["ready", "watch", "not-ready"]
STATES: tuple[State, ...] = ("not-ready", "watch", "ready")
HORIZON = 30
"""Days that are looked ahead."""


class TeamNeed(Value):
    """The unit's minimum on one shift, and how long a shift is. The defaults are judgement; a unit sets its own.

    wearer, observer, assistant    different people; a second wearer is the first one's relief
    shift_hours                    who worked one shift does not work the next
    practised_months               practice counts for so long
    """

    wearer: int = Field(default=2, ge=1, le=20)
    observer: int = Field(default=1, ge=0, le=20)
    assistant: int = Field(default=1, ge=0, le=20)
    shift_hours: int = Field(default=12, ge=1, le=24)
    practised_months: int = Field(default=3, ge=1, le=60)

    def teams(self, hours: int) -> int:
        """How many teams of different people so many hours take: one a shift, as many as a day has shifts."""
        shifts_a_day = -(-24 // self.shift_hours)
        return min(-(-hours // self.shift_hours), max(2, shifts_a_day))


class Question(Value):
    """For which hazard, from which day, for how many hours; whatever of these presentations comes."""

    hazard: Id
    on: datetime.date
    hours: int = Field(default=24, ge=1, le=90 * 24)
    presentations: tuple[Presentation, ...] = Field(default=("dry", "wet"), min_length=1)
    tasks: tuple[Task, ...] = Field(default=("care",), min_length=1)


class Why(Value):
    """One reason. Of an item, a size, a number, a day; `at`: the moment at which it is expected to be over."""

    id: Id
    item: str | None = None
    size: str | None = None
    count: int | None = None
    on: datetime.date | None = None
    at: datetime.datetime | None = None


class Mend(Value):
    """What would mend it. `person`: the key of the register, for those who may see it.

    topic         of a supply, what is ordered or borrowed
    by_hour       hour of the stay by which it has to be there
    order_by      hour of the stay by which it has to be ordered; None: now, or it is no order
    lead_hours    hours from an order to its delivery
    lead_kept     whether the unit keeps that time; else it is the planning figure, a judgement
    """

    id: Id
    item: str | None = None
    size: str | None = None
    person: str | None = None
    count: int | None = None
    topic: Topic | None = None
    by_hour: int | None = None
    order_by: int | None = None
    lead_hours: int | None = None
    lead_kept: bool | None = None


class Link(Value):
    """One thing that the answer hangs on.

    subject        procedure, item, room or unit; empty where the topic says it all
    presentations  for which of them it is needed
    have, need     people, pieces, units or rooms; of containers for waste litres
    until          the last day on which it stands as now if nothing is done; None: past the horizon
    then           what it turns to the day after
    runs_out       of stock that does not last: the hour of the stay at which it is first lacking in half of the
                   simulated stays, None: in fewer; `runs_out_early`: the hour by which it is in 5 of 100
    """

    topic: Topic
    subject: str = ""
    size: str | None = None
    presentations: tuple[Presentation, ...]
    state: State
    have: int | None = None
    need: int | None = None
    until: datetime.date | None = None
    then: State | None = None
    runs_out: int | None = None
    runs_out_early: int | None = None
    why: tuple[Why, ...] = ()
    mend: tuple[Mend, ...] = ()

    @cached_property
    def name(self) -> str:
        """Topic, subject and size as one word, the same from day to day."""
        return "/".join(filter(None, (self.topic, self.subject, self.size)))


class Day(Value):
    """One day ahead: the state if nothing is done until then, and the links that are not ready."""

    on: datetime.date
    state: State
    failing: tuple[str, ...] = ()


class Cover(Value):
    """How long it lasts, by the forecast. Hours; `asked` is where the forecast ends.

    low, middle, high    in 5, 50 and 95 of 100 simulated stays it lasts no longer than that
    sustains             share of simulated stays that last to the end; error: its Monte Carlo error
    first                item and size that is first to run out most often; None: nothing runs out
    """

    asked: int
    low: float
    middle: float
    high: float
    sustains: float
    low_sustains: float
    high_sustains: float
    first: tuple[str, str] | None = None
    people_enough: bool = True
    draws: int
    seed: int


class Tonight(Value):
    """The answer.

    state      ready when no link is not ready; watch when something wants to be looked at; else not-ready
    links      weakest first
    cover      None: no forecast could be made, and why stands in `no_cover`
    days       today and the next thirty
    """

    format_version: Literal[1] = 1
    question: Question
    team: TeamNeed
    state: State
    cover: Cover | None = None
    no_cover: tuple[Why, ...] = ()
    links: tuple[Link, ...]
    days: tuple[Day, ...]

    @property
    def ready(self) -> bool:
        """Whether the hospital could take this patient tonight for the hours asked."""
        return self.state != "not-ready"

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return dict(self.model_dump(mode="json", by_alias=True))

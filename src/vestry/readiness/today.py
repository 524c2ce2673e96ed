"""What the links of one day are judged from, and what questions of the same day share of them."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field

from vestry.people.values import Duty
from vestry.readiness.going import Answers
from vestry.readiness.here import Here
from vestry.readiness.shelving import Used
from vestry.readiness.tonight import Link, Question, State, TeamNeed
from vestry.trade.standards import Standards
from vestry.trade.values import Presentation

DUTIES: tuple[Duty, ...] = ("wearer", "observer", "assistant")
RANKS: Mapping[State, int] = {"not-ready": 0, "watch": 1, "ready": 2}


class Kept:
    """Links that hang on a procedure, the hours and the day, and on no hazard: judged for one question, used by all."""

    def __init__(self) -> None:
        self._by_day: dict[Hashable, dict[datetime.date, tuple[Link, ...]]] = {}
        self._joined: dict[tuple[int, int, int], tuple[Link, Link, Link]] = {}

    def days(self, of: Hashable) -> dict[datetime.date, tuple[Link, ...]]:
        """Day to links, for everything that these links hang on. It is looked up once for all days of a question."""
        return self._by_day.setdefault(of, {})

    def joined(self, one: Link, other: Link, hours: int, join: Callable[[Link, Link, int], Link]) -> Link:
        """What the same two links come to together."""
        # By identity, which holds as long as both are held here.
        name = id(one), id(other), hours
        if name not in self._joined:
            self._joined[name] = (one, other, join(one, other, hours))
        return self._joined[name][2]


@dataclass(frozen=True, eq=False)
class Today:
    """Everything that the links of one day are judged from. `may`: presentation and duty to everyone's answer.

    doffings sets taken off in the stay; None where that is not known
    kept     links of other questions that may be used again
    by_air   whether the hazard goes through the air, or that is not known, or a task makes aerosol
    """

    question: Question
    here: Here
    team: TeamNeed
    day: datetime.date
    may: Mapping[tuple[Presentation, Duty], Answers]
    used: Mapping[Presentation, tuple[Used, ...]]
    powered: Mapping[Presentation, tuple[str, ...]]
    by_air: bool
    standards: Standards
    doffings: float | None = None
    kept: Kept = field(default_factory=Kept)

    def order_is_late(self, item: str | None) -> bool:
        """Whether what is ordered now is not there on the day."""
        return 24 * (self.day - self.question.on).days < self.here.lead_times.of(item).hours

    @property
    def teams(self) -> int:
        """How many teams of different people the hours take."""
        return self.team.teams(self.question.hours)


def rank(state: State) -> int:
    """Worst first."""
    return RANKS[state]


def slack(link: Link, hours: int) -> tuple[float, int]:
    """How far a link holds: have over need, and for what runs out its hour over the hours asked; then the early hour.

    A link without numbers counts as just enough.
    """
    if link.runs_out_early is not None:
        return (hours if link.runs_out is None else link.runs_out) / hours, link.runs_out_early
    if link.have is None or not link.need:
        return 1.0, hours
    return link.have / link.need, hours

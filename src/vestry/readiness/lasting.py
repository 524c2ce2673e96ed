"""How long it lasts along each procedure that the question may need, and what the stay takes from the shelf."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field

from vestry.people import May, Need, need_of
from vestry.people.values import Duty
from vestry.readiness.forecast import forecast
from vestry.readiness.going import Answers, Going
from vestry.readiness.here import Here, ProcedureHere
from vestry.readiness.shelving import Used
from vestry.readiness.stay_checks import checked
from vestry.readiness.stay_here import cover_of, stay_for, used_by
from vestry.readiness.today import DUTIES, Kept
from vestry.readiness.tonight import HORIZON, Cover, Question, TeamNeed, Why
from vestry.trade import Catalogue
from vestry.trade.standards import Standards
from vestry.trade.values import Presentation


@dataclass
class Memory:
    """What questions of the same day, people and shelf share: who may go in, and how long a procedure lasts.

    links    what of the links does not hang on the hazard
    """

    answers: dict[Need, list[Answers]] = field(default_factory=dict)
    going: Going | None = None
    links: Kept = field(default_factory=Kept)
    lasts: dict[tuple[str | None, int], tuple[tuple[Used, ...], Cover | None, float]] = field(default_factory=dict)


@dataclass(frozen=True)
class Lasting:
    """By presentation what is used; of the procedures the shorter cover; or why there is none.

    doffings   sets taken off in the stay, of the procedure with the most; None: no forecast could be made
    """

    used: Mapping[Presentation, tuple[Used, ...]]
    cover: Cover | None
    no_cover: tuple[Why, ...]
    doffings: float | None = None


def lasting(
    question: Question,
    here: Here,
    team: TeamNeed,
    starts: datetime.datetime,
    catalogue: Catalogue,
    standards: Standards,
    memory: Memory,
) -> Lasting:
    """Forecast a stay along each procedure of the question; `starts` is a whole hour of the day asked."""
    used: dict[Presentation, tuple[Used, ...]] = {}
    covers: list[Cover] = []
    doffings: list[float] = []
    why: list[Why] = []
    for one in here.procedures:
        if one.plan is None:
            why.append(Why(id="no-forecast-without-procedure"))
            continue
        key = (one.slug, question.hours)
        if key not in memory.lasts:
            memory.lasts[key] = _along(question, one, here, team, starts, catalogue, standards, memory)
        used[one.presentation], cover, doffed = memory.lasts[key]
        if cover is None:
            why.append(Why(id="no-forecast-without-people"))
        else:
            covers.append(cover)
            doffings.append(doffed)
    shortest = min(covers, key=lambda one: (one.middle, one.low, one.sustains), default=None)
    return Lasting(used, shortest, () if shortest else tuple(dict.fromkeys(why)), max(doffings, default=None))


def answers_of(
    need: Need, question: Question, here: Here, catalogue: Catalogue, standards: Standards, memory: Memory
) -> list[Answers]:
    """Everyone's answer for this need, on the day asked and each of the days ahead; asked once."""
    if need not in memory.answers:
        if memory.going is None:
            memory.going = Going(here, question.on, HORIZON, catalogue, standards)
        memory.answers[need] = memory.going.ahead(need)
    return memory.answers[need]


def _along(
    question: Question,
    one: ProcedureHere,
    here: Here,
    team: TeamNeed,
    starts: datetime.datetime,
    catalogue: Catalogue,
    standards: Standards,
    memory: Memory,
) -> tuple[tuple[Used, ...], Cover | None, float]:
    assert one.plan is not None, "asked only where there is one"
    may: dict[Duty, Mapping[str, May]] = {
        duty: answers_of(need_of(one.plan, catalogue, duty, one.slug), question, here, catalogue, standards, memory)[0]
        for duty in DUTIES
    }
    stay = stay_for(question, one, here, team, may, starts, catalogue, standards)
    if stay is None:
        return (), None, 0.0
    found = forecast(checked(stay, catalogue, "the registers", {}), catalogue, proposals=False)
    return used_by(found), cover_of(found), found.doffings.value * question.hours / 24

"""Could this hospital take this patient tonight: every link judged today and on each of the days ahead."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from vestry.people import need_of
from vestry.people.values import Duty
from vestry.readiness.going import ONE_DAY, Answers
from vestry.readiness.here import Here
from vestry.readiness.lasting import Lasting, Memory, answers_of
from vestry.readiness.links import links_on, shared_days, supplied_days
from vestry.readiness.today import DUTIES, Today, rank, slack
from vestry.readiness.tonight import HORIZON, Day, Link, Question, State, TeamNeed, Tonight
from vestry.room.air import relevance
from vestry.trade import Catalogue
from vestry.trade.shelf import powered_kinds
from vestry.trade.standards import Standards
from vestry.trade.values import Presentation


def tonight(
    question: Question,
    here: Here,
    catalogue: Catalogue,
    standards: Standards,
    *,
    team: TeamNeed = TeamNeed(),  # noqa: B008  frozen
    lasts: Lasting | None = None,
    memory: Memory | None = None,
) -> Tonight:
    """Judge every link on the day asked and on each of the thirty after it, if nothing is done until then.

    lasts     how long it lasts (`lasting`); without it no link of stock is judged
    memory    what further questions of the same day, people and shelf may use again
    """
    memory = memory or Memory()
    answers = _answers(question, here, catalogue, standards, memory)
    powered = {
        one.presentation: tuple(
            item for item in (one.plan.worn if one.plan else ()) if catalogue.items[item].kind in powered_kinds()
        )
        for one in here.procedures
    }
    aerosol = "aerosol-generating" in question.tasks
    by_air = relevance(catalogue.hazards[question.hazard], aerosol).answer != "not-by-air"
    days = [
        Today(
            question=question,
            here=here,
            team=team,
            day=question.on + ONE_DAY * n,
            may={key: days[n] for key, days in answers.items()},
            used=lasts.used if lasts else {},
            powered=powered,
            by_air=by_air,
            standards=standards,
            doffings=lasts.doffings if lasts else None,
            kept=memory.links,
        )
        for n in range(HORIZON + 1)
    ]
    shared, supplied = shared_days(days[0]), supplied_days(days[0])
    by_day = [links_on(today, shared, supplied) for today in days]
    links = _with_ends(by_day, question)
    return Tonight(
        question=question,
        team=team,
        state=_state(links),
        cover=lasts.cover if lasts else None,
        no_cover=lasts.no_cover if lasts else (),
        links=links,
        days=tuple(_day(day, question.on + ONE_DAY * n) for n, day in enumerate(by_day)),
    )


def _answers(
    question: Question, here: Here, catalogue: Catalogue, standards: Standards, memory: Memory
) -> Mapping[tuple[Presentation, Duty], list[Answers]]:
    return {
        (one.presentation, duty): answers_of(
            need_of(one.plan, catalogue, duty, one.slug), question, here, catalogue, standards, memory
        )
        for one in here.procedures
        if one.plan is not None
        for duty in DUTIES
    }


def _with_ends(by_day: list[tuple[Link, ...]], question: Question) -> tuple[Link, ...]:
    """Today's links, each with the last day on which it stands no worse than now; weakest first."""
    later = [{link.name: link for link in day} for day in by_day]
    found = []
    for link in by_day[0]:
        worse = next((n for n, day in enumerate(later) if rank(day[link.name].state) < rank(link.state)), None)
        if worse is not None:
            turned = later[worse][link.name]
            link = link.model_copy(
                update={
                    "until": question.on + ONE_DAY * (worse - 1),
                    "then": turned.state,
                    "why": link.why or turned.why,
                    "mend": link.mend or turned.mend,
                }
            )
        found.append(link)
    return tuple(sorted(found, key=lambda link: _weakest(link, question.hours)))


def _weakest(link: Link, hours: int) -> tuple[int, datetime.date, tuple[float, int], str]:
    return (rank(link.state), link.until or datetime.date.max, slack(link, hours), link.name)


def _state(links: tuple[Link, ...]) -> State:
    return min((link.state for link in links), key=rank, default="not-ready")


def _day(links: tuple[Link, ...], on: datetime.date) -> Day:
    return Day(on=on, state=_state(links), failing=tuple(link.name for link in links if link.state == "not-ready"))

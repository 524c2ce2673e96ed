"""The links of the answer on one day: each is judged alone, from what the hospital has on that day."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping

from vestry.readiness.here import ProcedureHere
from vestry.readiness.links_of_people import duty_links, practice, roster
from vestry.readiness.links_of_things import room, things
from vestry.readiness.supplying import supply_links
from vestry.readiness.today import Today, rank, slack
from vestry.readiness.tonight import Link, Mend, Why
from vestry.trade.values import Presentation

ByDay = dict[datetime.date, tuple[Link, ...]]


def links_on(today: Today, shared: Mapping[Presentation, ByDay], supplied: ByDay) -> tuple[Link, ...]:
    """All links of a day; the same link for both presentations is one.

    shared      `shared_days` of the question
    supplied    `supplied_days`
    """
    found: dict[str, Link] = {}
    hours = today.question.hours
    for one in today.here.procedures:
        for link in (*_procedure(one, today), *_along(one, today, shared.get(one.presentation))):
            known = found.get(link.name)
            found[link.name] = link if known is None else today.kept.joined(known, link, hours, _joined)
    if today.day not in supplied:
        supplied[today.day] = tuple(supply_links(today.question, today.here, today.day, today.doffings))
    for link in (*roster(today), *room(today), *supplied[today.day]):
        found[link.name] = link
    return tuple(found.values())


def shared_days(today: Today) -> dict[Presentation, ByDay]:
    """By presentation, for the days that are judged already, the links that other questions have too."""
    asked = today.question
    return {
        one.presentation: today.kept.days(
            (one.slug, one.version, one.presentation, asked.on, asked.hours, today.team, today.used[one.presentation])
        )
        for one in today.here.procedures
        if one.plan is not None and one.presentation in today.used
    }


def supplied_days(today: Today) -> ByDay:
    """The same of supplies."""
    asked = today.question
    return today.kept.days(("supplies", asked.presentations, asked.on, asked.hours, today.doffings))


def _along(one: ProcedureHere, today: Today, shared: ByDay | None) -> tuple[Link, ...]:
    """People and things along a procedure: for whichever hazard it is taken, they are the same."""
    if shared is None:
        return (*duty_links(one, today), *things(one, today))
    if today.day not in shared:
        shared[today.day] = (*duty_links(one, today), *things(one, today))
    return shared[today.day]


def _joined(one: Link, other: Link, hours: int) -> Link:
    worse = min(one, other, key=lambda link: (rank(link.state), slack(link, hours)))
    presentations = tuple(dict.fromkeys((*one.presentations, *other.presentations)))
    return worse.model_copy(update={"presentations": presentations})


def _procedure(one: ProcedureHere, today: Today) -> Iterator[Link]:
    there = (one.presentation,)
    if one.slug is None or one.plan is None:
        yield Link(
            topic="procedure",
            presentations=there,
            state="not-ready",
            why=tuple(Why(id=trouble) for trouble in one.hard) or (Why(id="no-procedure"),),
            mend=(Mend(id="name-a-procedure"),),
        )
        return
    soft = [Why(id=trouble) for trouble in one.soft if trouble != "review-due"]
    if one.review_on is not None and one.review_on <= today.day:
        soft.append(Why(id="review-due", on=one.review_on))
    hard = [Why(id=trouble) for trouble in one.hard]
    yield Link(
        topic="procedure",
        subject=one.slug,
        presentations=there,
        state="not-ready" if hard else "watch" if soft else "ready",
        why=(*hard, *soft),
        mend=_mends_of_procedure(hard, soft),
    )
    yield practice(one, today)


def _mends_of_procedure(hard: list[Why], soft: list[Why]) -> tuple[Mend, ...]:
    if hard:
        return (Mend(id="name-another-procedure"),)
    return tuple(Mend(id="review" if one.id == "review-due" else "assure-again") for one in soft)[:1]

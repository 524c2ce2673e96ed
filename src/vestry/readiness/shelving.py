"""Links of the shelf: whether each item in a size lasts for the hours asked, when it runs out, what would mend it."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from vestry.readiness.here import Here
from vestry.readiness.ordering import Wanting, orders_in_time
from vestry.readiness.tonight import Link, Mend, Question, Why
from vestry.sequence import Plan
from vestry.stock.using import put_on
from vestry.trade.values import Presentation


@dataclass(frozen=True)
class Used:
    """What the stay asked for takes of an item in a size: the forecast's mean, and whether it lasts often enough.

    out      hour of the stay at which it is first lacking in half of the simulated stays; None: in fewer than half
    early    hour by which it is first lacking in 5 of 100; None: not known, or it lasts often enough
    lacking_by   pieces wanted before an order of now is there, and before one placed then is; None: not known
    """

    item: str
    size: str
    pieces: int
    lasts: bool
    out: int | None = None
    early: int | None = None
    lacking_by: tuple[int, int] | None = None


def stock_links(
    question: Question,
    here: Here,
    day: datetime.date,
    presentation: Presentation,
    used: Iterable[Used],
) -> Iterator[Link]:
    """One link for each item in a size that a stay from `day` takes."""
    last = day + datetime.timedelta(days=math.ceil(question.hours / 24) - 1)
    for one in used:
        have = here.usable(one.item, one.size, day, last)
        # The forecast speaks for the first day, deliveries included; a later day is worse only by what expires.
        first = here.usable(one.item, one.size, question.on, last - (day - question.on))
        enough = one.lasts and have >= min(one.pieces, first)
        wanting = max(1, one.pieces - have)
        yield Link(
            topic="stock",
            subject=one.item,
            size=one.size,
            presentations=(presentation,),
            state="ready" if enough else "not-ready",
            have=have,
            need=one.pieces,
            runs_out=None if one.lasts else one.out,
            runs_out_early=None if one.lasts else one.early,
            why=() if enough else (Why(id="runs-out", item=one.item, size=one.size, count=wanting),),
            mend=() if enough else _mends(one, wanting, (day - question.on).days, here, question.hours),
        )


def reserve_links(here: Here, day: datetime.date, presentation: Presentation, plan: Plan) -> Iterator[Link]:
    """One link for each reserve of what anybody of the plan puts on. Below it is to be looked at, and no more.

    A stay uses reserves up like all else: what is wanting to one does not shorten it. Of powered units no lots are
    kept, so a reserve of theirs is not held against the shelf.
    """
    steps = [*plan.steps, *(step for member in plan.team for step in member.steps)]
    worn = {item for step in steps for item in put_on(step)} - {unit.item for unit, _ in here.units}
    for one in here.reserves:
        if one.item not in worn:
            continue
        have = here.usable(one.item, one.size, day, day)
        wanting = one.least - have
        yield Link(
            topic="reserve",
            subject=one.item,
            size=one.size,
            presentations=(presentation,),
            state="watch" if wanting > 0 else "ready",
            have=have,
            need=one.least,
            why=(Why(id="below-the-reserve", item=one.item, size=one.size, count=wanting),) if wanting > 0 else (),
            mend=(Mend(id="order", item=one.item, size=one.size, count=wanting),) if wanting > 0 else (),
        )


def _mends(one: Used, wanting: int, days_ahead: int, here: Here, hours: int) -> tuple[Mend, ...]:
    """Orders in time, and before them what cannot wait for one."""
    order = Mend(id="order", item=one.item, size=one.size, count=wanting)
    if one.lasts or one.early is None:  # it lasts today and expires ahead, or no forecast says when it runs out
        return (order,)
    lead, early = here.lead_times.of(one.item), 24 * days_ahead + one.early
    before, until_next = one.lacking_by or (wanting, wanting)
    return orders_in_time(order, Wanting(before, until_next, wanting, early), lead, 24 * days_ahead + hours)

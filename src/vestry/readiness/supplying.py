"""What a stay takes besides what is worn: disinfectant, concentrate to make it from, bags and containers for waste.

Nothing here is simulated. Of concentrate no use a day is published, so it is asked only whether there is any. Of waste
there are litres for each set taken off, which hold where the forecast says how many those are, and litres and bags of a
patient-day. Figures differ by a factor of two and more: less than the least is not enough, less than the greatest wants
to be looked at. Work at several places or several patients is not reckoned.

What the unit keeps no lot of is not known: it is said so, and never counted as there.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from vestry.readiness.here import Here, SuppliesHere
from vestry.readiness.ordering import Wanting, orders_in_time
from vestry.readiness.tonight import Link, Mend, Question, State, Topic, Why
from vestry.room.waste import Amount, amounts
from vestry.stock import LeadTime
from vestry.trade.shelf import ONE_SIZE, Supply, SupplySort, supplies


@dataclass(frozen=True)
class _Asked:
    """The question, the register and the day on which it is asked of the supplies."""

    question: Question
    here: Here
    held: SuppliesHere
    day: datetime.date

    @property
    def last(self) -> datetime.date:
        """The last day of a stay that begins on the day."""
        return self.day + datetime.timedelta(days=math.ceil(self.question.hours / 24) - 1)

    @property
    def days_ahead(self) -> int:
        """From the day of the question to the day on which it is asked."""
        return (self.day - self.question.on).days

    @property
    def hours_ahead(self) -> int:
        """The hour at which a stay ends that begins on the day, counted from the day of the question."""
        return 24 * self.days_ahead + self.question.hours

    def lead(self, kept: Iterable[Supply]) -> LeadTime:
        """Of the sorts that the unit keeps, the one that is there first."""
        return min((self.here.lead_times.of(one.id) for one in kept), key=lambda one: (one.hours, not one.kept))

    def kept(self, sort: SupplySort) -> list[Supply]:
        """What the register has ever held a lot of."""
        return [one for one in supplies().values() if one.sort == sort and one.id in self.held.kept]

    def pieces(self, one: Supply) -> int:
        """What may be used until the stay ends."""
        return self.here.usable(one.id, ONE_SIZE, self.day, self.last)


def supply_links(question: Question, here: Here, day: datetime.date, doffings: float | None = None) -> Iterator[Link]:
    """The links of supplies on a day. None where nobody was asked for supplies.

    doffings   sets taken off in the stay, by the forecast of its procedure; None: not known
    """
    if here.supplies is None:
        return
    asked = _Asked(question, here, here.supplies, day)
    yield _made_up(asked)
    yield _concentrate(asked)
    known = here.supplies.operations
    by_day = amounts(known, patient_days=Fraction(question.hours, 24))
    by_set = amounts(known, doffings=Fraction(doffings)) if doffings else ()
    # By sets taken off where the plan says how many; what is published of no set is by patient-day.
    solid = {one.measure: one for one in (*by_day, *by_set) if one.of == "solid"}
    if "bags" in solid:
        yield _waste("waste-bag", asked, solid["bags"], ((one, 1) for one in asked.kept("waste-bag")))
    if "litres" in solid:
        rigid = ((one, one.litres or 0) for one in asked.kept("waste-container"))
        yield _waste("waste-container", asked, solid["litres"], rigid)


# ---- disinfectant ---------------------------------------------------------------------------------------------------


def _made_up(asked: _Asked) -> Link:
    """Whether a batch is in date; on a day ahead, whether one could be made up then."""
    first, kept = asked.day == asked.question.on, asked.kept("concentrate")
    there = sum(until >= asked.day for until in asked.held.made_up)
    could = any(asked.pieces(one) for one in kept)
    if there or (could and not first):
        return _link("disinfectant", asked, "ready", there if first else None, 1 if first else None)
    if kept and not could:
        orders = _orders_of_concentrate(asked, kept)
        return _link("disinfectant", asked, "not-ready", 0, 1, Why(id="none-to-make-up"), *orders)
    # Whether there is anything to make it from is known, or it is not: somebody has to look in either case.
    why = Why(id="none-made-up" if first else "concentrate-not-kept")
    mend = Mend(id="make-up-disinfectant" if first else "keep-in-the-register")
    return _link("disinfectant", asked, "watch", 0 if first else None, 1 if first else None, why, mend)


def _concentrate(asked: _Asked) -> Link:
    """Whether there is any that may be used for the whole stay."""
    kept = asked.kept("concentrate")
    if not kept:
        return _not_kept("concentrate", asked)
    have = sum(asked.pieces(one) for one in kept)
    if have:
        return _link("concentrate", asked, "ready", have, 1)
    orders = _orders_of_concentrate(asked, kept)
    return _link("concentrate", asked, "not-ready", 0, 1, Why(id="no-concentrate"), *orders)


def _orders_of_concentrate(asked: _Asked, kept: list[Supply]) -> tuple[Mend, ...]:
    """Some has to be there when what is made up now is thrown away; how much, nobody has published."""
    over = max((24 * (until - asked.question.on).days for until in asked.held.made_up), default=0)
    early = max(0, over, 24 * asked.days_ahead)
    told = orders_in_time(
        Mend(id="order", topic="concentrate"),
        Wanting(before=1, until_next=2, in_all=2, early=early),  # whatever comes first, an order follows it
        asked.lead(kept),
        asked.hours_ahead,
    )
    return tuple(one.model_copy(update={"count": None}) for one in told)


# ---- waste ----------------------------------------------------------------------------------------------------------


def _waste(topic: Topic, asked: _Asked, amount: Amount, kept: Iterable[tuple[Supply, int]]) -> Link:
    """Against the least and the greatest figure published: bags in pieces, containers in litres."""
    rows = list(kept)
    if not rows:
        return _not_kept(topic, asked)
    have = sum(asked.pieces(one) * holds for one, holds in rows)
    least, most = math.ceil(amount.low), math.ceil(amount.high)
    if have >= most:
        return _link(topic, asked, "ready", have, most)
    orders = _orders_of_waste(topic, asked, amount.high, have, asked.lead([one for one, _ in rows]))
    if have >= least:
        return _link(topic, asked, "watch", have, most, Why(id="below-the-most-published"), *orders)
    return _link(topic, asked, "not-ready", have, most, Why(id="below-the-least-published", count=least), *orders)


def _orders_of_waste(topic: Topic, asked: _Asked, amount: Fraction, have: int, lead: LeadTime) -> tuple[Mend, ...]:
    """Filled hour by hour at the greatest rate published."""
    hours, start = asked.question.hours, 24 * asked.days_ahead

    def wanted(until: int) -> int:
        """Before this hour, from the day of the question on."""
        return max(0, math.ceil(amount * min(max(0, until - start), hours) / hours) - have)

    early = start + math.floor(have * hours / amount)
    wanting = Wanting(wanted(lead.hours), wanted(2 * lead.hours), wanted(start + hours), early)
    return orders_in_time(Mend(id="order", topic=topic), wanting, lead, asked.hours_ahead)


def _not_kept(topic: Topic, asked: _Asked) -> Link:
    return _link(topic, asked, "watch", None, None, Why(id="not-in-the-register"), Mend(id="keep-in-the-register"))


def _link(
    topic: Topic,
    asked: _Asked,
    state: State,
    have: int | None = None,
    need: int | None = None,
    why: Why | None = None,
    *mend: Mend,
) -> Link:
    return Link(
        topic=topic,
        presentations=asked.question.presentations,
        state=state,
        have=have,
        need=need,
        why=(why,) if why else (),
        mend=mend,
    )

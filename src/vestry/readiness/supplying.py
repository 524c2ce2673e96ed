"""What a stay takes besides what is worn: disinfectant, concentrate to make it from, bags and containers for waste.

Nothing here is simulated. Of concentrate no use a day is published, so it is asked only whether there is any. Bags and
litres of waste a patient-day are published, and differ by a factor of two and more: less than the least figure is not
enough, less than the greatest wants to be looked at. Work at several places or several patients is not reckoned.

What the unit keeps no lot of is not known: it is said so, and never counted as there.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from vestry.readiness.here import Here, SuppliesHere
from vestry.readiness.tonight import Link, Mend, Question, State, Topic, Why
from vestry.room.waste import Amount, amounts
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

    def kept(self, sort: SupplySort) -> list[Supply]:
        """What the register has ever held a lot of."""
        return [one for one in supplies().values() if one.sort == sort and one.id in self.held.kept]

    def pieces(self, one: Supply) -> int:
        """What may be used until the stay ends."""
        return self.here.usable(one.id, ONE_SIZE, self.day, self.last)


def supply_links(question: Question, here: Here, day: datetime.date) -> Iterator[Link]:
    """The links of supplies on a day. None where nobody was asked for supplies."""
    if here.supplies is None:
        return
    asked = _Asked(question, here, here.supplies, day)
    yield _made_up(asked)
    yield _concentrate(asked)
    found = amounts(here.supplies.operations, patient_days=Fraction(question.hours, 24))
    solid = {one.measure: one for one in found if one.of == "solid"}
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
        order = Mend(id="order-concentrate")
        return _link("disinfectant", asked, "not-ready", 0, 1, Why(id="none-to-make-up"), order)
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
    return _link("concentrate", asked, "not-ready", 0, 1, Why(id="no-concentrate"), Mend(id="order-concentrate"))


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
    order = Mend(id=f"order-{topic}", count=most - have)
    if have >= least:
        return _link(topic, asked, "watch", have, most, Why(id="below-the-most-published"), order)
    return _link(topic, asked, "not-ready", have, most, Why(id="below-the-least-published", count=least), order)


def _not_kept(topic: Topic, asked: _Asked) -> Link:
    return _link(topic, asked, "watch", why=Why(id="not-in-the-register"), mend=Mend(id="keep-in-the-register"))


def _link(
    topic: Topic,
    asked: _Asked,
    state: State,
    have: int | None = None,
    need: int | None = None,
    why: Why | None = None,
    mend: Mend | None = None,
) -> Link:
    return Link(
        topic=topic,
        presentations=asked.question.presentations,
        state=state,
        have=have,
        need=need,
        why=(why,) if why else (),
        mend=(mend,) if mend else (),
    )

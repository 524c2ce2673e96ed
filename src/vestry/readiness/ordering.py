"""What has to come besides, in time: what cannot wait for an order, what to order now, what to order later.

An order of now is there after the lead time, and one that is placed then after twice that. What is wanted before the
first has to be had otherwise; what is wanted before the second is ordered now; the rest may be ordered when the first
comes. Together they are all that is wanted to the end of the stay.
"""

from __future__ import annotations

from dataclasses import dataclass

from vestry.readiness.tonight import Mend
from vestry.stock import LeadTime


@dataclass(frozen=True)
class Wanting:
    """Pieces that are wanted before an order of now is there, before the next one is, and in all; and from when on.

    early   the hour of the stay by which it is first lacking
    """

    before: int
    until_next: int
    in_all: int
    early: int


def orders_in_time(order: Mend, wanting: Wanting, lead: LeadTime, hours: int) -> tuple[Mend, ...]:
    """The mends of one thing, soonest first; `order` says of what, and is taken for what is ordered now.

    hours   the hours of the stay: an order that comes after them is none
    """
    first, second = lead.hours, 2 * lead.hours
    in_all = wanting.in_all
    before = 0 if wanting.early >= first else in_all if first >= hours else min(in_all, max(1, wanting.before))
    until_next = in_all if second >= hours or not first else min(in_all, max(before, wanting.until_next))
    if until_next == 0 or wanting.early >= second:  # nothing is wanted soon: one order does
        until_next = in_all
    told = {"lead_hours": lead.hours, "lead_kept": lead.kept}
    found = []
    if before:
        found.append(_like(order, id="order-too-late", count=before, by_hour=wanting.early, **told))
    if until_next > before:
        found.append(_like(order, count=until_next - before, by_hour=max(first, wanting.early), **told))
    if in_all > until_next:
        later = max(second, wanting.early)
        found.append(
            _like(order, id="order-later", count=in_all - until_next, by_hour=later, order_by=later - first, **told)
        )
    return tuple(found)


def _like(order: Mend, **changed: object) -> Mend:
    return order.model_copy(update=changed)

"""What was scanned onto somebody in an entry: what is to be said about it at once, and which lots are posted.

1. A lot on hold, expired, in another size or of another model than theirs, or of nothing that they wear is told.
2. A powered unit that is not ready, or of a kind that they do not wear, is told.
3. What was scanned is posted first, in the order in which it was scanned; for the rest the first to expire is assumed.
4. A scan of something that was never put on is posted nowhere.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from vestry.sequence import Plan
from vestry.stock.units import UnitState
from vestry.stock.using import Part, put_on, steps_of, used_up
from vestry.stock.values import Lot
from vestry.trade import Catalogue

Trouble = Literal["on-hold", "expired", "wrong-size", "wrong-model", "not-worn", "scanned-before", "unit-not-ready"]


def lot_troubles(
    lot: Lot,
    on: datetime.date,
    *,
    held: bool,
    worn: Collection[str],
    size: str | None = None,
    model: str | None = None,
) -> tuple[Trouble, ...]:
    """What is to be said of a lot before somebody puts it on; worst first.

    worn          items of this part of the plan
    size, model   theirs for this item; None: not known, and nothing is said of it
    """
    found: list[tuple[bool, Trouble]] = [
        (held, "on-hold"),
        (lot.expired(on), "expired"),
        (lot.item not in worn, "not-worn"),
        (size is not None and lot.size not in (size, "one-size"), "wrong-size"),
        (model is not None and lot.model not in (None, model), "wrong-model"),
    ]
    return tuple(trouble for holds, trouble in found if holds)


def unit_troubles(state: UnitState, *, worn: Collection[str], before: bool) -> tuple[Trouble, ...]:
    """What is to be said of a powered unit. `before`: it is on somebody of an entry that is not over."""
    found: list[tuple[bool, Trouble]] = [
        (not state.ready, "unit-not-ready"),
        (state.unit.item not in worn, "not-worn"),
        (before, "scanned-before"),
    ]
    return tuple(trouble for holds, trouble in found if holds)


def team_use(plan: Plan, part: Part, catalogue: Catalogue) -> Mapping[str, int]:
    """What observer or assistant uses up once, by their own dressing and undressing in the plan."""
    found: Counter[str] = Counter()
    for step in steps_of(plan, part):
        found.update(put_on(step))
    return {item: count for item, count in found.items() if used_up(item, catalogue)}


@dataclass(frozen=True)
class OfLot:
    """So many of a lot that were scanned."""

    lot: str
    quantity: int


def from_scans(quantity: int, scanned: Iterable[OfLot]) -> tuple[tuple[OfLot, ...], int]:
    """Which of the scanned lots cover this use, in their order; and how many are left to be assumed.

    ValueError for a quantity below nought.
    """
    if quantity < 0:
        raise ValueError(f"nobody uses {quantity}")
    found: list[OfLot] = []
    for one in scanned:
        taken = min(quantity, one.quantity)
        if taken:
            found.append(OfLot(one.lot, taken))
            quantity -= taken
    return tuple(found), quantity

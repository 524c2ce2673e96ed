"""What an entry used is put to the ledger when it is over: once, however often it is told.

1. What is put down is what the entry's own events say was put on, changed and torn, less what was put down before.
2. Where a lot was not scanned, the first to expire in the wearer's size is taken, and marked as assumed.
3. What the shelf does not know is written down as wanting, so that it is seen and not made up.
4. A drill takes no live stock.
"""

from __future__ import annotations

import logging
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from django.utils import timezone

from vestry.entry import fold
from vestry.hospital import facts
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.record.mapper import led_of, to_value
from vestry.hospital.record.models import Entry, Event
from vestry.hospital.registers.ledger import stock_now, write
from vestry.hospital.registers.mapper import people_values
from vestry.hospital.registers.models import EntryPosting, RegisteredPerson, StockMovement
from vestry.hospital.writing import writing
from vestry.people import InSize, need_of, who_can_go_in
from vestry.stock import EntryUse, OnHand, Pick, Take, entry_use, picking, size_of
from vestry.trade import Catalogue
from vestry.trade.standards import load_standards

log = logging.getLogger("vestry.stock")
KINDS = (("worn", "used"), ("changed", "changed"), ("torn", "damaged"))
NEAREST = ("anteroom", "doffing-area", "store")


def post_quietly(entry: Entry) -> None:
    """Put it down; what goes wrong is logged and can be done again from the page of stock."""
    try:
        post(entry)
    except Exception:
        log.exception("the use of entry %s was not put to the ledger", entry.pk)


def post(entry: Entry) -> bool:
    """Put down what this entry used and was not put down yet; whether there was anything."""
    if entry.drill or entry.stage not in ("closed", "abandoned"):
        return False
    led, events = led_of(entry.version), [to_value(one) for one in Event.objects.filter(entry=entry)]
    catalogue = facts.catalogue_of(entry.version.facts)
    used = entry_use(led, fold(led, events), events, catalogue)
    worn = sizes_of_wearer(entry)
    with writing():
        left = _left(entry, used)
        first = not EntryPosting.objects.filter(entry=entry).exists()
        if not left and not first:
            return False
        there = list(stock_now(items={item for item, _ in left}).there)
        takes = {key: _take(key[0], count, worn, catalogue) for key, count in left.items()}
        wanting: list[dict[str, Any]] = []
        rows: list[StockMovement] = []
        for (item, kind), take in takes.items():
            found = picking([take], there, NEAREST)
            rows += [_row(entry, kind, one.there.lot.id, one.there.place, one.quantity) for one in found.picks]
            wanting += [
                {"item": item, "size": one.size, "kind": kind, "quantity": one.quantity} for one in found.wanting
            ]
            there = _less(there, found.picks)
        write(rows)
        EntryPosting.objects.create(entry=entry, at=timezone.now(), wanting=wanting)
    return True


def _take(item: str, count: int, worn: Mapping[str, InSize], catalogue: Catalogue) -> Take:
    sizes = {key: one.size for key, one in worn.items()}
    return Take(item, size_of(item, sizes, catalogue), count, "donning", worn[item].model if item in worn else None)


def _less(there: list[OnHand], picks: Iterable[Pick]) -> list[OnHand]:
    gone: Counter[tuple[str, str]] = Counter()
    for one in picks:
        gone[(one.there.lot.id, one.there.place)] += one.quantity
    return [replace(one, quantity=one.quantity - gone[(one.lot.id, one.place)]) for one in there]


def _left(entry: Entry, used: EntryUse) -> Counter[tuple[str, str]]:
    """(item, kind of movement) to how many are still to be put down."""
    left: Counter[tuple[str, str]] = Counter()
    for name, kind in KINDS:
        counts: Mapping[str, int] = getattr(used, name)
        left.update({(item, kind): count for item, count in counts.items()})
    for item, kind, quantity in StockMovement.objects.filter(entry=entry).values_list("lot__item", "kind", "quantity"):
        left[(item, kind)] -= quantity
    for posting in EntryPosting.objects.filter(entry=entry):
        for one in posting.wanting:
            left[(one["item"], one["kind"])] -= one["quantity"]
    return Counter({key: count for key, count in left.items() if count > 0})


def _row(entry: Entry, kind: str, lot: str, place: str, quantity: int) -> StockMovement:
    return StockMovement(
        lot_id=lot,
        kind=kind,
        quantity=quantity,
        from_place=place,
        at=timezone.now(),
        why="torn before going in" if kind == "damaged" else "",
        entry=entry,
        assumed=True,
    )


def sizes_of_wearer(entry: Entry) -> dict[str, InSize]:
    """Item to size and model of this entry's wearer, as far as the register knows."""
    person = RegisteredPerson.objects.filter(user=entry.wearer_id).first()
    if person is None:
        return {}
    catalogue = facts.catalogue_of(entry.version.facts)
    need = need_of(approved_of(entry.version_id).plan, catalogue)
    found = who_can_go_in(need, people_values([person]), None, timezone.localdate(), catalogue, load_standards())
    return {one.item: one for one in found.answers[0].sizes}


def not_posted() -> list[Entry]:
    """Entries that are over and of which nothing was put down."""
    over = Entry.objects.filter(stage__in=["closed", "abandoned"], drill=False, postings=None)
    return list(over.select_related("version", "wearer"))

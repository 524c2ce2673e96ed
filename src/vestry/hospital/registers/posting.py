"""What an entry used is put to the ledger when it is over: once, however often it is told.

1. What is put down is what the entry's own events say was put on, changed and torn, less what was put down before.
2. The lots that were scanned onto somebody come first. For the rest the first to expire in their size is taken, and
   marked as assumed.
3. Observer and assistant wear their own gear once the wearer was inside; in entries that overlap, one set.
4. What the shelf does not know is written down as wanting, so that it is seen and not made up.
5. A powered unit that was scanned and worn was used, and is to be cleaned.
6. A drill takes no live stock.
"""

from __future__ import annotations

import logging
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, get_args

from django.utils import timezone

from vestry.entry import EntryState, fold
from vestry.hospital import facts, running_facts
from vestry.hospital.access.models import User
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.record.mapper import led_of, to_value
from vestry.hospital.record.models import Entry, Event
from vestry.hospital.registers.ledger import stock_now, write
from vestry.hospital.registers.mapper import people_values
from vestry.hospital.registers.models import (
    EntryGear,
    EntryPosting,
    RegisteredPerson,
    StockMovement,
    StockUnitEvent,
)
from vestry.hospital.writing import writing
from vestry.people import InSize, need_of, who_can_go_in
from vestry.sequence import Plan
from vestry.stock import EntryUse, OfLot, OnHand, Part, Pick, Take, entry_use, from_scans, picking, size_of, team_use
from vestry.trade import Catalogue

log = logging.getLogger("vestry.stock")
KINDS = (("worn", "used"), ("changed", "changed"), ("torn", "damaged"))
NEAREST = ("anteroom", "doffing-area", "store")
PARTS: tuple[Part, ...] = get_args(Part)


@dataclass(frozen=True)
class Use:
    """Something of which some is put down: on whom, which item, as which kind of movement."""

    part: Part
    item: str
    kind: str


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
    said = list(Event.objects.filter(entry=entry))
    if any(one.salt is None for one in said):
        return False  # its content was removed: what it used was put down before, and is not told any more
    led, events = led_of(entry.version), [to_value(one) for one in said]
    catalogue, plan = facts.catalogue_of(entry.version.facts), approved_of(entry.version_id).plan
    state = fold(led, events)
    used = entry_use(led, state, events, catalogue)
    team = _team_used(entry, state, plan, catalogue)
    sizes = {part: sizes_of(entry, part) for part in PARTS}
    with writing():
        left = _left(entry, used, team)
        first = not EntryPosting.objects.filter(entry=entry).exists()
        if not left and not first:
            return False
        there = list(stock_now(items={use.item for use in left}).there)
        wanting: list[dict[str, Any]] = []
        rows: list[StockMovement] = []
        scanned = _scanned(entry)
        for use, count in left.items():
            taken, assumed = from_scans(count, scanned.get((use.part, use.item), ()))
            for one in taken:
                rows.append(_row(entry, use, one.lot, _place(one.lot, there), one.quantity, assumed=False))
                there = _less_of(there, one.lot, rows[-1].from_place, one.quantity)
            scanned[(use.part, use.item)] = _rest(scanned.get((use.part, use.item), ()), count)
            found = picking([_take(use.item, assumed, sizes[use.part], catalogue)] if assumed else [], there, NEAREST)
            rows += [
                _row(entry, use, one.there.lot.id, one.there.place, one.quantity, assumed=True) for one in found.picks
            ]
            wanting += [
                {"item": use.item, "size": one.size, "kind": use.kind, "quantity": one.quantity, "part": use.part}
                for one in found.wanting
            ]
            there = _less(there, found.picks)
        write(rows)
        _units_used(entry, used, plan)
        EntryPosting.objects.create(entry=entry, at=timezone.now(), wanting=wanting)
    return True


def _take(item: str, count: int, worn: Mapping[str, InSize], catalogue: Catalogue) -> Take:
    sizes = {key: one.size for key, one in worn.items()}
    return Take(item, size_of(item, sizes, catalogue), count, "donning", worn[item].model if item in worn else None)


def _less(there: list[OnHand], picks: Iterable[Pick]) -> list[OnHand]:
    for one in picks:
        there = _less_of(there, one.there.lot.id, one.there.place, one.quantity)
    return there


def _less_of(there: list[OnHand], lot: str, place: str, quantity: int) -> list[OnHand]:
    return [
        replace(one, quantity=one.quantity - quantity) if (one.lot.id, one.place) == (lot, place) else one
        for one in there
    ]


def _place(lot: str, there: list[OnHand]) -> str:
    """Where a scanned lot was taken from: the nearest place that has some; else the nearest of all."""
    places = [one.place for one in there if one.lot.id == lot and one.quantity > 0]
    near = {name: number for number, name in enumerate(NEAREST)}
    return min(places, key=lambda one: (near.get(one, len(near)), one), default=NEAREST[0])


def gear_of(entry: Entry) -> list[EntryGear]:
    """What was scanned in this entry and not taken back, in the order in which it was scanned."""
    return list(EntryGear.objects.filter(entry=entry, back=None).select_related("lot", "unit", "by"))


def _scanned(entry: Entry) -> dict[tuple[Part, str], tuple[OfLot, ...]]:
    """What was scanned before the use was first put down, less what of it was posted."""
    posted: Counter[tuple[str, str]] = Counter()
    for part, lot, quantity in StockMovement.objects.filter(entry=entry, assumed=False).values_list(
        "part", "lot_id", "quantity"
    ):
        posted[(part or "wearer", str(lot))] += quantity
    found: dict[tuple[Part, str], tuple[OfLot, ...]] = {}
    for row in gear_of(entry):
        if row.lot_id is None or row.late:
            continue
        gone = min(row.quantity, posted[(row.part, str(row.lot_id))])
        posted[(row.part, str(row.lot_id))] -= gone
        key: Any = (row.part, row.item)
        found[key] = (*found.get(key, ()), OfLot(str(row.lot_id), row.quantity - gone))
    return found


def _rest(scanned: Iterable[OfLot], count: int) -> tuple[OfLot, ...]:
    """What is left of the scans once so many were posted."""
    rest = []
    for one in scanned:
        taken = min(count, one.quantity)
        count -= taken
        rest.append(OfLot(one.lot, one.quantity - taken))
    return tuple(rest)


def _team_used(entry: Entry, state: EntryState, plan: Plan, catalogue: Catalogue) -> dict[Part, Mapping[str, int]]:
    """What observer and assistant used: their set, once the wearer was inside, unless another entry's was still on."""
    doffing = {step.id for step in plan.steps if step.phase == "doffing"}
    inside = state.entered_at is not None or any(one.done and one.step in doffing for one in state.steps)
    found: dict[Part, Mapping[str, int]] = {}
    there: tuple[tuple[Part, int | None], ...] = (
        ("observer", entry.observer_id),
        ("assistant", entry.assistant_id),
    )
    for part, person in there:
        if inside and person is not None and not _still_on(entry, part, person):
            found[part] = team_use(plan, part, catalogue)
    return found


def _still_on(entry: Entry, part: Part, person: Any) -> bool:
    """Whether this person wore their set for another entry that was over only after this one began."""
    same = {f"entry__{part}": person, "part": part, "at__gte": entry.created_at}
    return StockMovement.objects.filter(**same).exclude(entry=entry).exists()


def _left(entry: Entry, used: EntryUse, team: Mapping[Part, Mapping[str, int]]) -> Counter[Use]:
    """How many are still to be put down of each."""
    left: Counter[Use] = Counter()
    on: Any
    for name, kind in KINDS:
        counts: Mapping[str, int] = getattr(used, name)
        left.update({Use("wearer", item, kind): count for item, count in counts.items()})
    for part, counts in team.items():
        left.update({Use(part, item, "used"): count for item, count in counts.items()})
    for on, item, kind, quantity in StockMovement.objects.filter(entry=entry).values_list(
        "part", "lot__item", "kind", "quantity"
    ):
        left[Use(on or "wearer", item, kind)] -= quantity
    for posting in EntryPosting.objects.filter(entry=entry):
        for one in posting.wanting:
            left[Use(one.get("part", "wearer"), one["item"], one["kind"])] -= one["quantity"]
    return Counter({use: count for use, count in left.items() if count > 0})


def _row(entry: Entry, use: Use, lot: str, place: str, quantity: int, *, assumed: bool) -> StockMovement:
    return StockMovement(
        lot_id=lot,
        kind=use.kind,
        quantity=quantity,
        from_place=place,
        at=timezone.now(),
        why="torn before going in" if use.kind == "damaged" else "",
        entry=entry,
        assumed=assumed,
        part=use.part,
    )


def _units_used(entry: Entry, used: EntryUse, plan: Plan) -> None:
    """Write that scanned powered units were used, of those that were put on."""
    worn = {"wearer": set(used.reused)} | {str(one.role): set(one.worn) for one in plan.team}
    known = set(StockUnitEvent.objects.filter(entry=entry).values_list("unit_id", flat=True))
    for row in gear_of(entry):
        if row.unit is not None and row.unit.pk not in known and row.item in worn.get(row.part, ()):
            known.add(row.unit.pk)
            StockUnitEvent.objects.create(unit=row.unit, kind="used", at=timezone.now(), by=row.by, entry=entry)


def people_of(entry: Entry) -> Iterator[tuple[Part, User]]:
    """Those in the entry, by their part."""
    for part in PARTS:
        person = getattr(entry, part)
        if person is not None:
            yield part, person


def sizes_of(entry: Entry, part: Part) -> dict[str, InSize]:
    """Item to size and model of somebody in this entry, as far as the register knows."""
    person = RegisteredPerson.objects.filter(user=getattr(entry, f"{part}_id")).exclude(user=None).first()
    if person is None:
        return {}
    catalogue = facts.catalogue_of(entry.version.facts)
    need = need_of(approved_of(entry.version_id).plan, catalogue, part)
    found = who_can_go_in(
        need, people_values([person]), None, timezone.localdate(), catalogue, running_facts.standards()
    )
    return {one.item: one for one in found.answers[0].sizes}


def not_posted() -> list[Entry]:
    """Entries that are over and of which nothing was put down."""
    over = Entry.objects.filter(stage__in=["closed", "abandoned"], drill=False, postings=None)
    return list(over.select_related("version", "wearer"))

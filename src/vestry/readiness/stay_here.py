"""The stay that the question asks about, from what the hospital has: one procedure, whoever may, what is on the shelf.

Without a roster everyone who may is spread evenly over the shifts, in the order of the register. Reserves are there to
be used in a stay, so none is kept back. Powered units count as ready units; what is cleaned comes back by the planning
figures. Somebody inside at all times for every two wearers of a shift: the other is their relief.
"""

from __future__ import annotations

import datetime
import math
from collections import Counter
from collections.abc import Mapping, Sequence

from vestry.people import May
from vestry.people.values import Duty
from vestry.readiness.forecast_found import Forecast, PoolFound
from vestry.readiness.here import Here, ProcedureHere
from vestry.readiness.shelving import Used
from vestry.readiness.stay import MOST_ALIKE, MOST_PEOPLE, WORN_TO_WORK, Ensemble, Person, Shift, Stay, StockLot, Work
from vestry.readiness.tonight import Cover, Question, TeamNeed
from vestry.stock import on_hand, unit_state
from vestry.stock.using import put_on
from vestry.trade import Catalogue
from vestry.trade.shelf import powered_kinds
from vestry.trade.standards import Standards

FIRST_HOUR = 7
CARE = "care"
DRAWS = 400


def stay_for(
    question: Question,
    procedure: ProcedureHere,
    here: Here,
    team: TeamNeed,
    may: Mapping[Duty, Mapping[str, May]],
    starts: datetime.datetime,
    catalogue: Catalogue,
    standards: Standards,
    draws: int = DRAWS,
) -> Stay | None:
    """The stay along this procedure; None where nobody may go in, or there is no plan.

    may      everyone's answer today, by duty
    starts   a whole hour
    """
    if procedure.plan is None or not any(one.may for one in may["wearer"].values()):
        return None
    counted = all(any(one.may for one in may[duty].values()) for duty in ("observer", "assistant"))
    shifts = _shifts(team)
    people = _people(may, here, shifts, ("wearer", "observer", "assistant") if counted else ("wearer",))
    stock = _stock(procedure, here, people, question.on, catalogue, standards)
    return Stay(
        title=question.hazard,
        starts=starts,
        hours=question.hours,
        shifts=shifts,
        people=people,
        ensembles=(Ensemble(id=CARE, plan=procedure.plan),),
        work=(Work(id=CARE, ensemble=CARE, by="wearer", inside=max(1, team.wearer // 2)),),
        team="each-exit" if counted else "not-counted",
        stock=stock,
        lead_times={row.item: here.lead_times.of(row.item).hours for row in stock},
        draws=draws,
    )


def with_all_at_hand(stay: Stay, here: Here, on: datetime.date, catalogue: Catalogue) -> Stay:
    """The stay with all else that is on the shelf: what a plan could wear when something runs out.

    What the facts in force do not know (an item that was retired) no plan can wear.
    """
    named = {row.item for row in stay.stock}
    able = {name for name, item in catalogue.items.items() if name not in named and item.kind not in powered_kinds()}
    rows = [
        StockLot(item=one.lot.item, size=one.lot.size, count=one.usable, expires=one.lot.expiry)
        for one in on_hand(here.counts, here.lots, here.held, on)
        if one.usable and one.lot.item in able
    ]
    return stay.model_copy(update={"stock": (*stay.stock, *rows)})


def used_by(found: Forecast) -> tuple[Used, ...]:
    """What the stay takes, item by size: on average where it lasts often enough, else what would make it last so."""
    return tuple(
        Used(
            one.item,
            one.size,
            max(
                math.ceil(one.used.value + one.lacking.value),
                one.on_shelf + one.lacking_by[2] if one.lasts.value < found.target else 0,
            ),
            one.lasts.value >= found.target,
            *_runs_out(one, found),
            lacking_by=one.lacking_by[:2],
        )
        for one in found.pools
        if one.used.value or one.lacking.value
    )


def _runs_out(one: PoolFound, found: Forecast) -> tuple[int | None, int | None]:
    """The hours at which something is first lacking in half of the stays and in 5 of 100; None where nothing is."""
    middle, early = int(one.cover[2].value), int(one.cover[0].value)
    if one.lasts.value >= found.target:
        return None, None
    return (middle if middle < found.asked_hours else None), early


def cover_of(found: Forecast) -> Cover:
    """How long it lasts, in short."""
    at = {round(one.at, 3): one.value for one in found.cover}
    ordered = sorted(at)
    first = max(found.pools, key=lambda one: one.first.value, default=None)  # of equals the soonest: as they stand
    return Cover(
        asked=found.asked_hours,
        low=at[ordered[0]],
        middle=at[min(ordered, key=lambda one: abs(one - 0.5))],
        high=at[ordered[-1]],
        sustains=found.sustains.value,
        low_sustains=found.sustains.low,
        high_sustains=found.sustains.high,
        first=(first.item, first.size) if first is not None and first.first.value > 0 else None,
        people_enough=found.people_enough,
        draws=found.draws,
        seed=found.seed,
    )


def _shifts(team: TeamNeed) -> tuple[Shift, ...]:
    count = -(-24 // team.shift_hours)
    starts = [FIRST_HOUR + n * team.shift_hours for n in range(count)]
    ends = [*starts[1:], FIRST_HOUR + 24]
    return tuple(
        Shift(id=f"shift-{n}", from_hour=start % 24, hours=end - start)
        for n, (start, end) in enumerate(zip(starts, ends, strict=True), 1)
    )


def _people(
    may: Mapping[Duty, Mapping[str, May]], here: Here, shifts: Sequence[Shift], duties: Sequence[Duty]
) -> tuple[Person, ...]:
    """Everyone who may do something, each on one shift: duty by duty in turn, so that each shift has its share."""
    placed: dict[str, int] = {}
    for duty in duties:
        turn = 0
        for person in here.people:
            if may[duty][person.id].may and person.id not in placed:
                placed[person.id] = turn % len(shifts)
                turn += 1
    found: list[Person] = []
    for person in here.people:
        if person.id in placed:
            able = [duty for duty in duties if may[duty][person.id].may]
            sizes = {one.item: one.size for duty in able for one in may[duty][person.id].sizes}
            found.append(
                Person(id=f"p-{len(found) + 1}", may=tuple(able), shifts=(shifts[placed[person.id]].id,), sizes=sizes)
            )
    return tuple(found) if len(found) <= MOST_PEOPLE else _alike(found)


def _alike(people: Sequence[Person]) -> tuple[Person, ...]:
    """More than a stay can name one by one: those alike together. The fewest are left out where that is not enough."""
    counts = Counter((one.may, one.shifts, tuple(sorted(one.sizes.items()))) for one in people)
    found: list[Person] = []
    for (may, shifts, sizes), count in counts.most_common():
        for before in range(0, count, MOST_ALIKE):
            together = min(MOST_ALIKE, count - before)
            number = len(found) + 1
            found.append(Person(id=f"p-{number}", count=together, may=may, shifts=shifts, sizes=dict(sizes)))
    return tuple(found[:MOST_PEOPLE])


def _stock(
    procedure: ProcedureHere,
    here: Here,
    people: Sequence[Person],
    on: datetime.date,
    catalogue: Catalogue,
    standards: Standards,
) -> tuple[StockLot, ...]:
    plan = procedure.plan
    assert plan is not None, "asked only where there is one"
    steps = [*plan.steps, *(step for member in plan.team for step in member.steps)]
    items = [one for one in dict.fromkeys(item for step in steps for item in put_on(step)) if one not in WORN_TO_WORK]
    rows: list[StockLot] = []
    for one in on_hand(here.counts, here.lots, here.held, on):
        if one.lot.item in items and one.usable and catalogue.items[one.lot.item].kind not in powered_kinds():
            rows.append(StockLot(item=one.lot.item, size=one.lot.size, count=one.usable, expires=one.lot.expiry))
    for item in items:
        if catalogue.items[item].kind in powered_kinds():
            ready = sum(
                unit_state(unit, events, on, standards).ready for unit, events in here.units if unit.item == item
            )
            rows.append(StockLot(item=item, count=ready))
    there = {(row.item, row.size) for row in rows}
    for item in items:
        sizes = {person.sizes[item] for person in people if item in person.sizes}
        if not sizes and not any(name == item for name, _ in there):
            sizes = {"one-size"}
        rows += [StockLot(item=item, size=size, count=0) for size in sorted(sizes) if (item, size) not in there]
    return tuple(rows)

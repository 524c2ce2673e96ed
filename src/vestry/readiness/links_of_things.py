"""Links of things on one day: the shelf with its reserves, powered units, and a room that could take the patient."""

from __future__ import annotations

from collections.abc import Iterator

from vestry.readiness.here import ProcedureHere, RoomHere
from vestry.readiness.shelving import reserve_links, stock_links
from vestry.readiness.today import Today, rank
from vestry.readiness.tonight import Link, Mend, State, Why
from vestry.stock import unit_state
from vestry.trade.values import Presentation


def things(one: ProcedureHere, today: Today) -> Iterator[Link]:
    """What is put on along a procedure, in sizes. None without a plan."""
    if one.plan is None:
        return
    used = today.used.get(one.presentation, ())
    yield from stock_links(today.question, today.here, today.day, one.presentation, used)
    yield from reserve_links(today.here, today.day, one.presentation, one.plan)
    for item in today.powered.get(one.presentation, ()):
        yield _units(item, (one.presentation,), today)


def _units(item: str, there: tuple[Presentation, ...], today: Today) -> Link:
    states = [
        unit_state(unit, events, today.day, today.standards) for unit, events in today.here.units if unit.item == item
    ]
    have, need = sum(one.ready for one in states), today.team.wearer
    counts: dict[str, int] = {}
    for one in states:
        for why in one.why:
            counts[why] = counts.get(why, 0) + 1
    ranked = sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))
    return Link(
        topic="powered-unit",
        subject=item,
        presentations=there,
        state="ready" if have >= need else "not-ready",
        have=have,
        need=need,
        why=() if have >= need else (*(Why(id=why, count=count) for why, count in ranked),) or (Why(id="no-unit"),),
        mend=() if have >= need else (Mend(id="ready-a-unit", item=item, count=need - have),),
    )


def room(today: Today) -> Iterator[Link]:
    """The rooms that stand best."""
    presentations = tuple(one.presentation for one in today.here.procedures)
    rooms = today.here.rooms
    if rooms is None:
        yield Link(
            topic="room",
            presentations=presentations,
            state="watch",
            why=(Why(id="no-register-of-rooms"),),
            mend=(Mend(id="enter-a-room"),),
        )
        return
    best = sorted((_room_stands(one, today) for one in rooms), key=lambda one: -rank(one[0]))
    able = [stands for stands, _ in best if stands != "not-ready"]
    state = best[0][0] if best else "not-ready"
    # Of the rooms that stand best alone: what is wrong with one that nobody would take says nothing about tonight.
    why = [reason for stands, reasons in best if stands == state for reason in reasons]
    if not best:
        why = [Why(id="no-room")]
    yield Link(
        topic="room",
        presentations=presentations,
        state=state,
        have=len(able),
        need=1,
        why=() if state == "ready" else tuple(dict.fromkeys(why)),
        mend=() if state == "ready" else _mends_of_rooms(why) if rooms else (Mend(id="enter-a-room"),),
    )


def _mends_of_rooms(why: list[Why]) -> tuple[Mend, ...]:
    """Clearing for what is taken or was left; a check for all else."""
    left = ("room-in-use", "room-not-cleared")
    return tuple(
        Mend(id=one) for one in dict.fromkeys("clear-a-room" if one.id in left else "check-a-room" for one in why)
    )


def _room_stands(one: RoomHere, today: Today) -> tuple[State, tuple[Why, ...]]:
    why = [Why(id=reason) for reason in one.why]
    if today.by_air and not one.isolation:
        why.append(Why(id="no-isolation-room"))
    if why:
        return "not-ready", tuple(why)
    watch = [Why(id=reason) for reason in one.watch]
    if one.free is not None and today.day <= max(today.question.on, one.free.date()):
        watch.append(Why(id="room-in-use", at=one.free))
    if one.cleared is not None and today.day <= one.cleared:
        watch.append(Why(id="room-not-cleared", on=one.cleared))
    if one.until is not None and one.until < today.day:
        watch.append(Why(id="room-check-due", on=one.until))
    return ("watch" if watch else "ready"), tuple(watch)

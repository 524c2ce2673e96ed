"""Numbered waste bags on hold, as a fold over what happened to them.

What happened is kept also where it breaks a rule, and flagged: a bag that left too early has left. Who may let a bag go
is data (`[[bag-right]]`); whether it may go now follows from the result.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from vestry.room.waste import who_may
from vestry.trade.operations import Operations

Act = Literal["closed", "result", "released", "downgraded", "collected"]
Result = Literal["positive", "negative", "inconclusive"]
Stands = Literal["unknown", "on-hold", "released", "collected"]
Flag = Literal["number-twice", "not-closed", "before-result", "not-negative", "not-released", "not-entitled"]
RIGHT: dict[str, Literal["release", "downgrade", "collect"]] = {
    "released": "release",
    "downgraded": "downgrade",
    "collected": "collect",
}


@dataclass(frozen=True)
class BagEvent:
    """One thing that happened to a bag.

    id, at     in order of `at`, then of `id`; texts that sort, such as a UUIDv7 and ISO time in UTC
    number     the bag's; a `result` is of a `case` and so of every bag of it
    roles      what whoever did it may do
    stream     into which it goes: of `closed`, and the new one of `downgraded`
    holds      what is in it;  amount: its weight or volume, as written. Both of `closed`, empty where nobody wrote it
    """

    id: str
    at: str
    act: Act
    by: str
    roles: tuple[str, ...]
    number: str = ""
    case: str = ""
    room: str = ""
    stream: str = ""
    result: Result | None = None
    reason: str = ""
    holds: str = ""
    amount: str = ""


@dataclass(frozen=True)
class Flagged:
    """A rule that was broken, by which event."""

    flag: Flag
    event: BagEvent


@dataclass(frozen=True)
class Bag:
    """A bag as it stands. `case_result` is the last one told of its case."""

    number: str
    stands: Stands = "unknown"
    case: str = ""
    room: str = ""
    stream: str = ""
    holds: str = ""
    amount: str = ""
    case_result: Result | None = None
    events: tuple[BagEvent, ...] = ()
    flags: tuple[Flagged, ...] = ()


def fold_bags(events: Iterable[BagEvent], operations: Operations) -> dict[str, Bag]:
    """Every bag by number, whatever order the events come in; the same event twice counts once."""
    bags: dict[str, Bag] = {}
    results: dict[str, Result] = {}
    for event in sorted({one.id: one for one in events}.values(), key=lambda one: (one.at, one.id)):
        if event.act == "result":
            if event.result is not None:
                results[event.case] = event.result
            continue
        bag = bags.get(event.number, Bag(event.number))
        before = replace(bag, case_result=results.get(bag.case))
        broken = tuple(Flagged(flag, event) for flag in _broken(event, before, operations))
        bags[event.number] = _after(event, replace(bag, flags=(*bag.flags, *broken), events=(*bag.events, event)))
    return {number: replace(bag, case_result=results.get(bag.case)) for number, bag in bags.items()}


def _broken(event: BagEvent, bag: Bag, operations: Operations) -> Iterable[Flag]:
    if event.act == "closed":
        if bag.stands != "unknown":
            yield "number-twice"
        return
    if bag.stands == "unknown":
        yield "not-closed"
    if not set(event.roles) & set(who_may(RIGHT[event.act], operations)):
        yield "not-entitled"
    yield from cannot(event.act, bag)


def cannot(act: Act, bag: Bag) -> tuple[Flag, ...]:
    """What speaks against doing this to a bag now."""
    if act == "released" and bag.case_result not in ("positive", "negative"):
        return ("before-result",)
    if act == "downgraded" and bag.case_result != "negative":
        return ("not-negative",)
    if act == "collected" and bag.stands != "released":
        return ("not-released",)
    return ()


def _after(event: BagEvent, bag: Bag) -> Bag:
    if event.act == "closed":
        if bag.stands != "unknown":  # a number used again: the first bag stays what it is
            return bag
        return replace(
            bag,
            stands="on-hold",
            case=event.case,
            room=event.room,
            stream=event.stream,
            holds=event.holds,
            amount=event.amount,
        )
    if event.act == "collected":
        return replace(bag, stands="collected")
    stream = event.stream if event.act == "downgraded" and event.stream else bag.stream
    return replace(bag, stands="collected" if bag.stands == "collected" else "released", stream=stream)

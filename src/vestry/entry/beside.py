"""What a bundle carries beside the procedure: usual times, prepared sequences, what crosses the door."""

from __future__ import annotations

from collections.abc import Mapping

from vestry.entry.bundle import DoorThing, HygieneClock, Prepared
from vestry.trade.operations import Operations
from vestry.trade.operations_values import DoorThing as DoorThingRecord
from vestry.trade.operations_values import HygieneTime
from vestry.trade.words import UnknownWord, Words

PREPARED = ("unwell", "lost-air", "glove-change-inside")


def hygiene_clocks(operations: Operations) -> tuple[HygieneClock, ...]:
    """Every usual time of a rub or a wipe."""
    return tuple(
        HygieneClock(
            agent=one.agent,
            on=one.on,
            sort=one.sort,
            seconds=one.seconds,
            source=one.source,
            certainty=one.certainty,
        )
        for one in operations.all(HygieneTime)
    )


def prepared(words: Words, own: Mapping[str, tuple[str, ...]]) -> tuple[Prepared, ...]:
    """The prepared sequences: the unit's own lines where it has them, else the default."""
    return tuple(
        Prepared(
            id=one, name=words.term("prepared", one), lines=own.get(one) or _lines(words, one), own=bool(own.get(one))
        )
        for one in PREPARED
    )


def _lines(words: Words, one: str) -> tuple[str, ...]:
    lines: list[str] = []
    try:
        while True:
            lines.append(words.term(f"prepared-{one}", str(len(lines) + 1)))
    except (UnknownWord, KeyError):
        return tuple(lines)


def door_things(operations: Operations, words: Words) -> tuple[DoorThing, ...]:
    """What crosses the door, by name."""
    return tuple(
        DoorThing(id=one.id, name=words.term("door-thing", one.id), direction=one.direction, asks=one.asks)
        for one in operations.all(DoorThingRecord)
    )

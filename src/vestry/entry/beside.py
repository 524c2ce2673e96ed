"""What a bundle carries beside the procedure: usual times, prepared sequences, what crosses the door.

A prepared sequence is the unit's own text where it has written one, and a default that says so where it has not.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from pydantic import Field

from vestry.entry.bundle import DoorThing, HygieneClock, Prepared
from vestry.trade.operations import Operations
from vestry.trade.operations_values import DoorThing as DoorThingRecord
from vestry.trade.operations_values import HygieneTime
from vestry.trade.values import Id, Value
from vestry.trade.words import UnknownWord, Words

PREPARED = ("unwell", "lost-air", "glove-change-inside")
HOLD_CARD = "hold-card"
OWN_TEXTS = (*PREPARED, HOLD_CARD)
"""What a unit can write in its own words, besides first aid."""
MOST_LINES = 6
LONGEST_LINE = 100
"""Letters. Short enough to be read at arm's length, with the keys beneath in reach."""


class OwnText(Value):
    """A text of the unit's own: short sentences, one at a time.

    name         what it is called, in the language of the page
    version      which one of its versions;   since, by: in force since (UTC), written by
    """

    id: Id
    name: str
    lines: tuple[Annotated[str, Field(min_length=1, max_length=LONGEST_LINE)], ...] = Field(
        min_length=1, max_length=MOST_LINES
    )
    version: int = Field(ge=1)
    since: str
    by: str


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
            own=one.because is not None,
            product=one.product or "",
            since=one.because.date.isoformat() if one.because else "",
            by=one.because.name if one.because else "",
        )
        for one in operations.all(HygieneTime)
    )


def prepared(words: Words, own: Mapping[str, OwnText]) -> tuple[Prepared, ...]:
    """The prepared sequences: the unit's own lines where it has them, else the default, marked as not the unit's.

    The hold card is among them where the unit has written one: there is a default on every screen already.
    """
    found = [_own(own[one], words.term("prepared", one)) if one in own else default(words, one) for one in PREPARED]
    return (*found, *([_own(own[HOLD_CARD], own[HOLD_CARD].name)] if HOLD_CARD in own else ()))


def default(words: Words, one: str) -> Prepared:
    """What is shipped of a prepared sequence."""
    return Prepared(id=one, name=words.term("prepared", one), lines=_lines(words, one))


def _own(text: OwnText, name: str) -> Prepared:
    return Prepared(
        id=text.id, name=name, lines=text.lines, own=True, version=text.version, since=text.since, by=text.by
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

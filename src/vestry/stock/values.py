"""What the register holds of things: lots, movements, quarantines, reserves, powered units. Frozen.

Quantities are whole and in the item's unit: a pair of gloves or foot covers is one. Places are the unit's own names
(`store`, `anteroom`, `doffing-area`). Days are calendar days of the hospital; moments are ISO 8601 in UTC.
"""

from __future__ import annotations

import datetime
from typing import Annotated, Literal

from pydantic import Field, model_validator

from vestry.trade.values import Id, Value

Key = Annotated[str, Field(min_length=1, max_length=60)]
Text = Annotated[str, Field(min_length=1, max_length=200)]
Moment = Annotated[str, Field(min_length=10, max_length=40)]
Kind = Literal["received", "moved", "used", "damaged", "changed", "discarded", "counted-more", "counted-less"]
Hold = Literal["held", "released"]
UnitEventKind = Literal[
    "charged", "battery-tested", "flow-checked", "serviced", "used", "cleaned", "fault", "repaired", "retired"
]

GIVES: frozenset[str] = frozenset({"used", "damaged", "changed", "discarded", "counted-less"})
TAKES: frozenset[str] = frozenset({"received", "counted-more"})
NEEDS_WHY: frozenset[str] = frozenset({"damaged", "discarded", "counted-more", "counted-less"})
PAIRED: frozenset[str] = frozenset({"gloves", "foot-covers", "boot-covers", "shoes", "boots"})
"""Kinds of item that are counted in pairs."""


class Lot(Value):
    """One maker's lot of one item in one size.

    number       the maker's lot number, as printed
    expiry       the last day of use; None: none is printed
    gtin         14 digits, as scanned; None: not known
    model        of a respirator: what fit tests name
    length_mm    of a gown: its back length
    per_scan     how many are in what carries the code that is scanned
    """

    id: Key
    item: Id
    size: Annotated[str, Field(min_length=1, max_length=20)]
    number: Annotated[str, Field(min_length=1, max_length=40)]
    expiry: datetime.date | None = None
    gtin: Annotated[str, Field(pattern=r"^\d{14}$")] | None = None
    model: Annotated[str, Field(min_length=1, max_length=80)] | None = None
    length_mm: int | None = Field(default=None, ge=300, le=2000)
    per_scan: int = Field(default=1, ge=1, le=10_000)

    def expired(self, on: datetime.date) -> bool:
        """Whether its last day has passed."""
        return self.expiry is not None and self.expiry < on


class Movement(Value):
    """Some of a lot coming, going, or changing place. Written once.

    from_, to    places; one of them is empty for what comes or goes
    why          needed for what was damaged, thrown away, or counted otherwise than the ledger said
    entry        the entry for which it was used, torn or changed
    assumed      the lot was not scanned: the first to expire was taken
    """

    id: Key
    lot: Key
    kind: Kind
    quantity: int = Field(ge=1, le=1_000_000)
    from_: Key | None = Field(default=None, alias="from")
    to: Key | None = None
    at: Moment
    by: Text
    why: Annotated[str, Field(max_length=500)] = ""
    entry: Key | None = None
    assumed: bool = False

    @model_validator(mode="after")
    def _of_its_kind(self) -> Movement:
        gives, takes = self.from_ is not None, self.to is not None
        wanted = (self.kind in GIVES or self.kind == "moved", self.kind in TAKES or self.kind == "moved")
        if (gives, takes) != wanted:
            right = {(True, False): "`from`", (False, True): "`to`", (True, True): "`from` and `to`"}[wanted]
            raise ValueError(f"{self.kind} has {right} and no other place")
        if self.from_ == self.to:
            raise ValueError("it moves from a place to that same place")
        if self.kind in NEEDS_WHY and not self.why.strip():
            raise ValueError(f"{self.kind} needs a reason")
        return self


class Quarantine(Value):
    """A lot put on hold, or let go again. Written once; the latest holds."""

    id: Key
    lot: Key
    act: Hold
    at: Moment
    by: Text
    why: Annotated[str, Field(min_length=1, max_length=500)]


class Reserve(Value):
    """How many of an item in a size the unit wants to have at least. `size` None: of all sizes together."""

    item: Id
    size: Annotated[str, Field(min_length=1, max_length=20)] | None = None
    least: int = Field(ge=1, le=1_000_000)


class PoweredUnit(Value):
    """A powered respirator's blower or helmet, by serial number.

    *_months          how often it is serviced, its battery tested, its flow checked; None: by the standard interval
    most_cleanings    after how many cleanings it is taken out of use; None: the maker names none
    battery_minutes   how long a full battery is taken to last, until a test says
    """

    id: Key
    item: Id
    serial: Annotated[str, Field(min_length=1, max_length=60)]
    battery: Annotated[str, Field(max_length=60)] = ""
    service_months: int | None = Field(default=None, ge=1, le=60)
    battery_months: int | None = Field(default=None, ge=1, le=60)
    flow_months: int | None = Field(default=None, ge=1, le=60)
    most_cleanings: int | None = Field(default=None, ge=1, le=10_000)
    battery_minutes: int = Field(default=240, ge=10, le=2880)


class UnitEvent(Value):
    """Something that happened to a powered unit. Written once.

    passed    of a test or check: whether it was passed
    minutes   of a battery test: how long it lasted
    """

    id: Key
    unit: Key
    kind: UnitEventKind
    at: Moment
    by: Text
    passed: bool = True
    minutes: int | None = Field(default=None, ge=0, le=2880)
    entry: Key | None = None
    note: Annotated[str, Field(max_length=500)] = ""

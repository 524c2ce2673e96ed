"""Where waste goes, how it is packed, and how much of it to expect.

Published amounts differ by a factor of two and more, so a stretch is given, from the least figure to the greatest, with
the records behind it; never a mean. Which stream a hazard's waste goes into is the catalogue's, by jurisdiction.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from vestry.trade.catalogue import Catalogue
from vestry.trade.jurisdictions import UNSTATED, waste_rule, waste_stream
from vestry.trade.operations import Operations
from vestry.trade.operations_values import BagRight, Packing, WasteAmount
from vestry.trade.values import Fact, WasteCategory

Per = Literal["patient-day", "doffing"]
MOST = 1_000_000
LINED = "lined-leak-proof"


class WasteRefused(ValueError):
    """A number or a name that cannot be worked with; `.field` says which."""

    def __init__(self, field: str, what: str) -> None:
        self.field, self.what = field, what
        super().__init__(f"{field}: {what}")


@dataclass(frozen=True)
class Routed:
    """Where the waste of a hazard goes here.

    stream     the stream, with its source; `settled` False when no text says so and the stricter one is taken
    container  what it goes into
    category   for transport: the jurisdiction's word, else that of the list for transport; None where none is held
    held       whether bags wait for the result: highest category, lined container, or nothing settled
    """

    hazard: str
    jurisdiction: str
    stream: str
    stream_fact: Fact[str]
    settled: bool
    container: str
    category: Fact[WasteCategory] | None
    category_of: str | None
    held: bool
    packing: tuple[Packing, ...]


@dataclass(frozen=True)
class Amount:
    """How much: from `low` to `high` (the same where one figure is published), with the records it rests on.

    or_more   a source says "more than": the high end is not an upper bound
    """

    of: Literal["solid", "liquid"]
    per: Per
    measure: Literal["litres", "kilograms", "bags"]
    low: Fraction
    high: Fraction
    or_more: bool
    records: tuple[WasteAmount, ...]


def routed(hazard: str, catalogue: Catalogue, operations: Operations, jurisdiction: str = UNSTATED) -> Routed:
    """The way of this hazard's waste. WasteRefused for a hazard or a jurisdiction that there is not."""
    for field, asked, known in (
        ("hazard", hazard, catalogue.hazards),
        ("jurisdiction", jurisdiction, catalogue.jurisdictions),
    ):
        if asked not in known:
            raise WasteRefused(field, f"no {field} is called {asked}; there are {', '.join(known)}")
    fact = waste_stream(catalogue, hazard, jurisdiction)
    stream = fact.value or fact.default
    assert stream is not None, "a hazard has a stream or a cautious default"
    container = catalogue.waste_streams[stream].container
    category, category_of = _category(hazard, jurisdiction, catalogue)
    word = None if category is None else category.value or category.default
    packed: Literal["highest", "second"] = "highest" if word == "highest" or fact.value is None else "second"
    return Routed(
        hazard=hazard,
        jurisdiction=jurisdiction,
        stream=stream,
        stream_fact=fact,
        settled=fact.value is not None,
        container=container,
        category=category,
        category_of=category_of,
        held=packed == "highest" or word == "case-by-case" or container == LINED,
        packing=tuple(one for one in operations.all(Packing) if packed in one.categories),
    )


def _category(hazard: str, jurisdiction: str, catalogue: Catalogue) -> tuple[Fact[WasteCategory] | None, str | None]:
    for place in (jurisdiction, "un-transport"):
        rule = waste_rule(catalogue, hazard, place)
        if rule is not None:
            return rule.category, place
    return None, None


def amounts(
    operations: Operations, *, patient_days: Fraction | None = None, doffings: Fraction | None = None
) -> tuple[Amount, ...]:
    """What so many days with a patient, or so many doffings, leave; two ways to reckon it, never added up."""
    for field, count in (("patient-days", patient_days), ("doffings", doffings)):
        if count is not None and not 0 < count <= MOST:
            raise WasteRefused(field, f"above 0, at most {MOST}")
    found: dict[tuple[str, Per, str], list[WasteAmount]] = {}
    for record in operations.all(WasteAmount):
        found.setdefault((record.of, record.per, record.measure), []).append(record)
    counts: dict[Per, Fraction | None] = {"patient-day": patient_days, "doffing": doffings}
    return tuple(
        _amount(records, count) for (_, per, _), records in found.items() if (count := counts[per]) is not None
    )


def _amount(records: list[WasteAmount], count: Fraction) -> Amount:
    first = records[0]
    low = min(Fraction(str(one.low)) for one in records)
    high = max(Fraction(str(one.high or one.low)) for one in records)
    return Amount(
        first.of,
        first.per,
        first.measure,
        low * count,
        high * count,
        any(one.or_more for one in records),
        tuple(records),
    )


def who_may(act: Literal["release", "downgrade", "collect"], operations: Operations) -> tuple[str, ...]:
    """The roles that may do this with a bag on hold."""
    return tuple(dict.fromkeys(role for one in operations.all(BagRight) if one.act == act for role in one.roles))

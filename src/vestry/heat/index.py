"""Screening by the heat index WBGT (ISO 7243): the index, what clothing adds, and the reference value of the work.

What clothing adds belongs to the family that published it: it is added within that family, and held only against
reference values of the same family. It says whether to look closer; it gives no minutes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from vestry.trade.operations import Operations
from vestry.trade.operations_values import ClothingAdjustment, MetabolicClass, WbgtLimit

COLDEST, HOTTEST = -50, 120
HOTTEST_INDEX = 60  # nobody works there: what is above is Fahrenheit, or kelvin
PLAIN = "work-clothes"


class IndexRefused(ValueError):
    """A number or a garment that cannot be worked with; `.field` says which."""

    def __init__(self, field: str, what: str) -> None:
        self.field, self.what = field, what
        super().__init__(f"{field}: {what}")


@dataclass(frozen=True)
class Held:
    """The index with clothing against one reference value: `over` when it is above."""

    limit: WbgtLimit
    over: bool


@dataclass(frozen=True)
class Row:
    """One family: what it adds for this clothing, the index with it, and the values of the same family.

    limits   empty where no reference value of this family is held: nothing is compared
    """

    family: str
    added: tuple[ClothingAdjustment, ...]
    effective: Fraction
    limits: tuple[Held, ...]


@dataclass(frozen=True)
class Screened:
    """The index, and a row for each family that has a value for this clothing."""

    index: Fraction
    rows: tuple[Row, ...]

    @property
    def over(self) -> bool | None:
        """Whether any row is above its reference value; None when there was nothing to compare with."""
        held = [one.over for row in self.rows for one in row.limits]
        return any(held) if held else None


def wbgt(natural_wet: Fraction, globe: Fraction, air: Fraction | None = None) -> Fraction:
    """The index in degrees: without sun, or with it when the air temperature is given besides. IndexRefused."""
    for field, value, most in (
        ("natural-wet", natural_wet, HOTTEST_INDEX),
        ("globe", globe, HOTTEST),
        ("air", air, HOTTEST_INDEX),
    ):
        if value is not None and not COLDEST <= value <= most:
            raise IndexRefused(field, f"from {COLDEST} to {most} degrees Celsius; Fahrenheit with an F, as 86F")
    if air is None:
        return natural_wet * 7 / 10 + globe * 3 / 10
    return natural_wet * 7 / 10 + globe * 2 / 10 + air / 10


def work_class(metabolic: Fraction, operations: Operations) -> int:
    """The class of work of a metabolic rate in W per square metre, by the edition that gives bounds. IndexRefused."""
    if not 0 < metabolic <= 1000:
        raise IndexRefused("metabolic", "above 0, at most 1000 W per square metre")
    for one in operations.all(MetabolicClass):
        bounded = one.over is not None or one.upto is not None
        above = one.over is None or metabolic > Fraction(str(one.over))
        within = one.upto is None or metabolic <= Fraction(str(one.upto))
        if bounded and above and within:
            return one.work
    raise IndexRefused("metabolic", "no class of work holds it")


def screen(
    index: Fraction,
    work: int,
    operations: Operations,
    *,
    garment: str = PLAIN,
    hood: bool = False,
    acclimatised: bool = False,
) -> Screened:
    """The index with this clothing, family by family. IndexRefused for a garment that no family has.

    work   class 0 (resting) to 4 (very high)
    hood   a separate hood besides the garment
    """
    if not COLDEST <= index <= HOTTEST_INDEX:
        raise IndexRefused("wbgt", f"from {COLDEST} to {HOTTEST_INDEX} degrees Celsius; Fahrenheit with an F, as 86F")
    if work not in range(5):
        raise IndexRefused("work", "a class from 0 (resting) to 4 (very high)")
    known = operations.all(ClothingAdjustment)
    garments = sorted({one.garment for one in known if one.alone})
    if garment not in garments:
        raise IndexRefused("garment", f"no clothing value for {garment}; there are {', '.join(garments)}")
    rows = []
    for family in dict.fromkeys(one.family for one in known):
        of_family = [one for one in known if one.family == family]
        added = [one for one in of_family if one.alone and one.garment == garment]
        hoods = [one for one in of_family if not one.alone] if hood else []
        if not added or (hood and not hoods):
            continue
        parts = (*added, *hoods)
        effective = index + sum((Fraction(str(one.celsius)) for one in parts), Fraction(0))
        rows.append(Row(family, parts, effective, tuple(_held(effective, family, work, acclimatised, operations))))
    if not rows:
        raise IndexRefused("hood", f"no family has a value for a hood besides {garment}")
    if garment == PLAIN and not hood:
        rows += _uncorrected(index, rows, work, acclimatised, operations)
    return Screened(index, tuple(rows))


def _held(effective: Fraction, edition: str, work: int, acclimatised: bool, operations: Operations) -> Iterable[Held]:
    for limit in operations.all(WbgtLimit):
        if limit.edition == edition and limit.work == work and limit.acclimatised == acclimatised:
            yield Held(limit, effective > Fraction(str(limit.celsius)))


def _uncorrected(index: Fraction, rows: list[Row], work: int, acclimatised: bool, operations: Operations) -> list[Row]:
    """Editions with reference values and no clothing values: for plain work clothes, which those are for."""
    have = {row.family for row in rows}
    editions = dict.fromkeys(one.edition for one in operations.all(WbgtLimit))
    return [
        Row(edition, (), index, tuple(_held(index, edition, work, acclimatised, operations)))
        for edition in editions
        if edition not in have
    ]

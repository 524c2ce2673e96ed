"""Disinfectant made up from a liquid, a powder or tablets, by published formulas (US CDC and ICAN, 2020, Appendix E).

    parts of water to one part of stock = stock / wanted - 1
    grams in a litre = wanted / active x 1000

A part is any vessel. A volume asked for is what there is in the end: made up to it, never added to it.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Literal

from vestry.room.strength import DilutionRefused, Strength
from vestry.trade.operations import Operations
from vestry.trade.operations_values import ContactTime, ShelfLife, SpoonMeasure

MOST_LITRES = 100_000
MG_PER_LITRE = 10_000  # in one percent


class CannotMake(ValueError):
    """What is wanted is stronger than the stock: no water makes it so."""


@dataclass(frozen=True)
class Mix:
    """What goes into it.

    parts_water           to one part of stock; liquids only
    millilitres           of stock in one litre of the finished solution; liquids only
    grams                 in one litre; powders only
    tablets               in one litre, exactly; tablets only
    litres                the volume asked for, None when none was; then for that volume:
      stock_litres, water_litres   of a liquid
      grams_in_all                 of a powder
      tablets_in_all               whole tablets, rounded up
    gives                 percent in the end: `wanted`, or a little more with whole tablets
    """

    form: Literal["liquid", "powder", "tablet"]
    wanted: Fraction
    gives: Fraction
    parts_water: Fraction | None = None
    millilitres: Fraction | None = None
    grams: Fraction | None = None
    tablets: Fraction | None = None
    litres: Fraction | None = None
    stock_litres: Fraction | None = None
    water_litres: Fraction | None = None
    grams_in_all: Fraction | None = None
    tablets_in_all: int | None = None


def mix_liquid(stock: Strength, wanted: Strength, litres: Fraction | None = None) -> Mix:
    """From a liquid of this strength. CannotMake when the wanted one is stronger."""
    _check(litres)
    if wanted.percent > stock.percent:
        raise CannotMake
    share = wanted.percent / stock.percent
    return Mix(
        form="liquid",
        wanted=wanted.percent,
        gives=wanted.percent,
        parts_water=1 / share - 1,
        millilitres=share * 1000,
        litres=litres,
        stock_litres=None if litres is None else litres * share,
        water_litres=None if litres is None else litres * (1 - share),
    )


def mix_powder(active: Strength, wanted: Strength, litres: Fraction | None = None) -> Mix:
    """From a powder with so much available chlorine. CannotMake when the wanted strength is above that."""
    _check(litres)
    if wanted.percent > active.percent:
        raise CannotMake
    grams = wanted.percent / active.percent * 1000
    return Mix(
        form="powder",
        wanted=wanted.percent,
        gives=wanted.percent,
        grams=grams,
        litres=litres,
        grams_in_all=None if litres is None else grams * litres,
    )


def mix_tablets(mg_per_tablet: Fraction, wanted: Strength, litres: Fraction | None = None) -> Mix:
    """From tablets that release so many milligrams of chlorine each: whole ones, rounded up."""
    _check(litres)
    if mg_per_tablet <= 0:
        raise DilutionRefused("tablet", "milligrams of chlorine above 0")
    in_one = wanted.percent * MG_PER_LITRE / mg_per_tablet
    volume = Fraction(1) if litres is None else litres
    whole = ceil(in_one * volume)
    return Mix(
        form="tablet",
        wanted=wanted.percent,
        gives=whole * mg_per_tablet / MG_PER_LITRE / volume,
        tablets=in_one,
        litres=litres,
        tablets_in_all=whole,
    )


def _check(litres: Fraction | None) -> None:
    if litres is not None and not 0 < litres <= MOST_LITRES:
        raise DilutionRefused("litres", f"above 0, at most {MOST_LITRES}")


@dataclass(frozen=True)
class Spoons:
    """The same grams in level spoons, as published; least and most by what a spoon was found to hold."""

    least: Fraction
    most: Fraction
    record: SpoonMeasure


def in_spoons(grams: Fraction, product: str, operations: Operations) -> Spoons | None:
    """A powder in spoons, where a measure of this powder is published."""
    for record in operations.all(SpoonMeasure):
        if record.product == product:
            lightest, heaviest = (Fraction(str(one)) for one in record.grams_per_spoon)
            return Spoons(grams / heaviest, grams / lightest, record)
    return None


def keeps(product: str, operations: Operations) -> tuple[ShelfLife | None, tuple[ShelfLife, ...]]:
    """The record to work by, the shortest of the field; and all that are known of this product."""
    known = tuple(one for one in operations.all(ShelfLife) if product in one.products)
    field = [one for one in known if one.setting == "field" and one.hours is not None]
    return min(field, key=lambda one: one.hours or 0, default=None), known


def contact_time(use: str, operations: Operations) -> ContactTime:
    """How long it has to act: the one place for it; a hospital's record, of its product, lies over ours. KeyError."""
    for one in operations.all(ContactTime):
        if one.use == use:
            return one
    raise KeyError(f"no contact time for {use}")

"""The strength of a chlorine solution as it is written: percent available chlorine, ppm, degrees, NaOCl."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from vestry.trade.operations import Operations
from vestry.trade.operations_values import ChlorineProduct, Conversion
from vestry.trade.quantities import BadQuantity, with_unit

AVAILABLE = frozenset(
    {"", "%", "%w/v", "%(w/v)", "percent", "%cl", "%cl2", "%availablechlorine", "percentavailablechlorine"}
)
MILLIGRAMS = frozenset({"ppm", "mg/l", "mgl", "mg/lcl", "ppmavailablechlorine", "ppmcl"})
GRAMS = frozenset({"g/l", "gl"})
DEGREES = frozenset(
    {"degreechlorum", "degreeschlorum", "°chlorum", "°chl", "chlorum", "degreechl", "degreeschl", "degchl", "chl°"}
)
HYPOCHLORITE = frozenset({"%naocl", "naocl", "percentnaocl", "%sodiumhypochlorite", "percentsodiumhypochlorite"})


class DilutionRefused(ValueError):
    """A number that cannot be worked with; `.field` says which."""

    def __init__(self, field: str, what: str) -> None:
        self.field, self.what = field, what
        super().__init__(f"{field}: {what}")


@dataclass(frozen=True)
class Strength:
    """Percent available chlorine.

    written   as it was given
    by        how it was written: `available-chlorine`, `milligrams-per-litre`, `degree-chlorum`, `sodium-hypochlorite`
    """

    percent: Fraction
    written: str
    by: str


def strength(text: str, field: str, operations: Operations) -> Strength:
    """A strength from `5`, `5 %`, `5000 ppm`, `12 degrees chlorum` or `5.25 % NaOCl`. DilutionRefused names `field`.

    A bare number is percent available chlorine.
    """
    try:
        value, unit = with_unit(text)
    except BadQuantity as bad:
        raise DilutionRefused(field, str(bad)) from None
    by, factor = _read_as(unit, field, operations)
    percent = value * factor
    if percent <= 0:
        raise DilutionRefused(field, "above 0 percent")
    if percent > 100:
        raise DilutionRefused(field, f"{float(percent):g} percent; nothing is over 100")
    return Strength(percent, text.strip(), by)


def strength_bought(text: str, form: str, field: str, operations: Operations) -> Strength:
    """The strength of a product that is bought as a liquid or a powder. DilutionRefused names `field`.

    A liquid as strong as powders are, and stronger than any liquid that is sold, is refused: grams would be taken for
    millilitres.
    """
    read, products = strength(text, field, operations), operations.all(ChlorineProduct)
    sold = {sort: [one.range or (one.percent, one.percent) for one in products if one.form == sort and one.percent]
            for sort in ("liquid", "powder")}  # fmt: skip
    most = max((most for _, most in sold["liquid"]), default=0)
    least = min((least for least, _ in sold["powder"]), default=101)
    if form == "liquid" and most < read.percent and least <= read.percent:
        raise DilutionRefused(field, f"{float(read.percent):g} percent is a powder's; liquids are sold up to {most:g}")
    return read


def _read_as(unit: str, field: str, operations: Operations) -> tuple[str, Fraction]:
    def factor(conversion: str) -> Fraction:
        return Fraction(str(operations.one(Conversion, conversion).factor))

    if unit in AVAILABLE:
        return "available-chlorine", Fraction(1)
    if unit in MILLIGRAMS:
        return "milligrams-per-litre", factor("milligrams-per-litre")
    if unit in GRAMS:
        return "milligrams-per-litre", factor("milligrams-per-litre") * 1000
    if unit in DEGREES:
        return "degree-chlorum", factor("degree-chlorum")
    if unit in HYPOCHLORITE:
        return "sodium-hypochlorite", factor("sodium-hypochlorite")
    if unit.startswith(","):
        raise DilutionRefused(field, "write the decimals after a point")
    raise DilutionRefused(field, f"{unit!r} is no strength; there are %, ppm, mg/L, degrees chlorum and % NaOCl")

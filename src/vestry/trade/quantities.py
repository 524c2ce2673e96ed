"""Quantities as people write them: a number and a unit in, an exact fraction in one unit out.

number(text)             a plain decimal number; no NaN, no infinity, no comma
flow(text)               cubic metres an hour;   volume(text)  cubic metres;   litres(text)  litres
milligrams(text)         milligrams
length(text), area(text) metres, square metres;  pressure(text)  pascal;   celsius(text)  degrees Celsius
BadQuantity              what is wrong with the text, and what would be right
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

LONGEST = 40
_NUMBER = re.compile(r"[+-]?([0-9]{1,15}(\.[0-9]{1,15})?|\.[0-9]{1,15})(e[+-]?[0-9]{1,2})?", re.IGNORECASE)
_WITH_UNIT = re.compile(rf"\s*({_NUMBER.pattern})\s*(.*?)\s*", re.IGNORECASE)

FOOT = Fraction(3048, 10000)
CUBIC_FOOT = FOOT**3
US_GALLON, IMPERIAL_GALLON = Fraction("0.003785411784"), Fraction("0.00454609")
INCH_OF_WATER = Fraction("249.08891")  # pascal, water at 4 degrees

FLOWS = {
    "m3/h": Fraction(1),
    "m3/min": Fraction(60),
    "m3/s": Fraction(3600),
    "l/s": Fraction(36, 10),
    "l/min": Fraction(6, 100),
    "l/h": Fraction(1, 1000),
    "ft3/min": CUBIC_FOOT * 60,
    "ft3/h": CUBIC_FOOT,
    "ft3/s": CUBIC_FOOT * 3600,
}
VOLUMES = {
    "m3": Fraction(1),
    "l": Fraction(1, 1000),
    "cl": Fraction(1, 100_000),
    "ml": Fraction(1, 1_000_000),
    "ft3": CUBIC_FOOT,
    "us-gal": US_GALLON,
    "imp-gal": IMPERIAL_GALLON,
}
MASSES = {"mg": Fraction(1), "g": Fraction(1000)}
LENGTHS = {"m": Fraction(1), "cm": Fraction(1, 100), "ft": FOOT, "in": FOOT / 12}
AREAS = {"m2": Fraction(1), "ft2": FOOT**2}
PRESSURES = {"pa": Fraction(1), "inwg": INCH_OF_WATER, "mmwg": INCH_OF_WATER / Fraction("25.4")}
SAME = {
    "m³/h": "m3/h", "m3h": "m3/h", "m^3/h": "m3/h", "cmh": "m3/h", "m³/s": "m3/s", "m³/min": "m3/min",
    "cfm": "ft3/min", "ft³/min": "ft3/min", "cfh": "ft3/h", "ft³/h": "ft3/h",
    "m3/hr": "m3/h", "m³/hr": "m3/h", "m3/hour": "m3/h", "l/sec": "l/s", "ft3/hr": "ft3/h", "cuft/min": "ft3/min",
    "cubicmetre": "m3", "cubicmetres": "m3", "cubicmeters": "m3", "cubicfoot": "ft3", "cubicfeet": "ft3",
    "ls": "l/s", "lps": "l/s",
    "m³": "m3", "m^3": "m3", "ft³": "ft3", "ft^3": "ft3", "cuft": "ft3",
    "litre": "l", "litres": "l", "liter": "l", "liters": "l", "millilitre": "ml", "millilitres": "ml",
    "milliliter": "ml", "milliliters": "ml", "cc": "ml", "cm3": "ml",
    "usgal": "us-gal", "usgallon": "us-gal", "usgallons": "us-gal", "us-gallon": "us-gal", "us-gallons": "us-gal",
    "impgal": "imp-gal", "imp-gallon": "imp-gal", "imp-gallons": "imp-gal", "imperial-gallon": "imp-gal",
    "imperial-gallons": "imp-gal",
    "metre": "m", "metres": "m", "meter": "m", "meters": "m", "foot": "ft", "feet": "ft",
    "m²": "m2", "m^2": "m2", "ft²": "ft2", "ft^2": "ft2", "sqft": "ft2",
    "pascal": "pa", "inh2o": "inwg", "iwg": "inwg", "mmh2o": "mmwg",
}  # fmt: skip
GALLONS = frozenset({"gal", "gallon", "gallons"})


class BadQuantity(ValueError):
    """A text that is no quantity of this sort."""


def number(text: str) -> Fraction:
    """A decimal number, exactly: `12`, `0.5`, `2e3`."""
    bare = text.strip()
    if len(bare) > LONGEST:
        raise BadQuantity(f"a number of at most {LONGEST} characters is wanted")
    if not _NUMBER.fullmatch(bare):
        hint = "; write the decimals after a point" if "," in bare else ""
        raise BadQuantity(f"{bare[:LONGEST]!r} is no number{hint}")
    return Fraction(bare)


def with_unit(text: str) -> tuple[Fraction, str]:
    """A number and what stands behind it, in small letters without spaces; an empty unit when nothing does."""
    if len(text) > 4 * LONGEST:
        raise BadQuantity(f"a quantity of at most {4 * LONGEST} characters is wanted")
    found = _WITH_UNIT.fullmatch(text)
    if found is None:
        return number(text), ""
    unit = re.sub(r"[\s.]+", "", found[5].lower())
    return Fraction(found[1]), SAME.get(unit, unit)


def unit_of(text: str) -> str:
    """The unit of a quantity, as `with_unit` names it."""
    return with_unit(text)[1]


def flow(text: str) -> Fraction:
    """A flow of air in cubic metres an hour; without a unit it is in those."""
    return _quantity(text, FLOWS, "m3/h")


def volume(text: str) -> Fraction:
    """A volume in cubic metres; without a unit it is in those."""
    return _quantity(text, VOLUMES, "m3")


def litres(text: str) -> Fraction:
    """A volume in litres; without a unit it is in those."""
    return _quantity(text, VOLUMES, "l") * 1000


def milligrams(text: str) -> Fraction:
    """A mass in milligrams; without a unit it is in those."""
    return _quantity(text, MASSES, "mg")


def length(text: str) -> Fraction:
    """A length in metres; without a unit it is in those."""
    return _quantity(text, LENGTHS, "m")


def area(text: str) -> Fraction:
    """An area in square metres; without a unit it is in those."""
    return _quantity(text, AREAS, "m2")


def pressure(text: str) -> Fraction:
    """A pressure in pascal; without a unit it is in those."""
    return _quantity(text, PRESSURES, "pa")


def celsius(text: str) -> Fraction:
    """A temperature in degrees Celsius; without a unit it is in those, `F` for Fahrenheit."""
    value, unit = with_unit(text)
    match unit.removeprefix("°"):
        case "" | "c":
            return value
        case "f":
            return (value - 32) * 5 / 9
    if unit.startswith(","):
        raise BadQuantity(f"{text.strip()[:LONGEST]!r} is no number; write the decimals after a point")
    raise BadQuantity(f"{unit!r} is no unit here; there are C and F")


def _quantity(text: str, units: Mapping[str, Fraction], plain: str) -> Fraction:
    value, unit = with_unit(text)
    if unit in GALLONS:
        raise BadQuantity("a gallon is 3.785 litres in one country and 4.546 in another: write us-gal or imp-gal")
    if unit.startswith(","):
        raise BadQuantity(f"{text.strip()[:LONGEST]!r} is no number; write the decimals after a point")
    if (unit or plain) not in units:
        raise BadQuantity(f"{unit!r} is no unit here; there are {', '.join(units)}")
    return value * units[unit or plain]

"""What a written recipe comes to. One that can be read in two ways is not worked out: both readings are shown.

"1:10" may be one part in ten of the whole, or one part and ten of water. "400 mL in 1 litre" may be added to a litre,
or made up to one. Where the sheet says which, it has one reading.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from vestry.room.strength import DilutionRefused, Strength
from vestry.trade.operations import Operations
from vestry.trade.operations_values import Spoon, SpoonMeasure
from vestry.trade.quantities import BadQuantity, number
from vestry.trade.quantities import litres as read_litres

Says = Literal["parts-of-the-whole", "parts-of-water", "made-up-to", "added-to", "grams-a-litre", "tablets-a-litre"]
# How far published recipes round what they print (15 g for 14.3, say): judgement.
ROUNDING = Fraction(6, 100)
LONGEST = 200

_N = r"(?P<{}>[0-9][0-9.]*)"
_A, _B = _N.format("a"), _N.format("b")
_UNIT = r"(?P<{}>m ?l|c ?l|litres?|liters?|millilit(?:re|er)s?|l|us[ -]gal(?:lons?)?|imp[ -]gal(?:lons?)?)"
_UA, _UB = _UNIT.format("ua"), _UNIT.format("ub")
_STUFF = (
    r"(?: (?:of )?(?:the )?(?:household )?"
    r"(?:stock|bleach|solution|strong|concentrate|chlorine|powder|hth|product))*"
)
_WATER = r"(?: (?:of )?(?:clear |clean |cold )?water)"
_PART = r"(?: parts?)"
# Measures that are not alike from place to place, and so are read only against themselves.
_VESSEL = re.compile(
    r"(?<![a-z-])(?<!us )(?<!imp )(cups?|glass(?:es)?|buckets?|jugs?|bottles?|gal(?:lon)?s?|quarts?)(?![a-z])"
)
_UNSURE = re.compile(r"\b(teaspoon|tsp|cup|glass|bucket|jug|bottle|gallon|quart|drop)")
_WHOLE = r"(?: (?:parts? )?(?:in (?:all|total)|total|altogether|of the whole))"


@dataclass(frozen=True)
class Stock:
    """What the recipe starts from: a liquid or a powder of this strength, or tablets of so many milligrams."""

    form: Literal["liquid", "powder", "tablet"]
    strength: Strength | None = None
    mg_per_tablet: Fraction | None = None
    product: str | None = None


@dataclass(frozen=True)
class Reading:
    """One way to read a recipe, and the percent that it gives; two numbers where a spoon holds between two weights.

    fits   against what was wanted, None when nothing was: `yes`, `too-weak`, `too-strong`
    times  the strength over what was wanted
    spoon  millilitres that a tablespoon was taken to hold; None: no spoon is in it
    """

    says: Says
    least: Fraction
    most: Fraction
    fits: Literal["yes", "too-weak", "too-strong"] | None = None
    times: Fraction | None = None
    spoon: Fraction | None = None


@dataclass(frozen=True)
class Recipe:
    """A written recipe with its readings; ambiguous when there is more than one."""

    written: str
    readings: tuple[Reading, ...]

    @property
    def ambiguous(self) -> bool:
        """Whether it can be read in more than one way."""
        return len(self.readings) > 1

    @property
    def fits(self) -> bool | None:
        """Whether its one reading gives what was wanted; None when it has two, or nothing was wanted."""
        if self.ambiguous or self.readings[0].fits is None:
            return None
        return self.readings[0].fits == "yes"


def read_recipe(text: str, stock: Stock, operations: Operations, wanted: Strength | None = None) -> Recipe:
    """The readings of one recipe. DilutionRefused for what cannot be read at all."""
    if len(text) > LONGEST:
        raise DilutionRefused("recipe", f"at most {LONGEST} characters")
    plain = re.sub(r"\s+", " ", text.strip().lower().replace("×", "x")).rstrip(".")
    plain = _same_vessels(re.sub("^half (?:of )?(?:an? )?(?=[a-z])", "0.5 ", plain))
    for pattern, forms, reads in _GRAMMAR:
        found = pattern.fullmatch(plain)
        if found is not None and stock.form in forms:
            try:
                readings = [*reads(found, stock, operations)]
            except BadQuantity as bad:
                raise DilutionRefused("recipe", str(bad)) from None
            return Recipe(text.strip(), tuple(_held_against(one, wanted) for one in _checked(readings)))
    measure = _UNSURE.search(plain)
    hint = f"what a {measure[1]} holds differs: write mL or grams; " if measure else ""
    hint = "write decimals after a point; " if re.search("[0-9],[0-9]", plain) else hint
    raise DilutionRefused("recipe", f"cannot be read as a recipe for a {stock.form}; {hint}{WAYS[stock.form]}")


def _same_vessels(plain: str) -> str:
    """Parts, where both sides are measured in the same vessel: whatever it holds, it is a part."""
    found = [one[:3] for one in _VESSEL.findall(plain)]  # one or several of them
    return _VESSEL.sub("parts", plain) if len(found) == 2 and found[0] == found[1] else plain


WAYS = {
    "liquid": "write 1 part + 9 parts water, 1 part in 10 in total, 100 mL made up to 1 L, or 100 mL added to 1 L",
    "powder": "write 15 g per L, or 10 level tablespoons in 20 L",
    "tablet": "write 10 tablets per L",
}


def _checked(readings: list[Reading]) -> list[Reading]:
    for one in readings:
        if one.most <= 0:
            raise DilutionRefused("recipe", "gives nothing: a number is 0")
        if one.most > 100:
            raise DilutionRefused("recipe", "gives over 100 percent")
    return readings


def _held_against(one: Reading, wanted: Strength | None) -> Reading:
    if wanted is None:
        return one
    low, high = (edge * wanted.percent for edge in (1 - ROUNDING, 1 + ROUNDING))
    fits: Literal["yes", "too-weak", "too-strong"] = "yes"
    if one.most < low:
        fits = "too-weak"
    elif one.least > high:
        fits = "too-strong"
    return replace(one, fits=fits, times=(one.least + one.most) / 2 / wanted.percent)


# ---- the ways in which recipes are written ----


def _percent(stock: Stock) -> Fraction:
    assert stock.strength is not None, "a liquid and a powder have a strength"
    return stock.strength.percent


def _parts(found: re.Match[str]) -> tuple[Fraction, Fraction]:
    a, b = number(found["a"]), number(found["b"])
    if a <= 0 or b < 0:
        raise BadQuantity("parts above 0")
    return a, b


def _of_whole(found: re.Match[str], stock: Stock, _: Operations) -> Iterator[Reading]:
    a, b = _parts(found)
    if b < a:
        raise BadQuantity(f"{found['a']} parts are more than the whole of {found['b']}")
    gives = _percent(stock) * a / b
    yield Reading("parts-of-the-whole", gives, gives)


def _of_water(found: re.Match[str], stock: Stock, _: Operations) -> Iterator[Reading]:
    a, b = _parts(found)
    gives = _percent(stock) * a / (a + b)
    yield Reading("parts-of-water", gives, gives)


def _either_parts(found: re.Match[str], stock: Stock, operations: Operations) -> Iterator[Reading]:
    a, b = _parts(found)
    if b >= a:
        yield from _of_whole(found, stock, operations)
    yield from _of_water(found, stock, operations)
    if b < a:  # the water may stand first
        gives = _percent(stock) * b / (a + b)
        yield Reading("parts-of-water", gives, gives)


def _volumes(found: re.Match[str], spoon: Fraction | None = None) -> tuple[Fraction, Fraction]:
    a = number(found["a"]) * spoon / 1000 if spoon is not None else read_litres(f"{found['a']} {found['ua']}")
    b = read_litres(f"{found['b'] or '1'} {found['ub']}")
    if a <= 0 or b <= 0:
        raise BadQuantity("volumes above 0")
    return a, b


def _made_up(found: re.Match[str], stock: Stock, operations: Operations) -> Iterator[Reading]:
    for spoon in _spoon_sizes(found, operations):
        a, b = _volumes(found, spoon)
        if a > b:
            raise BadQuantity("what is taken is more than what it is made up to")
        yield Reading("made-up-to", _percent(stock) * a / b, _percent(stock) * a / b, spoon=spoon)


def _added(found: re.Match[str], stock: Stock, operations: Operations) -> Iterator[Reading]:
    for spoon in _spoon_sizes(found, operations):
        a, b = _volumes(found, spoon)
        yield Reading("added-to", _percent(stock) * a / (a + b), _percent(stock) * a / (a + b), spoon=spoon)


def _either_volume(found: re.Match[str], stock: Stock, operations: Operations) -> Iterator[Reading]:
    with suppress(BadQuantity):
        yield from _made_up(found, stock, operations)
    yield from _added(found, stock, operations)


def _spoon_sizes(found: re.Match[str], operations: Operations) -> tuple[Fraction | None, ...]:
    """What a spoon of the recipe holds by each source; None alone where none is in it."""
    if not found.groupdict().get("spoon"):
        return (None,)
    return tuple(Fraction(str(one.millilitres)) for one in operations.all(Spoon))


def _grams(found: re.Match[str], stock: Stock, _: Operations) -> Iterator[Reading]:
    grams = number(found["a"]) * (1000 if found["ug"] == "kg" else 1)
    volume = read_litres(f"{found['b'] or '1'} {found['ub']}")
    if volume <= 0:
        raise BadQuantity("a volume above 0")
    gives = grams * _percent(stock) / volume / 1000
    yield Reading("grams-a-litre", gives, gives)


def _spoons(found: re.Match[str], stock: Stock, operations: Operations) -> Iterator[Reading]:
    measures = [one for one in operations.all(SpoonMeasure) if stock.product in (None, one.product)]
    if not measures:
        raise BadQuantity("no weight of a spoon of this powder is published: write grams")
    volume = read_litres(f"{found['b'] or '1'} {found['ub']}")
    if volume <= 0:
        raise BadQuantity("a volume above 0")
    light, heavy = (Fraction(str(one)) for one in measures[0].grams_per_spoon)
    per_gram = number(found["a"]) * _percent(stock) / volume / 1000
    yield Reading("grams-a-litre", light * per_gram, heavy * per_gram)


def _tablets(found: re.Match[str], stock: Stock, _: Operations) -> Iterator[Reading]:
    assert stock.mg_per_tablet is not None, "tablets have milligrams"
    volume = read_litres(f"{found['b'] or '1'} {found['ub']}")
    if volume <= 0:
        raise BadQuantity("a volume above 0")
    gives = number(found["a"]) * stock.mg_per_tablet / volume / 10_000
    yield Reading("tablets-a-litre", gives, gives)


_Reads = Callable[[re.Match[str], Stock, Operations], Iterator[Reading]]
_IN = r" ?(?:/|per|in|to|for) ?(?:a |each )?"
_B_OR_ONE = r"(?P<b>[0-9][0-9.]*)? ?"
_SPOON = r"(?: (?P<spoon>(?:level )?(?:table)?spoons?(?:fuls?)?|tbsp))"
_LIQUID, _POWDER, _TABLET = ("liquid",), ("powder",), ("tablet",)


def _say(pattern: str) -> re.Pattern[str]:
    return re.compile(pattern)


_GRAMMAR: tuple[tuple[re.Pattern[str], tuple[str, ...], _Reads], ...] = (
    (_say(rf"{_A}{_PART}?{_STUFF} (?:in|of|to) {_B}{_PART}?{_WHOLE}"), _LIQUID, _of_whole),
    (_say(rf"{_A} ?: ?{_B}{_WHOLE}"), _LIQUID, _of_whole),
    (_say(rf"{_A}{_PART}?{_STUFF} ?(?:\+|plus|and) ?{_B}{_PART}?{_WATER}?"), _LIQUID, _of_water),
    (_say(rf"{_A}{_PART}{_STUFF} (?:to|in|with) {_B}{_PART}{_WATER}"), _LIQUID, _of_water),
    (_say(rf"{_A}{_PART}?{_STUFF} ?(?::|in|to|/|of) ?{_B}{_PART}?"), _LIQUID, _either_parts),
    (
        _say(
            rf"{_A} ?{_UA}{_STUFF},? (?:made up|topped up|filled up|diluted|up|water)"
            rf" to (?:make )?(?:a )?{_B_OR_ONE}{_UB}{_WHOLE}?"
        ),
        _LIQUID,
        _made_up,
    ),
    (_say(rf"{_A} ?{_UA}{_STUFF} (?:to make|in a total of) {_B_OR_ONE}{_UB}"), _LIQUID, _made_up),
    (_say(rf"{_A} ?{_UA}{_STUFF} (?:in|to|of) {_B_OR_ONE}{_UB}{_WHOLE}"), _LIQUID, _made_up),
    (_say(rf"{_A} ?{_UA}{_STUFF} (?:added|poured) (?:in)?to (?:a )?{_B_OR_ONE}{_UB}{_WATER}?"), _LIQUID, _added),
    (_say(rf"{_A} ?{_UA}{_STUFF} ?(?:\+|plus|and|with) ?{_B_OR_ONE}{_UB}{_WATER}?"), _LIQUID, _added),
    (
        _say(
            rf"{_A}{_SPOON}{_STUFF},? (?:made up|topped up|filled up|diluted|up|water)"
            rf" to (?:make )?(?:a )?{_B_OR_ONE}{_UB}{_WHOLE}?"
        ),
        _LIQUID,
        _made_up,
    ),
    (_say(rf"{_A}{_SPOON}{_STUFF} ?(?:\+|plus|and|with) ?{_B_OR_ONE}{_UB}{_WATER}?"), _LIQUID, _added),
    (_say(rf"{_A} ?{_UA}{_STUFF}{_IN}{_B_OR_ONE}{_UB}{_WATER}?"), _LIQUID, _either_volume),
    (_say(rf"{_A}{_SPOON}{_STUFF}{_IN}{_B_OR_ONE}{_UB}{_WATER}?"), _LIQUID, _either_volume),
    (_say(rf"{_A} ?(?P<ug>kg|g|grams?|gm){_STUFF}{_IN}{_B_OR_ONE}{_UB}{_WATER}?"), _POWDER, _grams),
    (_say(rf"{_A}{_SPOON}{_STUFF}{_IN}{_B_OR_ONE}{_UB}{_WATER}?"), _POWDER, _spoons),
    (_say(rf"{_A} tab(?:let)?s?{_IN}{_B_OR_ONE}{_UB}{_WATER}?"), _TABLET, _tablets),
)

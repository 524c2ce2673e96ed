"""Disinfectant from liquid, powder or tablets; and what a written recipe comes to.

Strengths: 5 (percent available chlorine), 5000 ppm, 12 degrees chlorum, 5.25 % NaOCl. A volume is what there is in the
end. A recipe that can be read in two ways is not worked out: both readings are shown. Exit status: 0 worked out, or the
recipe gives what is wanted; 1 it cannot be made, is ambiguous, or does not give it; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from vestry.cli import output
from vestry.cli.answers import (
    ContactAnswer,
    DiluteAnswer,
    KeepsAnswer,
    MixAnswer,
    ReadingAnswer,
    RecipeAnswer,
    StrengthAnswer,
    cited,
    plain,
)
from vestry.cli.asking_rooms import Asked, operations_argument, operations_of, print_answer, short, told_source
from vestry.room.dilution import CannotMake, Mix, in_spoons, keeps, mix_liquid, mix_powder, mix_tablets
from vestry.room.recipe import Recipe, Stock, read_recipe
from vestry.room.strength import DilutionRefused, Strength, strength, strength_bought
from vestry.trade.operations import Operations
from vestry.trade.operations_values import ChlorineProduct, ContactTime
from vestry.trade.quantities import litres, milligrams
from vestry.trade.words import Words, load_words

USUAL_PRODUCT = {"liquid": "bleach", "powder": "hth", "tablet": "nadcc-tablet-1g"}
Why = Literal["too-strong-wanted", "ambiguous", "contradict", "does-not-give"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("--stock", metavar="STRENGTH", help="a liquid of this strength")
    parser.add_argument("--powder", metavar="PERCENT", help="a powder with so much available chlorine")
    parser.add_argument(
        "--tablet", metavar="MG", help="tablets that release so much chlorine each: 1000 (milligrams), 1 g"
    )
    parser.add_argument(
        "--product", metavar="ID", help="as `--own` or Vestry knows it: bleach, hth, nadcc-tablet-1g ..."
    )
    parser.add_argument("--wanted", metavar="STRENGTH", help="the strength in the end")
    parser.add_argument("--litres", metavar="VOLUME", help="how much in the end: 20, 20 L, 5 us-gal")
    parser.add_argument(
        "--recipe", nargs="+", action="extend", default=[], metavar="TEXT", help="written recipes to be checked"
    )
    operations_argument(parser)


@dataclass(frozen=True)
class Question:
    """What was asked, read."""

    stock: Stock
    wanted: Strength | None
    litres: Fraction | None
    recipes: tuple[str, ...]


def run(options: argparse.Namespace) -> int:
    """Work out and print."""
    operations, words = operations_of(options), load_words("en")
    answer = answer_of(question_of(options, operations), operations, words)
    print_answer(answer, describe(answer, words), options, words)
    return 0 if answer.possible else 1


def question_of(options: argparse.Namespace, operations: Operations) -> Question:
    """What was typed; BadFacts with everything that is wrong with it."""
    asked = Asked("dilute")
    given = [name for name in ("stock", "powder", "tablet") if getattr(options, name) is not None]
    product = asked.read(options.product, "product", lambda key: operations.one(ChlorineProduct, key))
    if len(given) > 1:
        asked.wrong(given[1], f"beside --{given[0]}: one product at a time")
    if not given and options.product is None:
        asked.wrong("stock", "say what there is: --stock, --powder, --tablet or --product")
    if options.wanted is None and not options.recipe:
        asked.wrong("wanted", "say which strength is wanted, or give a recipe to check")
    stock = _stock(options, product, operations, asked) if not asked.problems else None
    wanted = asked.read(options.wanted, "wanted", lambda text: strength(text, "wanted", operations))
    volume = asked.read(options.litres, "litres", litres)
    if volume is not None and volume <= 0:
        asked.wrong("litres", "above 0")
    asked.done()
    assert stock is not None, "no problem was told"
    return Question(stock, wanted, volume, tuple(options.recipe))


def _stock(
    options: argparse.Namespace, product: ChlorineProduct | None, operations: Operations, asked: Asked
) -> Stock | None:
    forms: dict[str, Literal["liquid", "powder", "tablet"]] = {
        "stock": "liquid", "powder": "powder", "tablet": "tablet",
    }  # fmt: skip
    option = next((name for name in forms if getattr(options, name) is not None), None)
    if option is None:
        assert product is not None, "one of them was given"
        if product.form == "tablet":
            return Stock("tablet", mg_per_tablet=Fraction(str(product.mg_per_tablet)), product=product.id)
        return Stock(product.form, strength(str(product.percent), "product", operations), product=product.id)
    form = forms[option]
    if product is not None and product.form != form:
        asked.wrong("product", f"{product.id} is a {product.form}, and --{option} a {form}")
    name = product.id if product is not None else None
    if form == "tablet":
        mg = asked.read(options.tablet, "tablet", milligrams)
        if mg is not None and mg <= 0:
            asked.wrong("tablet", "milligrams of chlorine above 0")
        return Stock("tablet", mg_per_tablet=mg, product=name)
    text = getattr(options, option)
    read = asked.read(text, option, lambda text: strength_bought(text, form, option or "", operations))
    return Stock(form, read, product=name)


def answer_of(asked: Question, operations: Operations, words: Words) -> DiluteAnswer:
    """The answer, as it is printed."""
    recipes = _recipes(asked, operations)
    mix, why = _mix(asked)
    why = why or _of_recipes(recipes)
    product = asked.stock.product or ""
    to_work_by, known = keeps(product or USUAL_PRODUCT[asked.stock.form], operations)
    if not product:  # whatever it is, what one works by is the same; what a laboratory found is not
        known = () if to_work_by is None else (to_work_by,)
    if why == "too-strong-wanted":  # nothing is made that could be kept
        to_work_by, known = None, ()
    if asked.wanted is not None:  # what was found at another strength says nothing of this one
        known = tuple(one for one in known if one.percent is None or Fraction(str(one.percent)) == asked.wanted.percent)
    says = _says(asked, mix, why, recipes)
    return DiluteAnswer(
        operations=operations.digest,
        form=asked.stock.form,
        possible=why is None,
        why=why,
        stock=_strength(asked.stock.strength),
        mg_per_tablet=plain(asked.stock.mg_per_tablet),
        product=product or None,
        wanted=_strength(asked.wanted),
        mix=None if mix is None else _mixed(mix, product, operations),
        recipes=tuple(map(_recipe, recipes)),
        use_within_hours=None if to_work_by is None else to_work_by.hours,
        keeps=tuple(
            KeepsAnswer(
                setting=one.setting,
                hours=one.hours,
                or_longer=one.or_longer,
                percent=one.percent,
                celsius=one.celsius,
                cited=cited(one, operations),
            )
            for one in known
        ),
        contact=tuple(
            ContactAnswer(use=one.use, minutes=one.minutes, no_longer=one.no_longer, cited=cited(one, operations))
            for one in operations.all(ContactTime)
        ),
        says=tuple(words.term("dilution", key) for key in says),
    )


def _recipes(asked: Question, operations: Operations) -> tuple[Recipe, ...]:
    refused = Asked("dilute")
    found = []
    for text in asked.recipes:
        try:
            found.append(read_recipe(text, asked.stock, operations, asked.wanted))
        except DilutionRefused as bad:
            refused.wrong(bad.field, f"{text[:80]!r} {bad.what}")
    refused.done()
    return tuple(found)


def _mix(asked: Question) -> tuple[Mix | None, Why | None]:
    if asked.wanted is None:
        return None, None
    try:
        if asked.stock.form == "tablet":
            assert asked.stock.mg_per_tablet is not None, "tablets have milligrams"
            return mix_tablets(asked.stock.mg_per_tablet, asked.wanted, asked.litres), None
        assert asked.stock.strength is not None, "a liquid and a powder have a strength"
        make = mix_liquid if asked.stock.form == "liquid" else mix_powder
        return make(asked.stock.strength, asked.wanted, asked.litres), None
    except CannotMake:
        return None, "too-strong-wanted"
    except DilutionRefused as bad:
        wrong = Asked("dilute")
        wrong.wrong(bad.field, bad.what)
        wrong.done()
        raise AssertionError("done() raises") from None


def _of_recipes(recipes: tuple[Recipe, ...]) -> Why | None:
    if any(one.ambiguous for one in recipes):
        return "ambiguous"
    if any(one.fits is False for one in recipes):
        return "contradict" if any(one.fits for one in recipes) else "does-not-give"
    strengths = [one.readings[0] for one in recipes]
    apart = any(first.most * Fraction(106, 100) < second.least for first in strengths for second in strengths)
    return "contradict" if apart else None


def _says(asked: Question, mix: Mix | None, why: Why | None, recipes: tuple[Recipe, ...]) -> list[str]:
    says: list[str] = [why] if why in ("too-strong-wanted", "ambiguous", "contradict") else []
    if any(one.ambiguous for one in recipes) and "ambiguous" not in says:
        says.append("ambiguous")
    if mix is not None and mix.parts_water == 0:
        says.append("undiluted")
    if mix is not None and mix.parts_water != 0:
        says += ["made-up-to", "parts-either-way"] if mix.form == "liquid" else ["made-up-to"]
    if asked.stock.product == "hth":
        says.append("settle")
    if mix is not None and mix.gives > mix.wanted:
        says.append("whole-tablets")
    if asked.stock.form == "liquid":
        says.append("label")
    return [*says, "water-first", "fresh", "contact"]


def _strength(one: Strength | None) -> StrengthAnswer | None:
    return None if one is None else StrengthAnswer(written=one.written, read_as=one.by, percent=float(one.percent))


def _mixed(mix: Mix, product: str, operations: Operations) -> MixAnswer:
    grams = mix.grams_in_all if mix.grams_in_all is not None else mix.grams
    spoons = in_spoons(grams, product, operations) if grams is not None else None
    return MixAnswer(
        gives_percent=float(mix.gives),
        parts_water=plain(mix.parts_water),
        stock_ml_per_litre=plain(mix.millilitres),
        grams_per_litre=plain(mix.grams),
        tablets_per_litre=plain(mix.tablets),
        litres=plain(mix.litres),
        stock_litres=plain(mix.stock_litres),
        water_litres=plain(mix.water_litres),
        grams=plain(mix.grams_in_all),
        tablets=mix.tablets_in_all,
        spoons=None if spoons is None else (float(spoons.least), float(spoons.most)),
    )


def _recipe(one: Recipe) -> RecipeAnswer:
    return RecipeAnswer(
        written=one.written,
        ambiguous=one.ambiguous,
        readings=tuple(
            ReadingAnswer(
                says=reading.says,
                percent=float((reading.least + reading.most) / 2),
                percent_least=float(reading.least),
                percent_most=float(reading.most),
                fits=reading.fits,
                times=plain(reading.times),
                spoon_ml=plain(reading.spoon),
            )
            for reading in one.readings
        ),
    )


def describe(answer: DiluteAnswer, words: Words) -> Iterator[str]:
    """The answer as it is read in a terminal."""
    if answer.stock:
        yield f"From {words.term('form', answer.form)} of {short(answer.stock.percent)} % available chlorine"
        if answer.stock.read_as != "available-chlorine":
            yield f"  {answer.stock.written}, read as {words.term('strength-by', answer.stock.read_as)}"
    elif answer.mg_per_tablet:
        yield f"From tablets with {short(answer.mg_per_tablet)} mg of chlorine each"
    if answer.wanted:
        yield f"Wanted: {short(answer.wanted.percent)} % ({short(answer.wanted.percent * 10_000)} mg in a litre)"
    yield ""
    if answer.mix:
        yield from _told_mix(answer.mix)
    for recipe in answer.recipes:
        yield f"Recipe: {recipe.written}"
        for one in recipe.readings:
            fits = f"; {words.term('fits', one.fits)}" if one.fits else ""
            times = f" ({one.times:.3g} times what is wanted)" if one.times and one.fits != "yes" else ""
            spoon = "" if one.spoon_ml is None else f", a tablespoon taken as {one.spoon_ml:g} mL"
            yield f"  read as {words.term('reading', one.says)}{spoon}: {one.percent:.3g} %{fits}{times}"
    yield ""
    for says in answer.says:
        yield output.paragraph(says)
    if answer.use_within_hours:
        yield f"Use within {short(answer.use_within_hours)} hours."
    for keeps_ in answer.keeps:
        span = "in words only" if keeps_.hours is None else f"{short(keeps_.hours)} h"
        more = f" {words.term('keeps', 'or-longer')}" if keeps_.or_longer else ""
        told = f"{words.term('keeps', keeps_.setting)}{_found_at(keeps_)}: {span}{more}"
        yield output.paragraph(f"{told} ({told_source(keeps_.cited, words)})", "  ")


def _found_at(keeps_: KeepsAnswer) -> str:
    """The strength and the temperature that it holds for, where they are known."""
    found = [] if keeps_.percent is None else [f"{short(keeps_.percent)} %"]
    if keeps_.celsius is not None:
        least, most = keeps_.celsius
        found.append(f"{short(least)} °C" if least == most else f"{short(least)} to {short(most)} °C")
    return f", at {', '.join(found)}" if found else ""


def _told_mix(mix: MixAnswer) -> Iterator[str]:
    if mix.parts_water is not None:
        yield f"1 part of stock and {short(mix.parts_water)} parts of water"
        yield f"{short(mix.stock_ml_per_litre or 0)} mL of stock made up to 1 litre"
    if mix.grams_per_litre is not None:
        yield f"{short(mix.grams_per_litre)} g in a litre"
    if mix.tablets_per_litre is not None:
        yield f"{short(mix.tablets_per_litre)} tablets in a litre"
    if mix.litres is not None:
        yield f"For {short(mix.litres)} litres in the end:"
        if mix.stock_litres is not None and mix.water_litres is not None:
            yield f"  {short(mix.stock_litres)} litres of stock and {short(mix.water_litres)} litres of water"
        if mix.grams is not None:
            yield f"  {short(mix.grams)} g"
    if mix.tablets is not None:
        yield f"  {mix.tablets} whole tablets: {mix.gives_percent:.3g} %"
    if mix.spoons is not None:
        yield f"  {mix.spoons[0]:.1f} to {mix.spoons[1]:.1f} level tablespoons, as published for this powder"

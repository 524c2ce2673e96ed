"""How long until a room's air is clear, from air changes or from flow and volume, with a mixing factor.

A bare number is m3/h for a flow and m3 for a volume; 300 cfm, 85 l/s, 900 ft3 say so. Supply and exhaust are not added:
the larger counts. Exit status: 0 reckoned; 1 it does not hold (a source is still there); 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from vestry.cli import output
from vestry.cli.answers import (
    AfterAnswer,
    AirAnswer,
    ClearedAnswer,
    LimitAnswer,
    PartAnswer,
    RelevanceAnswer,
    cited,
)
from vestry.cli.asking_rooms import Asked, operations_argument, operations_of, print_answer, short, told_source
from vestry.room import AirRefused, air_changes, clearance, relevance, remaining
from vestry.room.air import Part, Relevance
from vestry.trade.catalogue import load_catalogue
from vestry.trade.operations import Operations
from vestry.trade.operations_values import AirLimit, MixingFactor
from vestry.trade.quantities import area, flow, length, number, unit_of, volume
from vestry.trade.words import Words, load_words

USUAL = ("90", "99", "99.9")


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("--ach", metavar="NUMBER", help="air changes an hour")
    parser.add_argument("--flow", metavar="FLOW", help="the room's flow of air: 600 m3/h, 350 cfm, 170 l/s")
    parser.add_argument("--supply", metavar="FLOW", help="instead of --flow, with --exhaust or alone")
    parser.add_argument("--exhaust", metavar="FLOW", help="the larger of supply and exhaust counts")
    parser.add_argument("--volume", metavar="VOLUME", help="of the room: 50 m3, 1800 ft3")
    parser.add_argument("--area", metavar="AREA", help="with --height instead of a volume: 20 m2, 215 ft2")
    parser.add_argument("--height", metavar="LENGTH", help="2.5 m, 8 ft")
    parser.add_argument("--cleaner", nargs="+", action="extend", default=[], metavar="FLOW", help="air cleaners, added")
    parser.add_argument(
        "--cleaner-ach",
        nargs="+",
        action="extend",
        default=[],
        metavar="NUMBER",
        help="the same in air changes an hour",
    )
    parser.add_argument(
        "--removal",
        nargs="+",
        action="extend",
        default=[],
        metavar="PERCENT",
        help="how much is to be gone (90 99 99.9)",
    )
    parser.add_argument("--mixing", default="1", metavar="FACTOR", help="1 perfect (default) to 10 very poor")
    parser.add_argument("--after", metavar="MINUTES", help="what is left after so many minutes")
    parser.add_argument("--source-present", action="store_true", help="somebody or something still gives off aerosol")
    parser.add_argument("--hazard", metavar="ID", help="say whether the air matters for this hazard")
    parser.add_argument("--aerosol", action="store_true", help="a task was done that makes aerosol")
    operations_argument(parser)


@dataclass(frozen=True)
class Question:
    """What was asked, read."""

    ach: Fraction
    parts: tuple[Part, ...]
    mixing: Fraction
    removals: tuple[Fraction, ...]
    after: Fraction | None
    source_present: bool
    relevance: Relevance | None


def run(options: argparse.Namespace) -> int:
    """Reckon and print."""
    operations, words = operations_of(options), load_words("en")
    answer = answer_of(question_of(options), operations, words)
    print_answer(answer, describe(answer, words), options, words)
    return 0 if answer.holds else 1


def question_of(options: argparse.Namespace) -> Question:
    """What was typed; BadFacts with everything that is wrong with it."""
    asked = Asked("air")
    mixing = asked.read(options.mixing, "mixing", number)
    removals = tuple(asked.all(options.removal or USUAL, "removal", number))
    after = asked.read(options.after, "after", number)
    ventilation = _ventilation(options, asked)
    relevant = _relevance(options, asked)
    asked.done()
    assert ventilation is not None, "no problem was told"
    assert mixing is not None, "no problem was told"
    try:
        for removal in removals:
            clearance(Fraction(1), removal, mixing)
        if after is not None:
            remaining(Fraction(1), after, mixing)
    except AirRefused as bad:
        asked.wrong(bad.field, bad.what)
    asked.done()
    return Question(*ventilation, mixing, removals, after, options.source_present, relevant)


def _ventilation(options: argparse.Namespace, asked: Asked) -> tuple[Fraction, tuple[Part, ...]] | None:
    flows = {name: asked.read(getattr(options, name), name, flow) for name in ("flow", "supply", "exhaust")}
    cleaners = asked.all(options.cleaner, "cleaner", flow)
    room = asked.read(options.volume, "volume", volume)
    wide, high = asked.read(options.area, "area", area), asked.read(options.height, "height", length)
    if (wide is None) != (high is None):
        asked.wrong("height" if high is None else "area", "area and height go together")
    elif wide is not None and high is not None:
        if room is not None:
            asked.wrong("volume", "give the volume, or area and height")
        room = wide * high
    _one_system(options, asked)
    ach, more = asked.read(options.ach, "ach", number), asked.all(options.cleaner_ach, "cleaner-ach", number)
    if asked.problems:
        return None
    try:
        return air_changes(ach=ach, volume=room, cleaners=cleaners, cleaner_ach=more, **flows)
    except AirRefused as bad:
        asked.wrong(bad.field, bad.what)
        return None


def _one_system(options: argparse.Namespace, asked: Asked) -> None:
    """A flow with a unit beside a volume without one leaves open what the volume is in."""
    given = {name: getattr(options, name) for name in ("flow", "supply", "exhaust", "volume", "area", "height")}
    given |= {f"cleaner {number}": one for number, one in enumerate(options.cleaner, 1)}
    texts = {name: text for name, text in given.items() if text is not None}
    if asked.problems or not texts:
        return
    bare = [name for name, text in texts.items() if not unit_of(text)]
    if bare and len(bare) < len(texts):
        asked.wrong(bare[0], "the others have a unit: write one here too")


def _relevance(options: argparse.Namespace, asked: Asked) -> Relevance | None:
    if options.hazard is None:
        return None
    hazards = load_catalogue().hazards
    if options.hazard not in hazards:
        asked.wrong("hazard", f"no hazard is called {options.hazard}; there are {', '.join(hazards)}")
        return None
    return relevance(hazards[options.hazard], options.aerosol)


def answer_of(asked: Question, operations: Operations, words: Words) -> AirAnswer:
    """The answer, as it is printed."""
    holds = not asked.source_present
    found = [clearance(asked.ach, removal, asked.mixing) for removal in asked.removals] if holds else []
    left = remaining(asked.ach, asked.after, asked.mixing) if holds and asked.after is not None else None
    limits = [one for one in operations.all(AirLimit) if one.measure == "air-changes" and one.at_least is not None]
    relevant = asked.relevance
    says = ["formula", "rounding", *(["poor-mixing"] if asked.mixing == 1 else [])] if holds else ["source-present"]
    says += [relevant.answer] if relevant else []
    return AirAnswer(
        operations=operations.digest,
        ach=float(asked.ach),
        parts=tuple(PartAnswer(source=one.source, ach=float(one.ach), counted=one.counted) for one in asked.parts),
        mixing=float(asked.mixing),
        holds=holds,
        why=None if holds else "source-present",
        clearances=tuple(
            ClearedAnswer(removal=float(one.removal), minutes=one.minutes, rounded=one.rounded, wait=one.wait)
            for one in found
        ),
        after=None
        if left is None or asked.after is None
        else AfterAnswer(minutes=float(asked.after), remaining=left, removed=100 - left),
        relevance=None
        if relevant is None
        else RelevanceAnswer(
            hazard=relevant.hazard,
            answer=relevant.answer,
            routes=relevant.routes,
            source=relevant.source,
            certainty=relevant.certainty,
        ),
        limits=tuple(
            LimitAnswer(
                rooms=one.rooms,
                at_least=one.at_least,
                met=asked.ach >= Fraction(str(one.at_least)),
                cited=cited(one, operations),
            )
            for one in limits
            if one.at_least is not None
        ),
        says=tuple(words.term("air", key) for key in (*says, "informs")),
        formula=cited(operations.one(MixingFactor, "perfect"), operations),
    )


def short_removal(percent: float) -> str:
    """As it was asked for: 99.99999999999 is not rounded up to all of it."""
    return str(percent).removesuffix(".0")


def describe(answer: AirAnswer, words: Words) -> Iterator[str]:
    """The answer as it is read in a terminal."""
    yield f"{short(answer.ach)} air changes an hour, mixing factor {short(answer.mixing)}"
    if len(answer.parts) > 1:
        for part in answer.parts:
            more = "" if part.counted else f" ({words.term('air-part', 'not-counted')})"
            yield f"  {words.term('air-part', part.source)}: {short(part.ach)}{more}"
    yield ""
    if answer.clearances:
        rows = [
            (f"{short_removal(one.removal)} %", f"{one.wait} min", f"{one.minutes:.1f}", one.rounded)
            for one in answer.clearances
        ]
        yield output.table(rows, ("removed", "wait", "by the formula", "as tables print it"))
    if answer.after:
        left = f"{answer.after.remaining:.3g}" if answer.after.remaining >= 1e-6 else "less than 0.000001"
        yield f"After {short(answer.after.minutes)} min: {left} % is left."
    for one in answer.limits:
        kinds = ", ".join(words.term("room-kind", kind) for kind in one.rooms)
        kept = "met" if one.met else "NOT met"
        yield f"At least {short(one.at_least)} for {kinds}: {kept} ({told_source(one.cited, words)})"
    yield ""
    for says in answer.says:
        yield output.paragraph(says)
    yield output.paragraph(f"Source: {answer.formula.publisher}, {answer.formula.title}, {answer.formula.year}.")

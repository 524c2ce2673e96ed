"""Amounts in words and short numbers, for a terminal and for the lead's desk."""

from __future__ import annotations

from vestry.sequence.amounts_found import Bought, ContributionRow, Kept, Number, ReachingRow
from vestry.sequence.subject import Subject
from vestry.sequence.telling import place_of, told_place
from vestry.trade.words import UnknownWord, Words

CLASSES = ("mucosa", "skin", "helper", "clothing", "place")
WEAK = ("judgement", "from-memory", "inferred")


def endpoint(name: str, words: Words) -> str:
    """A class, or exposure."""
    return words.term("amounts", name) if name == "exposure" else words.endpoint(name)


def in_thousand(number: Number) -> str:
    """A chance as runs in a thousand, with two standard errors: `29 ± 2`."""
    value, around = number.value * 1000, number.error * 2000
    digits = 0 if around >= 0.95 else 1 if around >= 0.095 else 2
    return f"{value:.{digits}f} ± {max(around, 10**-digits):.{digits}f}"


def signed(number: Number) -> str:
    """The same of a difference, with its sign."""
    return ("+" if number.value > 0 else "") + in_thousand(number).replace("-", "−")


def relative(value: float) -> str:
    """A load relative to the source: nothing, or one in so many."""
    if value <= 0:
        return "nothing"
    if value > 0.5:
        return f"{value:.2g} of it"
    return f"1 in {_rounded(1 / value)}"


def _rounded(number: float) -> str:
    if number >= 1e6:
        power = len(f"{number:.0f}") - 1
        return f"{number / 10**power:.1f} × 10^{power}"
    step = 10 ** max(len(f"{number:.0f}") - 2, 0)
    return f"{round(number / step) * step:,.0f}"


def of_row(row: ReachingRow, words: Words) -> str:
    """What a row is about."""
    return words.surface(row.surface) if row.surface else endpoint(row.endpoint, words)


def of_contribution(row: ContributionRow, subject: Subject, words: Words) -> str:
    """A step or an event, in words, with the number of its step: that of the plan where it is one."""
    if row.kind == "step":
        return f"{told_place(row.id, subject, words)}: {words.term('amounts', 'whole-step')}"
    try:
        said = words.event(row.id)
    except UnknownWord:
        said = row.id.partition("@")[0]
    return f"{place_of(row.step, subject.numbers, words)}: {said}" if row.step else said


def of_change(change: Bought, subject: Subject, words: Words) -> str:
    """A change, in words; the step that it drops or comes before by its number and short name."""
    said = words.term("change-bought", change.kind)
    at = told_place(change.at, subject, words) if change.at else ""
    match change.kind:
        case "drop-hygiene":
            return f"{at}: {said}"
        case "add-hygiene":
            where = f"before {at}" if at else "at the end"
            return f"{said} {words.agent(change.to or '')} {where}"
        case "agent":
            return f"{words.act(change.at or '')} {said}: {words.agent(change.to or '')}"
        case "change-gloves":
            return f"{said} before {at}"
        case _:
            return said


def of_kept(one: Kept, words: Words) -> str:
    """What is kept, and the rules that ask for it."""
    what = (
        words.term("change-bought", f"{one.what}-kept")
        if one.what in ("observer", "second-person")
        else words.act(one.what)
    )
    rules = ", ".join(
        words.rule(rule).name if rule != "local-policy" else "the unit's own policy" for rule in one.rules
    )
    return f"{what} ({rules})"

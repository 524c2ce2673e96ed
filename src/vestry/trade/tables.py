"""Cells of a table that somebody filled in elsewhere, to dates and whole numbers; and what cannot be one, by row.

A date that can be read in two ways is refused unless whoever hands the table in says in which order it is. Nothing is
guessed from other rows: tables are pasted together from several.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from vestry.trade.told import told

DateOrder = Literal["unsaid", "day-first", "month-first"]
_YEAR_FIRST = re.compile(r"^(\d{4})([-/.])(\d{1,2})\2(\d{1,2})$")
_YEAR_LAST = re.compile(r"^(\d{1,2})([-/.])(\d{1,2})\2(\d{4})$")
_SHORT = re.compile(r"^\d{1,2}[-/.]\d{1,2}[-/.]\d{2}$")
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""What makes a spreadsheet take a text for a formula."""


@dataclass(frozen=True, order=True)
class RowProblem:
    """What is wrong in one cell: the line in the file (0: the whole of it), the column, and what would be right."""

    line: int
    column: str
    what: str


class BadCell(ValueError):
    """A cell that is not what its column wants; `what` says what would be right."""

    def __init__(self, what: str) -> None:
        self.what = what
        super().__init__(what)


def read_date(text: str, order: DateOrder) -> datetime.date:
    """The day in a cell. BadCell for what is none, and for what can be read in two ways while `order` is unsaid."""
    found = _YEAR_FIRST.match(text)
    if found:
        return _day(text, int(found[1]), int(found[3]), int(found[4]))
    found = _YEAR_LAST.match(text)
    if not found:
        hint = told("write the year with four digits") if _SHORT.match(text) else told("write it as 2026-04-03")
        raise BadCell(told("%(text)r is no date that can be read: %(hint)s", text=text, hint=hint))
    one, two, year = int(found[1]), int(found[3]), int(found[4])
    if order == "unsaid":
        return _unsaid(text, one, two, year)
    day, month = (one, two) if order == "day-first" else (two, one)
    if month > 12 >= day:
        said = told("day first") if order == "day-first" else told("month first")
        raise BadCell(
            told(
                "%(text)r is not %(said)s, as was said of the file: it holds dates in several orders",
                text=text,
                said=said,
            )
        )
    return _day(text, year, month, day)


def _unsaid(text: str, one: int, two: int, year: int) -> datetime.date:
    if year < datetime.MINYEAR:
        raise BadCell(told("%(text)r is no date", text=text))
    if one > 12 >= two:
        return _day(text, year, two, one)
    if two > 12 >= one:
        return _day(text, year, one, two)
    if one == two:
        return _day(text, year, one, two)
    if one > 12:
        raise BadCell(told("%(text)r is no date", text=text))
    first, second = datetime.date(year, two, one) if one <= 28 else None, datetime.date(year, one, min(two, 28))
    either = " or ".join(f"{day:%-d %B}" for day in (first, second) if day is not None)
    raise BadCell(
        told(
            "%(text)r can be %(either)s: write it as %(year)s-%(two)s-%(one)s, or say in which order the dates are",
            text=text,
            either=either,
            year=year,
            two=format(two, "02"),
            one=format(one, "02"),
        )
    )


def _day(text: str, year: int, month: int, day: int) -> datetime.date:
    try:
        return datetime.date(year, month, day)
    except ValueError:
        raise BadCell(told("%(text)r is no date", text=text)) from None


def read_whole(text: str, least: int, most: int) -> int:
    """A whole number from `least` to `most`. BadCell for a negative one, one with a fraction, and any other text."""
    if re.fullmatch(r"-\d+([.,]\d+)?", text):
        raise BadCell(
            told(
                "%(text)s is below nought; a number from %(least)s to %(most)s is wanted",
                text=text,
                least=least,
                most=most,
            )
        )
    if not re.fullmatch(r"\d{1,9}", text):
        raise BadCell(
            told(
                "%(text)r is no whole number; from %(least)s to %(most)s, without separators",
                text=text,
                least=least,
                most=most,
            )
        )
    number = int(text)
    if not least <= number <= most:
        raise BadCell(told("%(number)s is not from %(least)s to %(most)s", number=number, least=least, most=most))
    return number


def is_formula(text: str) -> bool:
    """Whether a spreadsheet would work this text out instead of showing it. A plain negative number is none."""
    return text.startswith(FORMULA_STARTS) and not re.fullmatch(r"[+-]?\d+([.,]\d+)?", text)


def guarded(text: str) -> str:
    """A text as it is exported: with an apostrophe before what a spreadsheet would work out."""
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def unguarded(text: str) -> str:
    """The text as it was before `guarded`."""
    return text[1:] if text.startswith("'") and text[1:].startswith(FORMULA_STARTS) else text


def heads(given: Iterable[str]) -> list[str]:
    """Names of columns as they are looked up: small letters, hyphens between words."""
    return [re.sub(r"[\s_]+", "-", one.strip().lower()) for one in given]

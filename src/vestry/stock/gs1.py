"""A scanned or typed code to what it says of a thing: GTIN, lot, expiry, serial. By GS1's rules; biip knows the fields.

1. A code is read as a GS1 message only when it says so (symbology prefix, FNC1 first, brackets) or, without a prefix,
   when it is no bare item number and is read to its end. Eight, twelve, thirteen or fourteen bare digits are an item
   number and nothing else, whatever fields their digits would spell.
2. A field that cannot be right (a date that is none, a check digit that does not fit) is said, and the others are kept.
3. Day 00 is the last day of its month. A year is in the century that lies nearest to this year.
4. A scanner that types sends the group separator as some key: those of `separators` are taken for it.
5. Other issuers' codes are named and not read.
"""

from __future__ import annotations

import calendar
import datetime
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Literal

from biip import ParseError
from biip import parse as biip_parse
from biip.checksums import gs1_standard_check_digit
from biip.gs1_application_identifiers import GS1ApplicationIdentifier
from biip.gs1_element_strings import GS1ElementString
from biip.gtin import Gtin
from pydantic import Field

from vestry.stock.scanners import GS, SEPARATORS, keyboard_hint, other_issuer, with_separators
from vestry.trade.values import Value

LONGEST = 500
ITEM_NUMBER_LENGTHS = (8, 12, 13, 14)
Sort = Literal["gs1", "item-number", "unread"]

# FNC1 in first place: Code 128, DataBar, DataMatrix (also with ECI, and the rectangular), QR (also with ECI), DotCode.
_GS1_PREFIXES = {"]C1", "]e0", "]d2", "]d5", "]d8", "]dB", "]Q3", "]Q4", "]J1"}
_NUMBER_PREFIXES = {"]E0", "]E4", "]I1"}
_PREFIX = re.compile(r"^\][A-Za-z]\w")
_BRACKET = re.compile(r"\(([0-9]{2,4})\)")
_AS_PRINTED = re.compile(r"[0-9](?:[ -]?[0-9]){7,13}")
_DATES = {"11": "production", "13": "packaging", "15": "best-before", "17": "expiry"}
_EXPIRY_WITH_HOUR = "7003"
_CHECKED = {"00": 18, "02": 14}
"""Numbers with a check digit besides the item's own, by their digits: a pallet's, and that of what is inside."""
_LENGTHS = {"01": 14, **_CHECKED, **dict.fromkeys(_DATES, 6)}
_NAMES = {"10": "lot", "21": "serial", "30": "count", "37": "count"}


class ScanProblem(Value):
    """Something in a code that cannot be right, or that should be looked at: the field, and what."""

    field: str
    what: str


class Scan(Value):
    """What a code says.

    sort       `gs1`: a message with fields; `item-number`: a bare one; `unread`: neither
    gtin       14 digits; None: none, or its check digit does not fit
    packaging  the indicator digit of a packaging level (1 to 8); None: the thing itself, or not known
    other      further fields as they stand, by application identifier
    problems   what cannot be right; notes: what should be looked at
    """

    sort: Sort
    symbology: str | None = None
    gtin: str | None = None
    packaging: int | None = None
    lot: str | None = None
    expiry: datetime.date | None = None
    production: datetime.date | None = None
    best_before: datetime.date | None = None
    serial: str | None = None
    count: int | None = None
    other: dict[str, str] = Field(default_factory=dict)
    problems: tuple[ScanProblem, ...] = ()
    notes: tuple[ScanProblem, ...] = ()

    @property
    def whole(self) -> bool:
        """Whether it was read and nothing in it is wrong."""
        return self.sort != "unread" and not self.problems


@dataclass
class _Reading:
    """The fields as they are found."""

    year: int
    fields: dict[str, str] = field(default_factory=dict)
    values: dict[str, Any] = field(default_factory=dict)
    problems: list[ScanProblem] = field(default_factory=list)
    notes: list[ScanProblem] = field(default_factory=list)

    def wrong(self, name: str, what: str) -> None:
        self.problems.append(ScanProblem(field=name, what=what))

    def keep(self, ai: str, value: str) -> None:
        if self.fields.get(ai, value) != value:
            self.wrong(ai, f"stands twice, as {self.fields[ai]} and as {value}")
        self.fields.setdefault(ai, value)

    def scan(self, sort: Sort, symbology: str | None) -> Scan:
        known = {"01", *_DATES, *_NAMES}
        return Scan(
            sort=sort,
            symbology=symbology,
            other={ai: value for ai, value in self.fields.items() if ai not in known or ai == "13"},
            problems=tuple(self.problems),
            notes=tuple(self.notes),
            **self.values,
        )


def read_code(text: str, year: int, separators: tuple[str, ...] = SEPARATORS) -> Scan:
    """What a code says.

    year         this year, by which a date's century is told
    separators   what this unit's scanners send for the group separator
    Never raises for any text: what cannot be read is said in the answer.
    """
    reading = _Reading(year)
    if len(text) > LONGEST:
        reading.wrong("", f"too long for a code ({len(text)} characters; at most {LONGEST})")
        return reading.scan("unread", None)
    raw = with_separators(text, separators)
    strange = other_issuer(raw)
    if strange:
        reading.wrong("", strange)
        return reading.scan("unread", None)
    symbology, message = _prefix(raw, reading)
    if reading.problems:
        return reading.scan("unread", symbology)
    if not message:
        reading.wrong("", "nothing was scanned")
        return reading.scan("unread", symbology)
    if symbology is None and _AS_PRINTED.fullmatch(message):
        message = re.sub("[ -]", "", message)  # as the figures stand under the bars
    if _is_bare_number(symbology, message):
        _item_number(message, "gtin", reading)
        return reading.scan("item-number", symbology)
    if re.match(r"^https?://", message, re.IGNORECASE):
        return _link(message, reading, symbology)
    if message.startswith("("):
        _brackets(message, reading)
    else:
        _fields(message.lstrip(GS), reading)
    says_so = symbology in _GS1_PREFIXES or raw.startswith((GS, "("))
    read = says_so or {"00", "01"} & {*reading.fields} or len(reading.fields) > 1
    if not (reading.fields and read) or (symbology is None and _unread(reading) and "01" not in reading.fields):
        hint = keyboard_hint(text)
        reading.problems[:] = [ScanProblem(field="", what=hint or "this is no GS1 code and no item number")]
        reading.values.clear()
        reading.fields.clear()
        return reading.scan("unread", symbology)
    _look_for_a_lost_separator(reading)
    return reading.scan("gs1", symbology)


def _prefix(raw: str, reading: _Reading) -> tuple[str | None, str]:
    if not _PREFIX.match(raw):
        return None, raw
    prefix, message = raw[:3], raw[3:]
    if prefix in ("]D2", "]c1", "]q3") or (prefix == "]E0" and not _AS_PRINTED.fullmatch(message)):
        reading.wrong(
            "", f"the prefix came as {prefix}: Caps Lock is on at the scanner, and letters of the lot are changed"
        )
    elif prefix not in _GS1_PREFIXES | _NUMBER_PREFIXES and not re.match(r"https?://", message, re.IGNORECASE):
        reading.wrong("", f"a code that does not say that it is a GS1 one ({prefix}); type lot and expiry as printed")
    return prefix, message


def _is_bare_number(symbology: str | None, message: str) -> bool:
    if symbology in _NUMBER_PREFIXES:
        return True
    return symbology is None and message.isascii() and message.isdigit() and len(message) in ITEM_NUMBER_LENGTHS


def _item_number(digits: str, name: str, reading: _Reading) -> None:
    """Take an item number if its check digit fits; say what would fit if not."""
    if not digits.strip("0"):
        reading.wrong(name, "noughts alone name no item")
        return
    try:
        gtin = Gtin.parse(digits)
    except ParseError as error:
        reading.wrong(name, str(error).replace("Invalid GTIN check digit for ", "the check digit does not fit in "))
        return
    reading.values["gtin"] = gtin.as_gtin_14()
    if gtin.packaging_level:
        reading.values["packaging"] = gtin.packaging_level


def _brackets(message: str, reading: _Reading) -> None:
    """The printed form, each bracket by itself: one that is too long or too short does not run into the next."""
    marks = [one for one in _BRACKET.finditer(message) if _known(one[1])]
    if not marks or marks[0].start() > 0:
        reading.wrong("", f"what follows is no field: {message[:30]!r}")
    for number, mark in enumerate(marks):
        end = marks[number + 1].start() if number + 1 < len(marks) else len(message)
        value = message[mark.end() : end].strip().strip(GS)
        if mark[1] in _LENGTHS and len(value) != _LENGTHS[mark[1]]:
            name = _DATES.get(mark[1], "gtin" if mark[1] == "01" else mark[1])
            wanted = "six digits, YYMMDD" if mark[1] in _DATES else f"{_LENGTHS[mark[1]]} digits"
            reading.wrong(name, f"is {wanted} (got {value[:40]!r})")
        elif (found := _next(mark[1] + value, reading)) is not None:
            reading.keep(mark[1], found[1])
            if found[2] < len(mark[1] + value):
                reading.wrong(mark[1], f"is longer than its field (got {value[:40]!r})")


def _known(ai: str) -> GS1ApplicationIdentifier | None:
    try:
        found = GS1ApplicationIdentifier.extract(ai)
    except ParseError:
        return None
    return found if found.ai == ai else None


def _fields(message: str, reading: _Reading) -> None:
    """Field by field to the end, or to where nothing can be made of it."""
    rest = message
    while rest:
        found = _next(rest, reading)
        if found is None:
            return
        ai, value, taken = found
        reading.keep(ai, value)
        rest = rest[taken:].lstrip(GS)


def _next(rest: str, reading: _Reading) -> tuple[str, str, int] | None:
    try:
        ai = GS1ApplicationIdentifier.extract(rest)
    except ParseError:
        reading.wrong("", f"what follows is no field: {rest[:30]!r}")
        return None
    if ai.ai in _DATES:  # taken by its length: a date that is none must not take the other fields with it
        value = rest[2:8]
        if not re.fullmatch("[0-9]{6}", value):
            reading.wrong(_DATES[ai.ai], f"is six digits, YYMMDD (got {value!r})")
            return None
        _date(ai.ai, value, reading)
        return ai.ai, value, 8
    if ai.ai == "01":
        value = rest[2:16]
        if not re.fullmatch("[0-9]{14}", value):
            reading.wrong("gtin", f"is fourteen digits (got {value!r})")
            return None
        if "gtin" not in reading.values:
            _item_number(value, "gtin", reading)
        return ai.ai, value, 16
    if ai.ai in _CHECKED:
        return _checked_number(ai.ai, rest, reading)
    try:
        element = GS1ElementString.extract(rest)
    except ParseError:
        reading.wrong(_NAMES.get(ai.ai, ai.ai), f"cannot be read: {rest.split(GS, 1)[0][:40]!r}")
        until = rest.find(GS)
        return None if until < 0 else (ai.ai, "", until)
    taken = len(ai.ai) + len(element.value)
    if ai.separator_required and taken < len(rest) and rest[taken] != GS:
        reading.wrong(
            _NAMES.get(ai.ai, ai.ai),
            f"is too long, or holds a character that no code may: {rest.split(GS, 1)[0][:40]!r}",
        )
        until = rest.find(GS)
        return None if until < 0 else (ai.ai, element.value, until)
    if ai.ai == _EXPIRY_WITH_HOUR:
        _date("17", element.value[:6], reading)
    if ai.ai in _NAMES and _NAMES[ai.ai] not in reading.values:
        reading.values[_NAMES[ai.ai]] = int(element.value or 0) if _NAMES[ai.ai] == "count" else element.value
    return ai.ai, element.value, taken


def _checked_number(ai: str, rest: str, reading: _Reading) -> tuple[str, str, int] | None:
    """A pallet's number, or that of what is inside, with its check digit."""
    length = _CHECKED[ai]
    value = rest[2 : 2 + length]
    if not re.fullmatch(f"[0-9]{{{length}}}", value):
        reading.wrong(ai, f"is {length} digits (got {value!r})")
        return None
    if (fits := gs1_standard_check_digit(value[:-1])) != int(value[-1]):
        reading.wrong(ai, f"the check digit does not fit in {value!r}: Expected {fits}, got {value[-1]}.")
    return ai, value, 2 + length


def _date(ai: str, value: str, reading: _Reading) -> None:
    name = _DATES[ai]
    year, month, day = _century(int(value[:2]), reading.year), int(value[2:4]), int(value[4:])
    try:
        day = day or calendar.monthrange(year, month)[1]
        found = datetime.date(year, month, day)
    except (ValueError, calendar.IllegalMonthError):
        reading.wrong(name, f"{value} is no date (YYMMDD)")
        return
    if name != "packaging":
        key = name.replace("-", "_")
        if reading.values.get(key, found) != found:
            reading.wrong(name, f"stands twice, as {reading.values[key]} and as {found}")
        reading.values.setdefault(key, found)


def _century(two: int, year: int) -> int:
    """GS1's rule: 51 to 99 years ahead is the last century, 50 to 99 behind the next, else this one."""
    ahead = two - year % 100
    this = year - year % 100
    if 51 <= ahead <= 99:
        return this - 100 + two
    if -99 <= ahead <= -50:
        return this + 100 + two
    return this + two


def _link(message: str, reading: _Reading, symbology: str | None) -> Scan:
    """A GS1 Digital Link: the same fields in an address."""
    message = re.sub("^https?:", lambda scheme: scheme[0].lower(), message, flags=re.IGNORECASE)
    found = biip_parse(message).gs1_digital_link_uri
    if found is None:
        # biip drops all of it for one bad field: read the pairs of path and query ourselves.
        pairs = list(_link_pairs(message))
        if not pairs or pairs[0][0] != "01":
            reading.wrong("", "an address, and none that names an item by GS1's rules")
            return reading.scan("unread", symbology)
    else:
        pairs = [(one.ai.ai, one.value) for one in found.element_strings]
    _fields("".join(f"{ai}{value}{GS}" for ai, value in pairs), reading)
    return reading.scan("gs1", symbology)


def _unquoted(text: str) -> str:
    """A part of an address with %2F as the / that it stands for; lots have no letters beyond ASCII."""
    return re.sub("%([2-7][0-9A-Fa-f])", lambda found: chr(int(found[1], 16)), text)


def _link_pairs(message: str) -> Iterator[tuple[str, str]]:
    bare = re.sub(r"^https?://[^/]*/", "", message, flags=re.IGNORECASE).partition("#")[0]
    path, _, query = bare.partition("?")
    parts = [_unquoted(one) for one in path.split("/")]
    start = next((number for number in range(0, len(parts) - 1) if parts[number] == "01"), None)
    if start is None:
        return
    for number in range(start, len(parts) - 1, 2):
        if _known(parts[number]):
            yield parts[number], parts[number + 1].zfill(14) if parts[number] == "01" else parts[number + 1]
    for pair in query.split("&"):
        ai, _, value = pair.partition("=")
        if value and _known(ai):
            yield ai, _unquoted(value)


def _unread(reading: _Reading) -> bool:
    return any(one.field == "" for one in reading.problems)


def _look_for_a_lost_separator(reading: _Reading) -> None:
    """A lot or serial that ends like a further field was perhaps sent without its separator."""
    for ai, name in (("10", "lot"), ("21", "serial")):
        value = reading.fields.get(ai, "")
        for inner, what in (("17", "expiry"), ("11", "production date")):
            at = value.find(inner, 1)
            if (
                inner not in reading.fields
                and at > 0
                and re.match(r"\d{2}(0[1-9]|1[0-2])([0-2]\d|3[01])", value[at + 2 :])
            ):
                reading.notes.append(
                    ScanProblem(
                        field=name,
                        what=f"{value} may hold the {what} too: compare with the label; the scanner may not send the "
                        "separator",
                    )
                )
                return

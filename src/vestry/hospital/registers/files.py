"""A file that was handed in, CSV or XLSX, to rows of text; every reason why not, with its line.

1. Size is bounded before anything is unpacked: bytes, then what they unpack to, then rows and columns.
2. Text is UTF-8, or UTF-16 with its mark. Bytes in another encoding are refused with their line: a guess would change
   names.
3. A formula is refused: what it comes to is not in the file, or is what another machine made of it.
"""

from __future__ import annotations

import csv
import datetime
import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from vestry.trade.tables import RowProblem, heads, is_formula, unguarded
from vestry.trade.told import told

LARGEST = 4_000_000
UNPACKED = 60_000_000
MOST_ROWS = 6_000
MOST_COLUMNS = 60
LONGEST_CELL = 500
MOST_PROBLEMS = 100
SEPARATOR = re.compile(r"sep=([,;\t])\r?\n", re.IGNORECASE)


class BadFile(ValueError):
    """A file that cannot be read, or not all of it: every problem found."""

    def __init__(self, problems: list[RowProblem]) -> None:
        self.problems = sorted(problems)[:MOST_PROBLEMS]
        super().__init__("; ".join(f"{one.line}: {one.what}" for one in self.problems))


@dataclass(frozen=True)
class Row:
    """One row: its line in the file, and its cells by column; empty cells are left out."""

    line: int
    cells: dict[str, str]


def read_file(raw: bytes) -> list[Row]:
    """The rows of a table with one line of heads. BadFile with every problem."""
    if not raw.strip(b"\x00\r\n\t ,;"):
        raise _whole(told("the file is empty"))
    if len(raw) > LARGEST:
        raise _whole(too_large(len(raw)))
    if raw.startswith(b"PK\x03\x04"):
        return _rows(_spreadsheet(raw))
    if raw.startswith(b"\xd0\xcf\x11\xe0"):
        raise _whole(told("an old spreadsheet format (.xls), or one with a password; save it as .xlsx or .csv"))
    return _rows(_csv(_decoded(raw)))


def too_large(size: int) -> str:
    """What is said of a file that is too large."""
    return told(
        "the file is too large (%(size)s MB; at most %(most)s MB): split it, or leave out what is not asked for",
        size=format(size / 1e6, ".0f"),
        most=format(LARGEST / 1e6, ".0f"),
    )


def _whole(what: str) -> BadFile:
    return BadFile([RowProblem(0, "", what)])


def _decoded(raw: bytes) -> str:
    for mark, encoding in ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"), (b"", "utf-8-sig")):
        if raw.startswith(mark):
            try:
                text = raw.decode(encoding)
            except UnicodeDecodeError as error:
                line = raw.count(b"\n", 0, error.start) + 1
                what = told("not UTF-8 text from here on; save the file as UTF-8 (a spreadsheet calls it CSV UTF-8)")
                raise BadFile([RowProblem(line, "", what)]) from None
            if "\x00" in text:
                raise _whole(told("not a text: it holds null characters"))
            return text
    raise AssertionError("the last encoding fits any start")


Cells = list[tuple[int, list[str]]]


def _csv(text: str) -> Cells:
    told_apart = SEPARATOR.match(text)  # a spreadsheet's own first line, which is no row
    first = text.split("\n", 1)[0]
    separator = told_apart[1] if told_apart else max(",;\t", key=first.count)
    found: Cells = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        for cells in reader:
            if told_apart and reader.line_num == 1:
                continue
            found.append((reader.line_num, cells))
            if len(found) > MOST_ROWS + 1:
                raise _whole(told("more than %(most)s rows; split the file", most=MOST_ROWS))
    except csv.Error as error:
        raise BadFile([RowProblem(reader.line_num, "", told("not a CSV row: %(error)s", error=error))]) from None
    return found


def _spreadsheet(raw: bytes) -> Cells:
    import openpyxl  # a third of a second, for this alone

    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as packed:
            if sum(one.file_size for one in packed.infolist()) > UNPACKED:
                raise _whole(
                    told(
                        "unpacks to more than %(most)s MB; it is no list of people or stock",
                        most=format(UNPACKED / 1e6, ".0f"),
                    )
                )
        book = openpyxl.load_workbook(io.BytesIO(raw), read_only=True, data_only=False, keep_links=False)
        sheet = next(one for one in book.worksheets if one.sheet_state == "visible")
        sheet.reset_dimensions()  # what a program wrote of its size may be less than there is, and cut rows off
        return list(_sheet_rows(sheet.iter_rows()))
    except BadFile:
        raise
    except Exception as bad:  # a file from anywhere: what it is made of raises whatever it likes
        raise _whole(
            told("not a spreadsheet that can be read (%(kind)s); save it as .xlsx or .csv", kind=type(bad).__name__)
        ) from None


def _sheet_rows(rows: Any) -> Iterator[tuple[int, list[str]]]:
    problems: list[RowProblem] = []
    for line, cells in enumerate(rows, 1):
        if line > MOST_ROWS + 1:
            raise _whole(told("more than %(most)s rows; split the file", most=MOST_ROWS))
        cells = cells[: max((number for number, one in enumerate(cells, 1) if one.value is not None), default=0)]
        if len(cells) > MOST_COLUMNS:
            raise _whole(told("more than %(most)s columns", most=MOST_COLUMNS))
        texts = []
        for cell in cells:
            if cell.data_type == "f":
                place = f"{cell.coordinate}: " if hasattr(cell, "coordinate") else ""
                problems.append(RowProblem(line, "", told("%(place)sa formula; paste the values instead", place=place)))
            elif cell.data_type == "e":
                problems.append(RowProblem(line, "", told("an error of the spreadsheet (%(value)s)", value=cell.value)))
            texts.append(_text(cell.value))
        yield line, texts
    if problems:
        raise BadFile(problems)


def _text(value: Any) -> str:
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case datetime.datetime():
            return value.date().isoformat() if value.time() == datetime.time() else value.isoformat(sep=" ")
        case datetime.date():
            return value.isoformat()
        case float() if value.is_integer():
            return str(int(value))
        case _:
            return str(value)


def _rows(cells: Cells) -> list[Row]:
    head_line, head = next(((line, texts) for line, texts in cells if any(one.strip() for one in texts)), (0, []))
    names = heads(head)
    while names and not names[-1]:
        names.pop()
    problems = _head_problems(head_line, names)
    found: list[Row] = []
    for line, texts in cells:
        if line <= head_line or not any(one.strip() for one in texts):
            continue
        if heads(texts)[: len(names)] == names:  # two lists pasted into one
            problems.append(RowProblem(line, "", told("the heads stand here again: one line of heads, above all rows")))
            continue
        row: dict[str, str] = {}
        if any(one.strip() for one in texts[len(names) :]):
            problems.append(
                RowProblem(line, "", told("%(cells)s cells under %(heads)s heads", cells=len(texts), heads=len(names)))
            )
        for name, text in zip(names, texts, strict=False):
            value = text.strip()
            if is_formula(value):
                problems.append(
                    RowProblem(line, name, told("%(value)r is a formula; paste the value instead", value=value[:40]))
                )
            elif len(value) > LONGEST_CELL:
                problems.append(RowProblem(line, name, told("longer than %(most)s characters", most=LONGEST_CELL)))
            elif any(not one.isprintable() for one in value):
                problems.append(RowProblem(line, name, told("holds a character that is not for print (a line break?)")))
            elif value:
                row[name] = unguarded(value)
        found.append(Row(line, row))
    if not found and not problems:
        problems.append(RowProblem(0, "", told("there is no row under the heads")))
    if problems:
        raise BadFile(problems)
    return found


def _head_problems(line: int, names: list[str]) -> list[RowProblem]:
    problems = [
        RowProblem(line, name, told("this head stands twice")) for name in {n for n in names if names.count(n) > 1}
    ]
    if "" in names:
        problems.append(RowProblem(line, "", told("a column has no head")))
    if len(names) > MOST_COLUMNS:
        problems.append(RowProblem(line, "", told("more than %(most)s columns", most=MOST_COLUMNS)))
    return problems

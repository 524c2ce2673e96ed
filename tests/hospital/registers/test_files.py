"""Files that programs really write, and files that none should: read whole, or refused in words; never in part."""

from __future__ import annotations

import io
import re
import struct
import zipfile
from collections.abc import Callable

import openpyxl
import pytest

from vestry.hospital.registers.files import BadFile, read_file

SHEET = "xl/worksheets/sheet1.xml"
ROWS = [["code", "name", "height-mm"], ["H-1", "Ann", 1700], ["H-2", "Ben", 1800]]


def saved(book: openpyxl.Workbook) -> bytes:
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def good() -> bytes:
    book = openpyxl.Workbook()
    for row in ROWS:
        book.active.append(row)
    return saved(book)


def changed(change: Callable[[bytes], bytes], without: str = "") -> bytes:
    """The good file, its sheet changed inside the package, or a part of the package left out."""
    source, out = zipfile.ZipFile(io.BytesIO(good())), io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for one in source.namelist():
            if one != without:
                packed.writestr(one, change(source.read(one)) if one == SHEET else source.read(one))
    return out.getvalue()


def marked(local: int, central: int, value: int) -> bytes:
    """The good file with two bytes of each entry's header set: a password, or a way of packing that nobody knows."""
    raw = bytearray(good())
    for sign, place in ((b"PK\x03\x04", local), (b"PK\x01\x02", central)):
        at = 0
        while (at := raw.find(sign, at)) >= 0:
            raw[at + place : at + place + 2] = struct.pack("<H", value)
            at += 4
    return bytes(raw)


def a_text_document() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        kinds = '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"></Types>'
        packed.writestr("[Content_Types].xml", kinds)
        packed.writestr("word/document.xml", "<w/>")
    return out.getvalue()


def hidden_first() -> bytes:
    book = openpyxl.Workbook()
    book.active.append(["old notes"])
    book.active.sheet_state = "hidden"
    sheet = book.create_sheet("People")
    for row in ROWS:
        sheet.append(row)
    book.active = 1
    return saved(book)


def sized(as_told: bytes) -> bytes:
    return changed(lambda xml: re.sub(rb'<dimension ref="[^"]*"', b'<dimension ref="' + as_told + b'"', xml))


WHOLE = {
    "told smaller than it is": sized(b"A1:B2"),
    "told to be one cell": sized(b"A1"),
    "told larger than it is": sized(b"A1:Z900"),
    "the first sheet is hidden": hidden_first(),
    "formatted far to the right": changed(lambda xml: xml.replace(b"</row>", b'<c r="XFD3" s="0"/></row>')),
    "a spreadsheet's first line": b"sep=;\r\ncode;name;height-mm\r\nH-1;Ann;1700\r\nH-2;Ben;1800\r\n",
    "sixteen bits with a mark": "code,name,height-mm\nH-1,Ann,1700\nH-2,Ben,1800\n".encode("utf-16"),
    "lines of an old machine": b"code,name,height-mm\rH-1,Ann,1700\rH-2,Ben,1800\r",
}


@pytest.mark.parametrize("name", WHOLE)
def test_no_row_and_no_cell_is_left_out(name: str) -> None:
    assert [[*one.cells.values()] for one in read_file(WHOLE[name])] == [["H-1", "Ann", "1700"], ["H-2", "Ben", "1800"]]


REFUSED = {
    "a password": (marked(6, 8, 1), "not a spreadsheet that can be read"),
    "packed in an unknown way": (marked(8, 10, 99), "not a spreadsheet that can be read"),
    "packed in another way than it says": (marked(8, 10, 12), "not a spreadsheet that can be read"),
    "a text document": (a_text_document(), "not a spreadsheet that can be read"),
    "an unknown encoding": (
        changed(lambda xml: b'<?xml version="1.0" encoding="none"?>' + xml),
        "not a spreadsheet that can be read",
    ),
    "entities out of a file": (
        changed(lambda xml: b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/hostname">]>' + xml.replace(b"1700", b"&a;")),
        "not a spreadsheet that can be read",
    ),
    "no sheet": (changed(lambda xml: xml, SHEET), "not a spreadsheet that can be read"),
    "half of it": (good()[: len(good()) // 2], "not a spreadsheet that can be read"),
    "a row far below": (
        changed(lambda xml: xml.replace(b'<row r="3"', b'<row r="1048576"').replace(b"C3", b"C1048576")),
        "more than 6000 rows",
    ),
    "a cell far to the right": (changed(lambda xml: xml.replace(b'"C3"', b'"XFD3"')), "more than 60 columns"),
    "not a number": (changed(lambda xml: xml.replace(b"1700", b"NaN")), "not a spreadsheet that can be read"),
    "heads twice": (b"code,name\nH-1,Ann\nCode,Name\nH-2,Ben\n", "the heads stand here again"),
    "a mark in the middle": (b"code,name\nH-1,Ann\n\xef\xbb\xbfcode,name\nH-2,Ben\n", "not for print"),
    "a sign that is not seen": ("code,name\nH-1\u200b,Ann\n".encode(), "not for print"),
    "sixteen bits without a mark": ("code,name\nH-1,Ann\n".encode("utf-16-le"), "null characters"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_read_whole_is_refused_in_words(name: str) -> None:
    raw, says = REFUSED[name]
    with pytest.raises(BadFile, match=says):
        read_file(raw)


def test_what_says_that_it_unpacks_to_little_is_no_way_past_the_bound() -> None:
    """The size in the package is its maker's word: what comes out beyond it is cut off, and then does not fit."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for one in (source := zipfile.ZipFile(io.BytesIO(good()))).namelist():
            packed.writestr(one, b"<worksheet>" + b" " * 3_000_000 if one == SHEET else source.read(one))
    raw = bytearray(out.getvalue())
    for sign, place in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        at = 0
        while (at := raw.find(sign, at)) >= 0:
            if struct.unpack("<I", raw[at + place : at + place + 4])[0] > 1_000_000:
                raw[at + place : at + place + 4] = struct.pack("<I", 1000)
            at += 4
    with pytest.raises(BadFile, match="not a spreadsheet that can be read"):
        read_file(bytes(raw))

"""What scanners get wrong: each is said, and what is right beside it is kept."""

import datetime

import pytest
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st

from vestry.stock.gs1 import LONGEST, read_code

GTIN = "0151022222233336"


def read(text):
    return read_code(text, 2026)


def said(found):
    return [(one.field, one.what) for one in found.problems]


@pytest.mark.parametrize("date", ["260231", "261301", "260000", "260132"])
def test_a_date_that_is_none_does_not_take_the_item_with_it(date):
    found = read(f"{GTIN}17{date}10A1")

    assert (found.gtin, found.lot, found.expiry) == ("51022222233336", "A1", None)
    assert [one.field for one in found.problems] == ["expiry"]


def test_the_date_that_is_none_is_said():
    assert said(read(f"{GTIN}17260231")) == [("expiry", "260231 is no date (YYMMDD)")]


def test_a_bare_item_number_is_no_message_whatever_its_digits_spell():
    found = read("9501234567891")  # biip makes a message of it, with the field 95

    assert (found.sort, found.gtin, found.lot, found.other) == ("item-number", "09501234567891", None, {})


@pytest.mark.parametrize(
    ("text", "gtin"),
    [("96385074", "00000096385074"), ("036000291452", "00036000291452"), ("5901234123457", "05901234123457")],
)
def test_shorter_item_numbers_are_filled_up(text, gtin):
    assert read(text).gtin == gtin


def test_a_check_digit_that_does_not_fit_is_said_with_the_one_that_would_and_the_lot_is_kept():
    found = read("015102222223333710A1")

    assert (found.sort, found.gtin, found.lot) == ("gs1", None, "A1")
    assert said(found) == [("gtin", "the check digit does not fit in '51022222233337': Expected 6, got 7.")]


@pytest.mark.parametrize("key", ["\x1d", "<GS>", "{GS}", "␝", "^]", "\\x1d"])
def test_a_scanner_may_send_the_separator_as_a_key(key):
    found = read(f"{GTIN}10A1{key}211234\r\n")

    assert (found.lot, found.serial, found.whole) == ("A1", "1234", True)


def test_a_units_own_key_can_be_named():
    assert read_code(f"{GTIN}10A1|211234", 2026, ("|",)).lot == "A1"


def test_a_lot_that_ends_like_a_date_is_to_be_looked_at():
    found = read(f"{GTIN}10A117270131")

    assert found.lot == "A117270131"
    assert [one.field for one in found.notes] == ["lot"]


def test_a_field_that_stands_twice_with_two_values_is_said():
    assert said(read(f"{GTIN}10A1\x1d10B2")) == [("10", "stands twice, as A1 and as B2")]


def test_fields_that_we_do_not_use_are_kept_as_they_stand():
    assert read(f"{GTIN}3103000123").other == {"3103": "000123"}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "nothing was scanned"),
        ("hello", "no GS1 code"),
        ("17270131", "check digit"),
        ("]d1something", "does not say that it is a GS1"),
        ("]D20151022222233336", "Caps Lock"),
        ("+A123BJC5D6E71G", "HIBC"),
        ("[)>\x1e06\x1d25PA", "ISO 15434"),
        ("+d2" + GTIN, "HIBC|another keyboard"),
        ('à&(&àééééééé"""-', "another keyboard"),
        ("https://example.org/shop/7", "none that names an item"),
        ("9" * (LONGEST + 1), "too long"),
        (f"{GTIN}10" + "A" * 21, "too long"),
        (f"{GTIN}10Ä1", "cannot be read|no code may"),
    ],
)
def test_what_cannot_be_read_is_said_in_words(text, words):
    found = read(text)

    assert not found.whole
    assert any(part in what for _, what in said(found) for part in words.split("|")), said(found)


def test_a_bad_date_in_an_address_keeps_the_item_too():
    found = read("https://id.gs1.org/01/51022222233336/10/A1?17=260231")

    assert (found.gtin, found.lot) == ("51022222233336", "A1")
    assert said(found) == [("expiry", "260231 is no date (YYMMDD)")]


@pytest.mark.property
@given(
    st.text(max_size=60)
    | st.from_regex(r"(\]d2)?(01\d{14})?(17\d{6})?(10[A-Z0-9]{1,12}\x1d)?(21\w{1,9})?", fullmatch=True)
)
@pytest.mark.slow
def test_no_text_at_all_makes_it_fall_over(text):
    found = read(text)

    assert found.sort != "unread" or (found.problems and found.gtin is None)


lots = st.text("ABCXYZ0123456789-/", min_size=1, max_size=20)


@pytest.mark.property
@given(lots, lots, st.dates(datetime.date(2000, 1, 1), datetime.date(2070, 12, 31)))
def test_what_is_encoded_is_what_is_read(lot, serial, day):
    found = read(f"]d2{GTIN}17{day:%y%m%d}10{lot}\x1d21{serial}")

    assert (found.lot, found.serial, found.expiry, found.problems) == (lot, serial, day, ())


def test_a_symbol_made_by_another_library_reads_back():
    """zxing-cpp writes and reads a GS1 DataMatrix; what it hands on, prefix and separator included, is read here."""
    printed = "(01)51022222233336(17)270131(10)A213B1(21)1234"
    symbol = zxingcpp.create_barcode(printed, zxingcpp.BarcodeFormat.DataMatrix, gs1=True)
    raw = zxingcpp.read_barcode(symbol.to_image(scale=4))

    found = read(raw.symbology_identifier + raw.bytes.decode("ascii"))

    assert (found.gtin, found.lot, found.serial) == ("51022222233336", "A213B1", "1234")
    assert found.expiry == datetime.date(2027, 1, 31)

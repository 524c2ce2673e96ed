"""Check digits and element strings against GS1's and FDA's own examples."""

import datetime

import pytest

from vestry.stock.gs1 import read_code

pytestmark = pytest.mark.published
YEAR = 2026
GS = "\x1d"


# GS1, "How to calculate a check digit manually": 629104150021 has 3. GS1 UK's leaflet: 501234567890, digit computed.
@pytest.mark.parametrize(("body", "check"), [("629104150021", 3), ("501234567890", 0)])
def test_only_the_printed_check_digit_fits(body, check):
    right = [digit for digit in range(10) if read_code(f"{body}{digit}", YEAR).whole]

    assert right == [check]
    assert read_code(f"{body}{check}", YEAR).gtin == f"0{body}{check}"


# US FDA, UDI formats by issuing agency, v1.3 (2017): the same device identifier printed, and as it is encoded.
FDA_PRINTED = "(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234"
FDA_ENCODED = f"0151022222233336111412311715070710A213B1{GS}211234"


@pytest.mark.parametrize("text", [FDA_PRINTED, FDA_ENCODED, f"]d2{FDA_ENCODED}", f"{GS}{FDA_ENCODED}"])
def test_the_printed_and_the_encoded_form_say_the_same(text):
    found = read_code(text, YEAR)

    assert found.whole
    assert (found.gtin, found.packaging, found.lot, found.serial) == ("51022222233336", 5, "A213B1", "1234")
    assert (found.production, found.expiry) == (datetime.date(2014, 12, 31), datetime.date(2015, 7, 7))


def test_the_same_fields_as_an_address():
    """GS1 Digital Link URI syntax: https://id.gs1.org/01/{gtin}/10/{lot}/21/{serial}?17={yymmdd}"""
    found = read_code("https://id.gs1.org/01/51022222233336/10/A213B1/21/1234?17=150707", YEAR)

    assert (found.whole, found.gtin, found.lot, found.serial) == (True, "51022222233336", "A213B1", "1234")
    assert found.expiry == datetime.date(2015, 7, 7)


@pytest.mark.parametrize(("text", "last"), [("260200", 28), ("280200", 29), ("261100", 30), ("261200", 31)])
def test_day_nought_is_the_last_of_its_month(text, last):
    """GS1 Application Identifiers, (17)."""
    assert read_code(f"015102222223333617{text}", YEAR).expiry.day == last


# GS1 General Specifications 7.12, from memory: the difference of the two-digit years, 51..99 and -99..-50.
@pytest.mark.parametrize(
    ("this_year", "two", "year"),
    [(2026, 76, 2076), (2026, 77, 1977), (2026, 99, 1999), (2026, 0, 2000), (2076, 26, 2126), (2076, 27, 2027)],
)
def test_the_century_is_the_nearest(this_year, two, year):
    assert read_code(f"015102222223333617{two:02}0615", this_year).expiry.year == year

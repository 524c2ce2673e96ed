"""Codes on boxes: further published examples, and what scanners and people make of them; written before any run."""

from __future__ import annotations

import datetime

import pytest

from vestry.stock.gs1 import Scan, read_code

pytestmark = pytest.mark.published
GS = "\x1d"
GTIN = "0109506000134352"


def read(text: str) -> Scan:
    return read_code(text, 2026)


# ---- item numbers: each with its check digit, and each refused with any other ----


@pytest.mark.parametrize(
    ("printed", "gtin"),
    [
        ("73513537", "00000073513537"),  # EAN-8, recalled (general reference works)
        ("614141999996", "00614141999996"),  # GTIN-12, GS1 US, recalled
        ("4006381333931", "04006381333931"),  # EAN-13, recalled (general reference works)
        ("9506000134352", "09506000134352"),  # GS1, examples of the Digital Link, seen in several copies
        ("7680669330019", "07680669330019"),  # a box photographed in a blog on GS1 DataMatrix, seen
        ("07300016350759", "07300016350759"),  # GS1 Sweden, UDI, seen
        ("10614141000415", "10614141000415"),  # GTIN-14, GS1 US, recalled
    ],
)
def test_item_numbers(printed: str, gtin: str) -> None:
    right = [digit for digit in range(10) if read(f"{printed[:-1]}{digit}").whole]

    assert right == [int(printed[-1])]
    assert read(printed).gtin == gtin


@pytest.mark.parametrize("text", ["5 901234 123457", "0 36000 29145 2", "7351 3537", "4-006381-333931"])
def test_item_numbers_with_the_spaces_of_the_print(text: str) -> None:
    """As the figures stand under the bars."""
    found = read(text)
    assert (found.sort, found.whole) == ("item-number", True)


def test_a_upc_with_its_leading_zero_is_the_same_item() -> None:
    assert {read(text).gtin for text in ("036000291452", "0036000291452", "00036000291452", "]E00036000291452")} == {
        "00036000291452"
    }


@pytest.mark.parametrize("text", ["00000000", "000000000000", "0000000000000", "00000000000000", "01" + "0" * 14])
def test_noughts_alone_are_no_item(text: str) -> None:
    """Their check digit fits; no company has that prefix."""
    assert read(text).gtin is None


@pytest.mark.parametrize("text", ["٥١٠٢٢٢٢٢٢٣٣٣٣٦", "５９０１２３４１２３４５７", "01٥١٠٢٢٢٢٢٢٣٣٣٣٦"])
def test_digits_of_other_scripts_are_no_code(text: str) -> None:
    assert not read(text).whole


# ---- element strings ----


def test_a_medicine_box_of_a_blog() -> None:
    """Seen: (01) 07680669330019 (21) 10030376244896 GS (17) 251130 (10) last; the lot here is invented."""
    found = read(f"]d201076806693300192110030376244896{GS}1725113010AB12")

    assert found.whole
    assert (found.gtin, found.serial, found.lot) == ("07680669330019", "10030376244896", "AB12")
    assert found.expiry == datetime.date(2025, 11, 30)


@pytest.mark.parametrize(
    "text",
    [
        "(01) 07300016350759 (11) 230811 (10) 110822 (21) 5643",
        "(01)07300016350759\n(11)230811\n(10)110822\n(21)5643",
        f"]C101073000163507591123081110110822{GS}215643",
    ],
)
def test_gs1_swedens_label(text: str) -> None:
    """Seen: the human readable lines under each other, and the same encoded. The lot is all digits."""
    found = read(text)
    assert (found.whole, found.gtin, found.lot, found.serial) == (True, "07300016350759", "110822", "5643")
    assert found.production == datetime.date(2023, 8, 11)


@pytest.mark.parametrize("text", ["(01)67548320187766(10)567432", "016754832018776610567432"])
def test_a_lot_of_digits_alone(text: str) -> None:
    """A trade article on UDI (seen): printed, and as it scans."""
    found = read(text)
    assert (found.whole, found.gtin, found.lot) == (True, "67548320187766", "567432")


@pytest.mark.parametrize(
    ("text", "lot", "expiry"),
    [
        (f"{GTIN}10LOT-ABC{GS}17271231", "LOT-ABC", datetime.date(2027, 12, 31)),
        ("(01)09506000134352(10)LOT-ABC(17)271231", "LOT-ABC", datetime.date(2027, 12, 31)),
        ("https://example.com/01/09506000134352/10/LOT-ABC?17=271231", "LOT-ABC", datetime.date(2027, 12, 31)),
        ("https://brand.example.com/shop/01/09506000134352/10/LOT-ABC?3103=000195&17=271231", "LOT-ABC",
         datetime.date(2027, 12, 31)),
        ("HTTPS://EXAMPLE.COM/01/09506000134352/10/LOT-ABC?17=271231", "LOT-ABC", datetime.date(2027, 12, 31)),
        ("https://id.gs1.org/01/9506000134352/10/ABC%2F12?17=271200", "ABC/12", datetime.date(2027, 12, 31)),
        ("https://id.gs1.org/01/09506000134352/10/ABC%2F12?17=260231", "ABC/12", None),
        ("https://id.gs1.org/01/09506000134352?10=AB1&17=271231#box", "AB1", datetime.date(2027, 12, 31)),
    ],
)  # fmt: skip
def test_one_item_as_message_print_and_address(text: str, lot: str, expiry: datetime.date | None) -> None:
    """Examples of the GS1 Digital Link as several libraries print them (seen); capitals as a QR code packs them."""
    found = read(text)
    assert (found.gtin, found.lot, found.expiry) == ("09506000134352", lot, expiry)
    assert [one.field for one in found.problems] == ([] if expiry else ["expiry"])


# ---- fields ----


@pytest.mark.parametrize("lot", ["A/12", "ab-12", "12.5", "L_7", "!x", "2-1:0"])
def test_lots_as_makers_write_them(lot: str) -> None:
    assert read(f"]d2{GTIN}10{lot}{GS}17271231").lot == lot


@pytest.mark.parametrize(
    ("text", "name", "value"),
    [
        (f"{GTIN}3010", "count", 10),
        ("02095060001343523724", "count", 24),
        (f"{GTIN}240REF-99", "other", {"240": "REF-99"}),
        (f"{GTIN}13260101", "other", {"13": "260101"}),
        (f"{GTIN}3103000195", "other", {"3103": "000195"}),
        (f"{GTIN}400PO1", "other", {"400": "PO1"}),
        (f"{GTIN}800309506000134352X1", "other", {"8003": "09506000134352X1"}),
    ],
)
def test_further_fields(text: str, name: str, value: object) -> None:
    assert getattr(read(text), name) == value


def test_an_expiry_with_an_hour_is_an_expiry() -> None:
    """GS1 General Specifications, AI 7003 (recalled): YYMMDDHHMM. The day counts here, and the hour is kept."""
    found = read(f"{GTIN}70032712312359")

    assert found.expiry == datetime.date(2027, 12, 31)
    assert found.other == {"7003": "2712312359"}


def test_what_a_box_contains_has_its_own_check_digit() -> None:
    """AI 02, GTIN of what is inside; a wrong check digit is said."""
    assert read("02095060001343523724").whole
    assert [one.field for one in read("02095060001343533724").problems] == ["02"]


def test_the_number_of_a_pallet() -> None:
    """SSCC, GS1 US 106141412345678908 (recalled) and documentation of a library 376130321109103420 (seen)."""
    assert read("00106141412345678908").other == {"00": "106141412345678908"}
    assert read("00376130321109103420").whole
    assert [one.field for one in read("00376130321109103421").problems] == ["00"]


def test_the_same_field_twice() -> None:
    same = read(f"{GTIN}10A1{GS}10A1")
    other = read(f"{GTIN}0151022222233336")
    assert (same.whole, same.lot) == (True, "A1")
    assert not other.whole


def test_a_lost_separator_before_an_item_number_is_to_be_looked_at() -> None:
    found = read("10ABC0109506000134352")
    assert found.gtin is None
    assert found.notes or found.problems


@pytest.mark.parametrize(
    ("text", "field", "lot"),
    [
        ("(01)095060001343521(17)271231", "gtin", None),
        ("(01)9506000134352(17)271231", "gtin", None),
        ("(01)09506000134352(17)27123110AB", "expiry", None),
        ("(01)09506000134352(17)2712(10)AB", "expiry", "AB"),
        ("(01)09506000134352(17)31.12.2027(10)AB", "expiry", "AB"),
        ("(01)09506000134352(17)20271231(10)AB", "expiry", "AB"),
    ],
)
def test_each_bracket_holds_its_own_field_and_no_other(text: str, field: str, lot: str | None) -> None:
    """Typed from a label: too long or too short is said, never run into the next field."""
    found = read(text)
    assert (field in [one.field for one in found.problems], found.lot) == (True, lot)


# ---- scanners ----


@pytest.mark.parametrize("end", ["\r\n", "\n", "\r", "\t", GS, " ", "\x04", ""])
@pytest.mark.parametrize("start", ["]d2", "]C1", "]Q3", "]e0", GS, ""])
def test_prefix_and_ending_of_any_scanner(start: str, end: str) -> None:
    found = read(f"{start}{GTIN}1727123110A1{end}")
    assert (found.whole, found.lot, found.expiry) == (True, "A1", datetime.date(2027, 12, 31))


@pytest.mark.parametrize(
    "text",
    [
        "+H123PARTNO1234567890120/$$420020216LOT123456789012345/SXYZ456789012345678/16D20130202C",  # US FDA, recalled
        "+A123ABCDEFGHI1234567891E",  # a barcode maker's page on HIBC (seen)
        "]C0+A123ABCDEFGHI1234567891E",
        "]d1+A123BJC5D6E71G",
        "+$$3271231A1",
        "=+06000=/A9999XYZ100T0944=,000025=A99971312345600=>014032=}013032&,1000000000000XYZ123",  # ICCBBA (seen)
        "=/A9999XYZ100T0944=,000025=A99971312345600=>014032=}013032&,1000000000000XYZ123",  # US FDA, recalled
        "=P00020601906300",  # ISBT 128 (seen)
        "=)1TE123456A&)1000000000XYZ123",  # blood bag, US FDA, recalled
        "[)>\x1e06\x1d25PA123\x1d1TL1\x04",  # ISO 15434
    ],
)
def test_other_issuers_are_named_and_never_misread(text: str) -> None:
    found = read(text)

    assert (found.sort, found.gtin, found.lot, found.expiry) == ("unread", None, None, None)
    said = " ".join(one.what for one in found.problems)
    assert "issuer" in said or "does not say that it is a GS1" in said or "ISO 15434" in said


@pytest.mark.parametrize("prefix", ["]D2", "]c1", "]q3", "]E0"])
def test_caps_lock_at_the_scanner_is_said(prefix: str) -> None:
    """The last is GS1 DataBar (]e0) with Caps Lock, which without it is the prefix of a bare item number."""
    found = read(f"{prefix}{GTIN}10a1")
    assert (found.sort, found.lot) == ("unread", None)
    assert "Caps Lock" in found.problems[0].what


@pytest.mark.parametrize("sent", [f"+d2{GTIN}10A1", f"*C1{GTIN}10A1", f"¨d2{GTIN}10A1", f"¿d2{GTIN}10A1"])
def test_a_scanner_for_another_keyboard_is_said(sent: str) -> None:
    """`]` of a US scanner typed on a German (+), Spanish (+ or *), French (¨ or $) or Turkish keyboard."""
    found = read(sent)
    assert found.sort == "unread"
    assert "keyboard" in found.problems[0].what

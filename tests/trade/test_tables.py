"""Cells of tables: a date that can be read in two ways is refused, and what a spreadsheet would work out is seen."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.trade.tables import BadCell, guarded, is_formula, read_date, read_whole, unguarded

APRIL = datetime.date(2026, 4, 3)


@pytest.mark.parametrize("text", ["2026-04-03", "2026/4/3", "2026.04.03"])
@pytest.mark.parametrize("order", ["unsaid", "day-first", "month-first"])
def test_year_first_is_read_in_one_way_only(text, order):
    assert read_date(text, order) == APRIL


def test_a_date_of_two_readings_needs_the_order_said():
    assert read_date("03/04/2026", "day-first") == APRIL
    assert read_date("04/03/2026", "month-first") == APRIL
    with pytest.raises(BadCell, match="can be 3 April or 4 March: write it as 2026-04-03, or say"):
        read_date("03/04/2026", "unsaid")


@pytest.mark.parametrize("text", ["0000-04-03", "03/04/0000", "30/30/2026", "29.02.2027", "45000", "1.4.26", "today"])
@pytest.mark.parametrize("order", ["unsaid", "day-first", "month-first"])
def test_what_is_no_day_is_refused_in_every_order(text, order):
    """45000 is how a spreadsheet counts days: by two calendars, four years apart."""
    with pytest.raises(BadCell):
        read_date(text, order)


@pytest.mark.parametrize(("text", "day"), [("13.04.2026", 13), ("04-13-2026", 13), ("04/04/2026", 4)])
def test_a_date_of_one_reading_needs_nothing_said(text, day):
    assert read_date(text, "unsaid") == datetime.date(2026, 4, day)


@pytest.mark.parametrize(
    ("text", "order", "says"),
    [
        ("13/04/2026", "month-first", "holds dates in several orders"),
        ("04/13/2026", "day-first", "holds dates in several orders"),
        ("03/04/26", "day-first", "four digits"),
        ("2026-02-30", "unsaid", "is no date"),
        ("30/02/2026", "day-first", "is no date"),
        ("31/31/2026", "unsaid", "is no date"),
        ("soon", "unsaid", "write it as"),
        ("3.4/2026", "unsaid", "write it as"),
    ],
)
def test_what_is_no_date_is_said(text, order, says):
    with pytest.raises(BadCell, match=says):
        read_date(text, order)


@pytest.mark.property
@given(st.dates(datetime.date(1990, 1, 1), datetime.date(2090, 1, 1)))
def test_a_date_unsaid_is_never_read_as_another(day):
    """Written in either order: the same day, or a refusal."""
    for text in (f"{day:%d/%m/%Y}", f"{day:%m/%d/%Y}"):
        try:
            assert read_date(text, "unsaid") == day
        except BadCell:
            assert day.day <= 12


@pytest.mark.parametrize(
    ("text", "says"),
    [("-5", "below nought"), ("-5,5", "below nought"), ("1.5", "whole"), ("1,000", "whole"), ("0", "from 1")],
)
def test_a_number_that_is_none_is_said(text, says):
    with pytest.raises(BadCell, match=says):
        read_whole(text, 1, 99)


@pytest.mark.parametrize("text", ["=1+1", "+A1", "@SUM(A1)", "-A1", '=HYPERLINK("x")'])
def test_a_formula_is_seen_and_exported_as_text(text):
    assert is_formula(text)
    assert guarded(text) == f"'{text}"
    assert unguarded(guarded(text)) == text


@pytest.mark.property
@given(st.text(max_size=20))
def test_what_is_guarded_comes_back(text):
    assert unguarded(guarded(text)) == (text if not text.startswith("'") else unguarded(text))


def test_a_negative_number_is_no_formula():
    assert not is_formula("-5")

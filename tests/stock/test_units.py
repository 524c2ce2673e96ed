"""Powered units: cleaned after use, out of use after a failed check, due when service or a check has run out."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.stock import PoweredUnit, UnitEvent, unit_state
from vestry.trade.standards import load_standards

DAY = datetime.date(2026, 6, 1)
UNIT = PoweredUnit(id="u1", item="papr-belt-unit", serial="S1", most_cleanings=3)


def event(number, kind, day="2026-05-20", **changed):
    return UnitEvent(id=f"e{number}", unit="u1", kind=kind, at=f"{day}T08:00:00Z", by="x", **changed)


CHECKED = (event(1, "serviced"), event(2, "battery-tested", minutes=210), event(3, "flow-checked"))


def state(*events, on=DAY):
    return unit_state(UNIT, [*CHECKED, *events], on, load_standards())


def test_a_unit_checked_and_clean_is_ready_until_the_first_check_runs_out():
    found = state()

    assert found.ready
    assert (found.until, found.battery_minutes) == (datetime.date(2026, 6, 20), 210)


def test_a_unit_of_which_nothing_is_known_is_due_for_everything():
    assert unit_state(UNIT, [], DAY, load_standards()).why == ("service-due", "battery-test-due", "flow-check-due")


@pytest.mark.parametrize(
    ("events", "why"),
    [
        ([event(9, "used")], ("to-be-cleaned",)),
        ([event(8, "used"), event(9, "cleaned", "2026-05-21")], ()),
        ([event(9, "fault")], ("out-of-use",)),
        ([event(8, "fault"), event(9, "repaired", "2026-05-21")], ("flow-check-due",)),
        ([event(9, "flow-checked", "2026-05-21", passed=False)], ("out-of-use",)),
        (
            [event(8, "flow-checked", "2026-05-21", passed=False), event(9, "flow-checked", "2026-05-22")],
            (),
        ),
        ([event(n, "cleaned") for n in (7, 8, 9)], ("worn-out",)),
        ([event(9, "retired")], ("retired",)),
    ],
)
def test_what_its_events_come_to(events, why):
    assert state(*events).why == why


def test_a_check_holds_to_its_last_day():
    assert state(on=datetime.date(2026, 6, 20)).ready
    assert state(on=datetime.date(2026, 6, 21)).why == ("flow-check-due",)


@pytest.mark.property
@given(
    st.permutations(
        [*CHECKED, event(4, "used", "2026-05-21"), event(5, "cleaned", "2026-05-22"), event(6, "used", "2026-05-23")]
    )
)
def test_the_order_in_which_they_are_told_does_not_matter(events):
    assert unit_state(UNIT, [*events, *events], DAY, load_standards()).why == ("to-be-cleaned",)

"""Laws of air clearance, and what is counted as ventilation."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.room.air import MOST_ACH, AirRefused, air_changes, clearance, remaining
from vestry.trade.quantities import BadQuantity, celsius, flow, litres, pressure, volume

ach = st.fractions(min_value=Fraction(1, 10), max_value=200)
removal = st.fractions(min_value=Fraction(1, 10), max_value=Fraction(99999, 1000))
mixing = st.fractions(min_value=1, max_value=20)
flows = st.fractions(min_value=1, max_value=5000)


@pytest.mark.property
@given(ach, removal, mixing)
def test_after_the_wait_so_much_is_gone_and_no_less(changes: Fraction, percent: Fraction, mixes: Fraction) -> None:
    found = clearance(changes, percent, mixes)

    assert found.wait >= found.minutes
    assert remaining(changes, Fraction(found.minutes), mixes) == pytest.approx(float(100 - percent))
    assert remaining(changes, Fraction(found.wait), mixes) <= float(100 - percent) * (1 + 1e-9)


@pytest.mark.property
@given(ach, ach, removal, removal, mixing, mixing)
def test_more_air_never_takes_longer_and_more_removal_or_worse_mixing_never_shorter(
    a: Fraction, b: Fraction, p: Fraction, q: Fraction, k: Fraction, m: Fraction
) -> None:
    (slow, fast), (less, more), (good, bad) = sorted((a, b)), sorted((p, q)), sorted((k, m))
    assert clearance(fast, p, k).minutes <= clearance(slow, p, k).minutes
    assert clearance(a, less, k).minutes <= clearance(a, more, k).minutes
    assert clearance(a, p, good).minutes <= clearance(a, p, bad).minutes


@pytest.mark.property
@given(flows, flows, flows, st.lists(flows, max_size=3))
def test_supply_and_exhaust_count_once_and_cleaners_each(
    supply: Fraction, exhaust: Fraction, room: Fraction, cleaners: list[Fraction]
) -> None:
    wanted = (max(supply, exhaust) + sum(cleaners)) / room
    if wanted > MOST_ACH:  # no room has that
        with pytest.raises(AirRefused):
            air_changes(supply=supply, exhaust=exhaust, volume=room, cleaners=cleaners)
        return
    total, parts = air_changes(supply=supply, exhaust=exhaust, volume=room, cleaners=cleaners)

    assert total == wanted
    assert sum(not one.counted for one in parts) == 1


def test_air_changes_of_the_room_and_a_cleaner_add_up() -> None:
    total, _ = air_changes(ach=Fraction(6), cleaners=[Fraction(300)], volume=Fraction(50))
    assert total == 12


@pytest.mark.parametrize("given_", [{}, {"volume": Fraction(50)}, {"flow": Fraction(5)}])
def test_what_says_nothing_of_the_air_is_refused(given_: dict[str, Fraction]) -> None:
    with pytest.raises(AirRefused):
        air_changes(**given_)


# Units by definition: the inch is 2.54 cm, the US gallon 231 cubic inches.
UNITS = {
    "1 ft3": (volume, Fraction("0.028316846592")),
    "1 us-gal": (volume, Fraction("0.003785411784")),
    "1 imp gal": (volume, Fraction("0.00454609")),
    "1000 L": (volume, Fraction(1)),
    "250 mL": (litres, Fraction(1, 4)),
    "100 cfm": (flow, Fraction("169.901079552")),
    "1 l/s": (flow, Fraction(36, 10)),
    "1 m³/h": (flow, Fraction(1)),
    "0.01 in wg": (pressure, Fraction("2.4908891")),
    "-2.5": (pressure, Fraction(-5, 2)),
    "212 F": (celsius, Fraction(100)),
    "37 °C": (celsius, Fraction(37)),
}


@pytest.mark.parametrize("text", UNITS)
def test_units_are_exact(text: str) -> None:
    reader, expected = UNITS[text]
    assert reader(text) == expected


@pytest.mark.parametrize(
    "text", ["nan", "inf", "1,5", "1e999", "0x10", "", "1" * 60, "5 gal", "5 furlong", "٣", "1 m3 m3"]
)
def test_what_is_no_volume_is_refused(text: str) -> None:
    with pytest.raises(BadQuantity):
        volume(text)

"""The clock of an entry as it opens: heat only ever shortens it, and what is missing leaves the unit's limit."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.heat import Gear, OpeningClock, Outside, Read, Reason, Shortening, holds_for, opening_clock
from vestry.heat.strain import Conditions
from vestry.trade.operations import load_operations

OPERATIONS = load_operations()
NOW = datetime(2026, 11, 27, 2, 0, tzinfo=UTC)
HOT = Read(air=36, humidity=70, speed=0.1, at=NOW - timedelta(minutes=40))
WOVEN = Gear(metabolic=165, clothing=0.9, permeability=0.36)
SUIT = Gear(metabolic=165, impermeable=True)
limits = st.lists(
    st.builds(Shortening, st.sampled_from(["core", "loss-most"]), st.integers(0, 480).map(float)), max_size=2
)


def clock(policy: int, found: list[Shortening] | None) -> OpeningClock:
    return opening_clock(policy, HOT, WOVEN, NOW, OPERATIONS, ask=lambda _: found)


@pytest.mark.property
@given(st.integers(1, 480), limits)
def test_it_is_never_longer_than_the_units_limit_nor_than_a_prediction(policy: int, found: list[Shortening]) -> None:
    opened = clock(policy, found)

    assert opened.allowed.minutes == max(1, min([policy, *(int(one.minutes) for one in found)]))
    assert opened.why == ("shortened" if opened.allowed.minutes < policy else "not-shorter")


@pytest.mark.parametrize(
    ("read", "gear", "room", "why"),
    [
        (HOT, WOVEN, False, "no-room"),
        (None, WOVEN, True, "no-reading"),
        (replace(HOT, at=NOW - holds_for(OPERATIONS) - timedelta(seconds=1)), WOVEN, True, "old-reading"),
        (replace(HOT, at=NOW + timedelta(seconds=1)), WOVEN, True, "old-reading"),
        (HOT, None, True, "no-gear"),
        (HOT, SUIT, True, "outside"),
        (None, SUIT, False, "outside"),
        (HOT, replace(WOVEN, permeability=0.12), True, "outside"),
        (replace(HOT, humidity=float("nan")), WOVEN, True, "outside"),
    ],
)
def test_without_a_prediction_the_units_limit_stands_and_says_why(
    read: Read | None, gear: Gear | None, room: bool, why: str
) -> None:
    def never(_: Conditions) -> None:
        raise AssertionError("the model is not asked here")

    opened = opening_clock(90, read, gear, NOW, OPERATIONS, room=room, ask=never)

    assert (opened.allowed.minutes, opened.allowed.by, opened.why) == (90, "policy", why)
    assert bool(opened.reasons) == (why == "outside")


def test_a_prediction_that_is_not_there_yet_is_said_and_one_that_is_refused_gives_its_reasons() -> None:
    def refuse(_: Conditions) -> None:
        raise Outside((Reason("not-a-number", "t_re"),))

    assert clock(90, None).why == "not-reckoned"
    refused = opening_clock(90, HOT, WOVEN, NOW, OPERATIONS, ask=refuse)
    assert (refused.why, refused.allowed.minutes) == ("outside", 90)


def test_a_reading_counts_to_the_last_second_of_its_time() -> None:
    last = replace(HOT, at=NOW - holds_for(OPERATIONS))
    assert opening_clock(90, last, WOVEN, NOW, OPERATIONS, ask=lambda _: []).why == "not-shorter"


@pytest.mark.slow
def test_the_model_itself_shortens_on_a_hot_day_and_hotter_is_never_longer() -> None:
    """Seconds: the library comes up."""
    found = [opening_clock(120, replace(HOT, air=air), WOVEN, NOW, OPERATIONS) for air in (22, 30, 36)]
    minutes = [one.allowed.minutes for one in found]

    assert minutes[0] == 120
    assert minutes[-1] < 60
    assert minutes == sorted(minutes, reverse=True)
    assert found[-1].why == "shortened"

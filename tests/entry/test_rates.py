"""The unit's own deviations, counted from folded entries: by family of steps, on occasions, never by person."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.entry import Counted, Deviation, EntryState, Rate, StepRecord, counted, family_of

SLIPS = {
    "doff:face-shield:rear-strap": ("doff:face-shield:rear-strap:visor-swings@doff:face-shield:rear-strap",
                                    "doff:face-shield:rear-strap:grasps-front@doff:face-shield:rear-strap"),
    "disinfect-gloves:-:rub-gloves": ("disinfect-gloves:-:rub-gloves:left-out-or-short@disinfect-gloves:-:rub-gloves",),
}  # fmt: skip
SHIELD, RUB = SLIPS


def entry(done: tuple[str, ...] = (SHIELD, RUB), went: tuple[tuple[str, ...], ...] = ()) -> EntryState:
    steps = tuple(StepRecord("plan", step, done_at="2026-11-02T10:00:00+00:00") for step in done)
    said = tuple(Deviation("2026-11-02T10:01:00+00:00", SHIELD, events) for events in went)
    return EntryState(stage="closed", steps=steps, deviations=said)


def test_each_act_that_could_go_wrong_in_a_step_that_was_done_is_an_occasion():
    found = counted([(entry(), SLIPS), (entry(done=(SHIELD,)), SLIPS)])

    assert found.entries == 2
    assert [(one.family, one.sort, one.deviations, one.occasions) for one in found.rates] == [
        ("disinfect-gloves:-", "omission", 0, 1),
        ("doff:face-shield", "slip", 0, 4),
    ]


def test_what_was_marked_is_counted_in_its_family_and_what_nobody_could_name_in_none():
    found = counted([(entry(went=(SLIPS[SHIELD][:1], (), ("latent:outer-gloves-long:hole-l",))), SLIPS)])

    assert {one.family: one.deviations for one in found.rates} == {"disinfect-gloves:-": 0, "doff:face-shield": 1}
    assert found.unclear == 2
    assert found.of_events(SLIPS[SHIELD]) == {one.partition("@")[0]: (1, 2) for one in SLIPS[SHIELD]}, (
        "every act of a family has the family's count"
    )
    assert found.of_events(["don:hood:over:hair-caught"]) == {}


def test_entries_under_way_and_steps_of_a_recovery_count_for_nothing():
    recovery = replace(entry(), steps=tuple(replace(one, course="a") for one in entry().steps))
    assert counted([(replace(entry(), stage="under-way"), SLIPS)]) == Counted((), 0, 0)
    assert counted([(recovery, SLIPS)]).rates == ()


def test_no_count_names_a_person():
    assert {one.name for one in fields(Rate)} == {"family", "sort", "deviations", "occasions", "entries"}
    assert {one.name for one in fields(Counted)} == {"rates", "entries", "unclear"}


def test_the_interval_is_wilsons():
    """Wilson 1927, as tabled by Newcombe 1998, Stat Med 17:857 (81 of 263; from memory): 0.2553 to 0.3662."""
    low, high = Rate("x", "slip", 81, 263, 1).interval
    assert (low, high) == pytest.approx((0.2553, 0.3662), abs=5e-5)
    assert Rate("x", "slip", 0, 20, 1).interval[0] == 0.0


@given(st.lists(st.lists(st.sampled_from([*SLIPS[SHIELD], *SLIPS[RUB]]), max_size=4), max_size=5))
def test_there_are_never_more_deviations_than_occasions(went: list[list[str]]):
    found = counted([(entry(went=tuple(tuple(one) for one in went)), SLIPS)])
    assert all(0 <= one.deviations <= one.occasions for one in found.rates)


def test_a_family_is_what_was_done_to_what():
    assert family_of(SLIPS[SHIELD][0]) == ("doff:face-shield", "slip")
    assert family_of(SLIPS[RUB][0]) == ("disinfect-gloves:-", "omission")

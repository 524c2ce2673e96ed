"""The forecast where the answer is known: use without chance exactly, use at random against exact distributions.

The error that a number of draws leaves is stated beside each; it was chosen before the first run: five standard errors,
so that one check in about two million fails by chance.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from scipy import stats
from tests.readiness.stays import CATALOGUE, days, drawn, stay

from vestry.readiness import forecast

WIDE = 5.0


def at_random(a_day: float, **changed):
    work = [{"id": "care", "ensemble": "set", "by": "nurse", "extra-a-day": a_day, "minutes-inside": 60}]
    return stay(work=work, **changed)


def near(share: float, expected: float, draws: int) -> bool:
    return abs(share - expected) <= WIDE * sqrt(max(expected * (1 - expected), 1 / draws) / draws)


# ---- without chance: exact ----


@pytest.mark.parametrize(("count", "minutes", "covered"), [(30, 60, 30), (30, 120, 48), (10, 30, 5), (0, 60, 0)])
def test_one_inside_relieved_by_the_clock_uses_one_set_each_time(count, minutes, covered):
    work = [{"id": "care", "ensemble": "set", "by": "nurse", "inside": 1, "minutes-inside": minutes}]
    found = forecast(stay(work=work, stock=[{"item": "apron", "count": count}]), CATALOGUE)

    assert {quantile.value for quantile in found.cover} == {covered}
    assert found.pools[0].used.value == min(count, 48 * 60 // minutes)
    assert found.pools[0].lacking.value == max(0, 48 * 60 // minutes - count)


def test_what_expires_at_the_end_of_a_day_is_used_first_and_then_gone():
    """From 08:00, one an hour. 40 that expire at the end of the first day (16 hours), 10 that do not: out after 26."""
    lots = [{"item": "apron", "count": 10}, {"item": "apron", "count": 40, "expires": days(0)}]
    kept = drawn(stay(stock=lots)).kept

    assert np.all(kept.short_at == 26)
    assert np.all(kept.expired == 24)


def test_a_delivery_comes_in_time_or_too_late():
    lots = [{"item": "apron", "count": 10}]

    def cover(hour: int) -> int:
        coming = [{"item": "apron", "count": 100, "arrives-hours": [hour, hour]}]
        return int(drawn(stay(stock=lots, deliveries=coming)).kept.short_at[0, 0])

    assert (cover(10), cover(11)) == (48, 10)


def test_what_is_kept_back_is_not_used():
    found = forecast(stay(reserves=[{"item": "apron", "count": 12}]), CATALOGUE)

    assert found.cover[0].value == 18
    assert found.pools[0].left.value == 12


def test_what_is_cleaned_is_there_again():
    """One an hour, ready again after four hours: four suffice for ever, three for three hours."""

    def cover(count: int) -> int:
        asked = stay(
            ensembles=[{"id": "set", "wearer": ["papr-helmet"]}],
            stock=[{"item": "papr-helmet", "count": count}],
            again=[{"item": "papr-helmet", "hours": 4}],
        )
        return int(drawn(asked).kept.short_at[0, 0])

    assert (cover(4), cover(3)) == (48, 3)


def test_nothing_is_needed_after_the_transfer():
    assert forecast(stay(transfer_hours=[30, 30]), CATALOGUE).enough == "yes"
    assert forecast(stay(transfer_hours=[31, 31]), CATALOGUE).enough == "no"


def test_the_hour_of_transfer_is_drawn_evenly_from_its_range():
    """From the 30th hour to the 33rd: 30 to 33 pieces are used, each in a quarter of the draws."""
    used = drawn(stay(transfer_hours=[30, 33], stock=[{"item": "apron", "count": 99}], draws=4000)).kept.used[:, 0]

    assert sorted(set(used)) == [30, 31, 32, 33]
    assert all(near((used == hours).mean(), 0.25, 4000) for hours in (30, 31, 32, 33))


def test_people_hours_of_a_shift_are_counted_out():
    """Twelve entries in twelve hours, each 10 minutes to dress, 60 inside, 8 to undress, 30 of rest: 21.6 hours."""
    shifts = [{"id": "day", "from-hour": 8, "hours": 12}, {"id": "night", "from-hour": 20, "hours": 12}]
    people = [{"id": "a", "count": 2, "may": ["nurse"], "shifts": ["day"]}]
    people += [{"id": "b", "may": ["nurse"], "shifts": ["night"]}]
    minutes = {"don": 10, "doff": 8, "rest": 30}
    found = forecast(
        stay(shifts=shifts, people=people, minutes=minutes, stock=[{"item": "apron", "count": 99}]), CATALOGUE
    )

    day, night = found.shifts
    assert (day.there, day.hours, day.need[2].value, day.enough.value) == (2, 24, pytest.approx(21.6), 1)
    assert (night.there, night.hours, night.enough.value) == (1, 12, 0)
    assert (found.enough, found.people_enough) == ("yes", False)


def test_an_hour_with_nobody_on_shift_is_told_and_uses_nothing():
    found = forecast(stay(shifts=[{"id": "all-day", "from-hour": 8, "hours": 12}]), CATALOGUE)

    assert (found.uncovered.value, found.pools[0].used.value) == (24, 24)
    assert not found.people_enough


# ---- with chance: exact distributions ----


@pytest.mark.parametrize(("a_day", "count"), [(6, 10), (12, 30), (40, 85)])
def test_entries_at_random_run_out_as_poisson_says(a_day, count):
    """Chance that 48 hours need no more than there is, and that each earlier hour does: Poisson, SciPy's."""
    asked = at_random(a_day, stock=[{"item": "apron", "count": count}], draws=4000)
    short_at = drawn(asked).kept.short_at[:, 0]

    for hours in (12, 24, 36, 48):
        expected = stats.poisson.cdf(count, a_day * hours / 24)
        assert near((short_at >= hours).mean(), expected, 4000), hours


def test_use_at_random_has_the_whole_distribution_of_poisson():
    used = drawn(at_random(12, stock=[{"item": "apron", "count": 999}], draws=4000)).kept.used[:, 0]
    seen = np.bincount(used, minlength=60)[:60]
    chances = stats.poisson.pmf(np.arange(60), 24)
    middle = chances * 4000 >= 8

    observed = [*seen[middle], seen[~middle].sum()]
    expected = [*(chances[middle] * 4000), 4000 - (chances[middle] * 4000).sum()]
    assert stats.chisquare(observed, expected).pvalue > 1e-4


def test_damaged_pieces_are_negative_binomial():
    """48 pieces that must be good, one in five found damaged: chance that 60 suffice."""
    asked = stay(rates={"damage-per-piece": 0.2, "glove-changes-an-hour": 0}, stock=[{"item": "apron", "count": 60}])
    lasts = drawn(asked.model_copy(update={"draws": 4000})).kept.short_at[:, 0] >= 48

    assert near(lasts.mean(), stats.nbinom.cdf(12, 48, 0.8), 4000)


def test_damaged_pieces_a_day_are_so_many_on_average():
    asked = stay(rates={"damaged-a-day": 3.0, "glove-changes-an-hour": 0}, stock=[{"item": "apron", "count": 999}])
    damaged = drawn(asked.model_copy(update={"draws": 4000})).damaged[:, 0]

    assert damaged.mean() == pytest.approx(6, abs=WIDE * damaged.std() / sqrt(4000))


def test_glove_changes_are_poisson_in_the_time_inside():
    """24 entries of two hours at half a change an hour: 24 + Poisson(24) pairs."""
    asked = stay(
        ensembles=[{"id": "set", "wearer": ["gloves-long"]}],
        work=[{"id": "care", "ensemble": "set", "by": "nurse", "inside": 1, "minutes-inside": 120}],
        stock=[{"item": "gloves-long", "size": "m", "count": 55}],
        rates={"damage-per-piece": 0, "glove-changes-an-hour": 0.5},
        draws=4000,
    )
    lasts = drawn(asked).kept.short_at[:, 0] >= 48

    assert near(lasts.mean(), stats.poisson.cdf(55 - 24, 24), 4000)


def test_who_goes_in_is_drawn_evenly_from_those_on_shift():
    """Three people of size s, one of m: how many of 48 pieces are of size s is binomial."""
    people = [{"id": "a", "count": 3, "may": ["nurse"], "shifts": ["all-day"], "sizes": {"gown-isolation": "s"}}]
    people += [{"id": "b", "may": ["nurse"], "shifts": ["all-day"], "sizes": {"gown-isolation": "m"}}]
    asked = stay(
        people=people,
        ensembles=[{"id": "set", "wearer": ["gown-isolation"]}],
        stock=[{"item": "gown-isolation", "size": size, "count": 38} for size in ("s", "m")],
        draws=4000,
    )
    made = drawn(asked)
    lasts = made.kept.short_at[:, 0] >= 48

    assert near(lasts.mean(), stats.binom.cdf(38, 48, 0.75), 4000)

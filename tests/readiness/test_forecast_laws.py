"""Laws of the forecast, run by run on shared chance: more stock never shortens cover, more use never lengthens it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.readiness.stays import CATALOGUE, days, drawn, model, stay, stays

from vestry.readiness import Mend, Stay, forecast
from vestry.readiness.forecast_draws import ask
from vestry.readiness.forecast_ledger import keep
from vestry.readiness.ordering import Wanting, orders_in_time
from vestry.stock import LeadTime

pytestmark = pytest.mark.property
few = settings(max_examples=6, deadline=None)


def many(test):
    """Thirty cases, with ./test --all."""
    return pytest.mark.slow(settings(max_examples=30, deadline=None)(test))


def cover(asked: Stay) -> dict[tuple[str, str], np.ndarray]:
    """Hours until something is first lacking, by pool, draw by draw."""
    return dict(zip(model(asked).pools, drawn(asked).kept.short_at.T, strict=True))


def never_shorter(asked: Stay, other: Stay) -> None:
    """In no draw does anything last shorter in `other`."""
    before, after = cover(asked), cover(other)
    for pool, hours in before.items():
        assert np.all(after[pool] >= hours), pool


def changed(asked: Stay, field: str, number: int, **update: object) -> Stay:
    rows = list(getattr(asked, field))
    rows[number] = rows[number].model_copy(update=update)
    return asked.model_copy(update={field: tuple(rows)})


@few
@given(stays(), st.integers(0, 50), st.integers(1, 30))
def test_more_stock_never_shortens_cover(asked, number, more):
    number %= len(asked.stock)
    never_shorter(asked, changed(asked, "stock", number, count=asked.stock[number].count + more))


@many
@given(stays(), st.integers(0, 50), st.integers(0, 4))
def test_another_lot_never_shortens_cover(asked, number, day):
    lot = asked.stock[number % len(asked.stock)]
    other = lot.model_copy(update={"count": 10, "expires": stay(stock=[lot_of(lot, day)]).stock[0].expires})
    never_shorter(asked, asked.model_copy(update={"stock": (*asked.stock, other)}))


def lot_of(lot, day):
    return {"item": lot.item, "size": lot.size, "count": 1, "expires": days(day)}


@many
@given(stays(), st.integers(0, 50), st.sampled_from((1, 2, None)))
def test_a_later_expiry_never_shortens_cover(asked, number, by):
    number %= len(asked.stock)
    expires = asked.stock[number].expires
    if expires is not None:
        later = None if by is None else expires.replace(day=expires.day + by) if expires.day < 26 else None
        never_shorter(asked, changed(asked, "stock", number, expires=later))


@many
@given(stays())
def test_deliveries_help_and_help_more_when_they_come_earlier(asked):
    never_shorter(asked.model_copy(update={"deliveries": ()}), asked)
    for number, one in enumerate(asked.deliveries):
        first, last = one.arrives_hours
        never_shorter(
            asked, changed(asked, "deliveries", number, arrives_hours=(first // 2, first // 2 + last - first))
        )


@few
@given(stays(), st.integers(0, 1))
def test_more_entries_never_lengthen_cover(asked, number):
    number %= len(asked.work)
    work = asked.work[number]
    never_shorter(changed(asked, "work", number, extra_a_day=work.extra_a_day * 2), asked)
    never_shorter(changed(asked, "work", number, inside=work.inside + 1), asked)


@many
@given(stays())
def test_more_damage_and_more_changes_never_lengthen_cover(asked):
    rates = asked.rates
    worse = rates.model_copy(update={"damage_per_piece": rates.damage_per_piece + 0.2})
    never_shorter(asked.model_copy(update={"rates": worse}), asked)
    worse = rates.model_copy(update={"glove_changes_an_hour": rates.glove_changes_an_hour + 0.5})
    never_shorter(asked.model_copy(update={"rates": worse}), asked)


@many
@given(stays())
def test_keeping_more_back_and_cleaning_longer_never_lengthen_cover(asked):
    never_shorter(changed(asked, "reserves", 0, count=asked.reserves[0].count + 3), asked)
    never_shorter(changed(asked, "again", 0, hours=asked.again[0].hours + 5), asked)


@many
@given(stays())
def test_a_longer_stay_begins_as_the_shorter_one_did(asked):
    short, long = cover(asked), cover(asked.model_copy(update={"hours": asked.hours + 30}))

    assert all(np.array_equal(short[pool], np.minimum(long[pool], asked.hours)) for pool in short)


@few
@given(stays())
def test_every_piece_is_accounted_for(asked):
    """On the shelf, arrived and come back from cleaning is used, expired or left; what was asked is used or lacking."""
    made = model(asked)
    draws = np.arange(100)
    need = ask(made, draws)
    kept = keep(made, need, draws)
    at_start = np.zeros(len(made.pools), dtype=np.int64)
    for one in made.batches:
        at_start[one.pool] += 0 if one.arrives else one.count

    assert np.array_equal(at_start + kept.arrived + kept.came_back, kept.used + kept.expired + kept.left)
    assert np.array_equal(need.pieces.sum(axis=0), kept.used + kept.lacking)
    assert np.all(kept.left >= 0)
    assert np.all((kept.lacking > 0) == (kept.short_at < asked.hours))


@many
@given(stays())
def test_the_size_of_a_block_changes_nothing(asked):
    made = model(asked)
    whole, parts = ask(made, np.arange(60)), [ask(made, np.arange(n, n + 20)) for n in (0, 20, 40)]

    assert np.array_equal(whole.pieces, np.concatenate([part.pieces for part in parts], axis=1))
    assert np.array_equal(whole.entries, np.concatenate([part.entries for part in parts], axis=2))


@many
@given(stays(), st.sampled_from((0, 6, 20)))
def test_the_orders_to_place_mend_what_comes_after_them(asked, lead):
    """Placed, and there at the lead time: nothing is lacking from then on in at least the target's share of draws."""
    asked = asked.model_copy(update={"lead_hours": lead, "draws": 200, "target": 0.9})
    orders = forecast(asked, CATALOGUE).orders
    placed = [{"item": one.item, "size": one.size, "count": one.count, "arrives-hours": [lead, lead]} for one in orders]
    other = asked.model_copy(update={"deliveries": (*asked.deliveries, *stay(deliveries=placed).deliveries)})
    late = drawn(other).kept.late

    assert (late.sum(axis=1) == 0).mean() >= 0.9
    if placed and lead == 0:
        assert forecast(other, CATALOGUE).sustains.value >= 0.9


def test_a_set_is_taken_off_by_each_who_dressed():
    """One an hour goes in; observer and assistant dress anew for each exit, or are not counted."""
    both = {
        "people": [{"id": "a", "may": ["nurse", "observer", "assistant"], "shifts": ["all-day"]}],
        "ensembles": [{"id": "set", "wearer": ["apron"], "observer": ["apron"], "assistant": ["apron"]}],
    }

    assert [forecast(stay(team=team, **both), CATALOGUE).doffings.value for team in ("not-counted", "each-exit")] == [
        24,
        72,
    ]


@pytest.mark.parametrize("lead", [0, 10, 20, 40])
def test_what_is_borrowed_ordered_now_and_ordered_later_covers_the_whole_stay_and_no_piece_less_does(lead):
    """No chance: one apron an hour for two days, thirty there."""
    found = forecast(stay(lead_times={"apron": lead}), CATALOGUE).pools[0]
    wanting = Wanting(*found.lacking_by, early=int(found.cover[0].value))
    mends = orders_in_time(Mend(id="order", item="apron"), wanting, LeadTime(lead, kept=True), 48)

    def lasts(counts):
        coming = [
            {"item": "apron", "count": count, "arrives-hours": [one.by_hour] * 2}
            for count, one in zip(counts, mends, strict=True)
        ]
        return forecast(stay(deliveries=coming), CATALOGUE).sustains.value

    counts = [one.count for one in mends]
    assert sum(counts) == 18
    assert [one.id for one in mends] == {
        0: ["order"],
        10: ["order"],
        20: ["order", "order-later"],
        40: ["order-too-late", "order"],
    }[lead]
    assert lasts(counts) == 1
    assert all(lasts([n - (here == at) for here, n in enumerate(counts)]) < 1 for at in range(len(counts)))


def test_each_item_is_ordered_by_its_own_lead_time():
    """Two alike but for their time, one an hour: what is lacking before an order is there is no part of it."""
    pair = ("apron", "face-shield")
    asked = {
        "ensembles": [{"id": "set", "wearer": pair}],
        "stock": [{"item": item, "count": 30} for item in pair],
    }
    kept, judged = (
        forecast(stay(lead_times=times, **asked), CATALOGUE)
        for times in ({"apron": 0, "face-shield": 40}, {"apron": 40})
    )

    assert [(one.item, one.count, one.lead_hours, one.lead_judged) for one in kept.orders] == [
        ("face-shield", 8, 40, False),
        ("apron", 18, 0, False),
    ]
    assert [(one.item, one.count, one.lead_judged) for one in judged.orders] == [("apron", 8, False)]  # 72 is too late
    assert [{"lead-hours"} & {one.id for one in found.defaults} for found in (kept, judged)] == [set(), {"lead-hours"}]


def test_an_order_of_one_piece_less_would_not_do():
    """One pool, no chance: the order is exactly what lacks."""
    asked = stay(lead_hours=0, stock=[{"item": "apron", "count": 30}])

    assert [one.count for one in forecast(asked, CATALOGUE).orders] == [18]

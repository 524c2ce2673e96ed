"""The shelf: an order that comes too late is no mend, and what runs out first stands first."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.readiness.test_tonight import DAY, FACTS, QUESTION, _size, ask, days, everything, here, last, link, person

from vestry.readiness import Lasting, Mend, Used
from vestry.readiness.ordering import Wanting, orders_in_time
from vestry.readiness.telling import told_link, told_mend, told_stands, told_why
from vestry.stock import LeadTime, LeadTimes, Reserve
from vestry.trade.words import load_words

WORDS = load_words("en")
LEAD = 72
GOWN, *OTHERS = sorted((one.id for one in everything()[0]), key=lambda item: FACTS.items[item].kind != "gown")
SIZE = _size(GOWN)
LONG = QUESTION.model_copy(update={"hours": 240})


def runs_out(item, out, early, pieces=70):
    return Used(item, _size(item) or "one-size", pieces, lasts=False, out=out, early=early)


def shelf(*used, lead=LEAD, question=LONG, there=None):
    told = LeadTimes() if lead is None else LeadTimes(of_all=lead)
    found = ask(replace(there or here(), lead_times=told), question, lasts=Lasting({"dry": used}, None, ()))
    return [one for one in found.links if one.topic == "stock"]


@pytest.mark.parametrize(
    ("early", "lead", "mend"),
    [
        (44, 72, "order-too-late"),
        (71, 72, "order-too-late"),
        (72, 72, "order"),
        (44, 0, "order"),
        (71, None, "order-too-late"),
    ],
)
def test_an_order_mends_only_where_it_is_there_before_the_shelf_lacks_something(early, lead, mend):
    (found,) = shelf(runs_out(GOWN, 60, early), lead=lead)
    (mended,) = found.mend

    assert (found.state, mended.id, mended.count) == ("not-ready", mend, 20)
    took = LEAD if lead is None else lead  # the planning figure, where the unit keeps none, is told as one
    assert (mended.by_hour, mended.lead_hours, mended.lead_kept) == (early, took, lead is not None)


def test_the_items_own_lead_time_holds_before_that_of_all_and_a_judgement_is_told_as_one():
    told = {}
    for name, kept in (
        ("own", LeadTimes({GOWN: 50}, 20)),
        ("all", LeadTimes({OTHERS[0]: 50}, 60)),
        ("none", LeadTimes()),
    ):
        found = ask(replace(here(), lead_times=kept), LONG, lasts=Lasting({"dry": (runs_out(GOWN, 60, 44),)}, None, ()))
        told[name] = told_mend(link(found, "stock").mend[0], WORDS)

    assert [said.split(" hours")[0] for said in told.values()] == [
        "an order takes 50",
        "an order takes 60",
        "an order takes 72",
    ]
    assert ["judgement" in said for said in told.values()] == [False, False, True]


def test_the_words_say_how_long_an_order_takes_and_until_when_something_else_has_to_be_done():
    (found,) = shelf(runs_out(GOWN, 60, 44))

    assert told_mend(found.mend[0], WORDS).startswith(
        "an order takes 72 hours and comes too late; before hour 44 borrow, put something else in its place, or "
        "transfer the patient: 20, "
    )
    assert told_stands(found, WORDS).endswith(
        "first lacking at hour 60 in half of the simulated stays, by hour 44 in 5 of 100"
    )


def test_a_stay_longer_than_the_lead_time_names_what_cannot_wait_what_to_order_now_and_what_later():
    gown = replace(runs_out(GOWN, 60, 44, pieces=150), lacking_by=(12, 40))
    (found,) = shelf(gown)
    told = [told_mend(one, WORDS) for one in found.mend]

    assert [(one.id, one.count, one.by_hour, one.order_by) for one in found.mend] == [
        ("order-too-late", 12, 44, None),
        ("order", 28, 72, None),
        ("order-later", 60, 144, 72),
    ]
    assert told[1].startswith("order now, to be there by hour 72: 28, ")
    assert told[2].startswith("order by hour 72, to be there by hour 144: 60, ")


_counts = st.tuples(st.integers(0, 300), st.integers(0, 300), st.integers(1, 300)).map(sorted)


@given(_counts, st.integers(0, 239), st.integers(0, 400))
def test_mends_cover_the_whole_stay_once_and_none_comes_before_it_can_or_after_it_is_wanted(counts, early, lead):
    before, until_next, in_all = counts
    order = Mend(id="order", item=GOWN)
    mends = orders_in_time(order, Wanting(before, until_next, in_all, early), LeadTime(lead, kept=True), 240)

    assert sum(one.count for one in mends) == in_all
    assert [one.by_hour for one in mends] == sorted({one.by_hour for one in mends})
    for one in mends:
        assert one.count > 0
        assert early <= one.by_hour <= 240
        if one.id == "order-too-late":
            assert early < lead
        else:
            assert one.by_hour - (one.order_by or 0) >= lead


def test_what_expires_on_a_day_that_an_order_is_there_for_is_mended_by_an_order():
    lasts = Used(GOWN, _size(GOWN), 12, lasts=True)
    (found,) = shelf(lasts, question=QUESTION, there=here(expiry=DAY + days(6)))

    assert [one.id for one in found.mend] == ["order"]


def test_whoever_lacks_a_size_that_no_order_brings_in_time_borrows_it():
    _, counts = everything()
    bare = {where: count for where, count in counts.items() if where.lot != GOWN}
    there = here([person("ana")], counts=bare)
    late, known = (link(ask(replace(there, lead_times=LeadTimes(of_all=lead))), "wearer") for lead in (LEAD, 0))

    assert {one.id for one in known.mend} >= {"order"}
    assert {one.id for one in late.mend} >= {"borrow"}
    assert "order" not in {one.id for one in late.mend}


def test_of_what_runs_out_the_first_stands_first_whatever_is_wanting_of_it():
    first, second, third, fourth = OTHERS[:4]
    used = (
        runs_out(second, 60, 40, pieces=5000),
        runs_out(third, None, 30),  # in fewer than half of the stays
        runs_out(fourth, 60, 50, pieces=9000),
        runs_out(first, 44, 41, pieces=51),
    )
    found = shelf(*used)

    assert [one.subject for one in found] == [first, second, fourth, third]
    assert [one.runs_out for one in found] == [44, 60, 60, None]


_hours = st.tuples(st.integers(0, 239), st.integers(0, 60))


@settings(max_examples=20, deadline=None)
@given(st.lists(_hours, min_size=2, max_size=4, unique_by=lambda one: one[0]))
def test_the_order_is_that_of_the_hours(hours):
    found = shelf(*(runs_out(item, out, max(0, out - less)) for item, (out, less) in zip(OTHERS, hours, strict=False)))

    assert [one.runs_out for one in found] == sorted(out for out, _ in hours)


def test_the_forecast_says_the_hours_and_the_first_to_run_out_is_the_first_link():
    few = {where: (14 if where.lot == GOWN else 20) for where in everything()[1]}
    there, question = here(counts=few), QUESTION.model_copy(update={"hours": 48})
    lasts = last(there, hours=48)
    found = ask(there, question, lasts=lasts)
    failing = [one for one in found.links if one.topic == "stock" and one.state == "not-ready"]

    assert len(failing) > 1
    assert (failing[0].subject, failing[0].size) == found.cover.first
    assert failing[0].runs_out == found.cover.middle
    assert [one.mend[0].id for one in failing] == ["order-too-late"] * len(failing)  # two days; an order takes three


# ---- reserves -------------------------------------------------------------------------------------------------------


def reserved(least, item=GOWN, size=SIZE, **more):
    found = ask(here(reserves=(Reserve(item=item, size=size, least=least),), **more))
    return found, [one for one in found.links if one.topic == "reserve"]


def test_below_the_reserve_is_looked_at_and_says_how_many_are_wanting():
    found, (one,) = reserved(60)

    assert (found.state, one.state, one.have, one.need) == ("watch", "watch", 50, 60)
    assert told_why(one.why[0], WORDS) == "below the reserve, which a stay uses up like all else (10 wanting)"
    assert told_link(one, WORDS).startswith("reserve: ")
    assert [(mend.id, mend.count) for mend in one.mend] == [("order", 10)]


def test_as_many_as_the_reserve_are_ready_until_some_expire():
    assert [one.state for one in reserved(50)[1]] == ["ready"]
    _, (one,) = reserved(50, expiry=DAY + days(6))

    assert (one.until, one.then) == (DAY + days(6), "watch")


def test_a_reserve_of_all_sizes_counts_them_together_and_one_that_nobody_wears_is_left_out():
    _, (one,) = reserved(50, size=None)

    assert (one.state, one.have, one.size) == ("ready", 50, None)
    unworn = next(item for item in FACTS.items if item not in {lot.item for lot in everything()[0]})
    assert reserved(50, item=unworn, size=None)[1] == []

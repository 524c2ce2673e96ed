"""Disinfectant, concentrate, bags and containers for waste: what is known, what is not, and what would mend it."""

import dataclasses
import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.readiness import Here, Question, SuppliesHere
from vestry.readiness.supplying import supply_links
from vestry.readiness.telling import told_link, told_mend, told_why
from vestry.readiness.today import rank
from vestry.stock import LeadTimes, Lot, Where
from vestry.trade.operations import load_operations
from vestry.trade.shelf import supplies
from vestry.trade.words import load_words

DAY = datetime.date(2026, 6, 1)
ALL = frozenset(supplies())
WORDS = load_words("en")


def days(count):
    return datetime.timedelta(days=count)


def here(counts=None, kept=ALL, made_up=(), expiry=None, held=frozenset()):
    """A hospital that holds these pieces of supplies."""
    counts = counts or {}
    return Here(
        procedures=(),
        lots=tuple(Lot(id=one, item=one, size="one-size", number=one, expiry=expiry) for one in counts),
        counts={Where(one, "store"): pieces for one, pieces in counts.items()},
        held=held,
        supplies=SuppliesHere(kept, tuple(made_up), load_operations()),
    )


def links(there, on=DAY, hours=24):
    question = Question(hazard="lassa", on=DAY, hours=hours)
    return {one.topic: one for one in supply_links(question, there, on)}


def said(link):
    return link.state, [one.id for one in link.why], [one.id for one in link.mend]


def test_what_has_no_lot_in_the_register_is_not_known_and_never_there():
    found = links(here(kept=frozenset()))

    for topic in ("concentrate", "waste-bag", "waste-container"):
        assert said(found[topic]) == ("watch", ["not-in-the-register"], ["keep-in-the-register"])
        assert (found[topic].have, found[topic].need) == (None, None)
    assert found["disinfectant"].state == "watch"


def test_nobody_asked_for_supplies_is_told_nothing_of_them():
    assert not list(supply_links(Question(hazard="lassa", on=DAY), Here(procedures=()), DAY))


@pytest.mark.parametrize(
    ("made_up", "bleach", "expected"),
    [
        ([DAY], 3, ("ready", [], [])),
        ([DAY], 0, ("ready", [], [])),
        ([], 3, ("watch", ["none-made-up"], ["make-up-disinfectant"])),
        ([], 0, ("not-ready", ["none-to-make-up"], ["order-too-late"])),
    ],
)
def test_disinfectant_is_made_up_or_can_be_or_there_is_none(made_up, bleach, expected):
    assert said(links(here({"concentrate-bleach": bleach}, made_up=made_up))["disinfectant"]) == expected


def test_an_order_of_supplies_says_its_hour_as_that_of_any_lot_does():
    """Twenty bags a day at most, twelve there: first lacking at hour 14 of 72. An order takes 24 hours."""
    there = dataclasses.replace(here({"waste-bag": 12}), lead_times=LeadTimes({"waste-bag": 24}))
    told = [told_mend(one, WORDS) for one in links(there, hours=72)["waste-bag"].mend]

    assert told == [
        "an order takes 24 hours and comes too late; before hour 14 borrow, put something else in its place, or "
        "transfer the patient: 8, bags for waste",
        "order now, to be there by hour 24: 20, bags for waste",
        "order by hour 24, to be there by hour 48: 20, bags for waste",
    ]


def test_concentrate_has_to_be_there_before_the_last_batch_is_thrown_away():
    """In date through the third day, so over at hour 48; what takes longer than that to come is had otherwise."""
    for lead, expected in (
        (24, [("order", 48)]),
        (60, [("order-too-late", 48), ("order", 60)]),
    ):
        there = dataclasses.replace(here(made_up=[DAY + days(2)]), lead_times=LeadTimes(of_all=lead))
        link = links(there, hours=96)["concentrate"]

        assert [(one.id, one.by_hour) for one in link.mend] == expected
        assert [one.count for one in link.mend] == [None] * len(expected)  # how much, nobody has published


def test_on_a_day_ahead_it_can_be_made_up_while_there_is_concentrate():
    there = here({"concentrate-bleach": 1}, made_up=[DAY], expiry=DAY + days(9))

    assert [links(there, DAY + days(n))["disinfectant"].state for n in (0, 1, 9, 10)] == [
        "ready",
        "ready",
        "ready",
        "not-ready",
    ]


def test_a_batch_without_concentrate_that_is_kept_says_nothing_of_tomorrow():
    there = here(kept=frozenset(), made_up=[DAY])

    assert links(there)["disinfectant"].state == "ready"
    assert said(links(there, DAY + days(1))["disinfectant"])[:2] == ("watch", ["concentrate-not-kept"])


def test_concentrate_has_to_keep_until_the_stay_ends_and_not_to_be_on_hold():
    bleach = {"concentrate-bleach": 5}

    assert links(here(bleach, expiry=DAY + days(2)), hours=72)["concentrate"].state == "ready"
    assert links(here(bleach, expiry=DAY + days(1)), hours=72)["concentrate"].state == "not-ready"
    assert links(here(bleach, held=frozenset(bleach)))["concentrate"].state == "not-ready"


@pytest.mark.parametrize(
    ("hours", "bags", "state"),
    # Four bags a patient-day are the least that is published, twenty the most (trade/data/operations/waste.toml).
    [
        (24, 3, "not-ready"),
        (24, 4, "watch"),
        (24, 19, "watch"),
        (24, 20, "ready"),
        (72, 59, "watch"),
        (72, 60, "ready"),
    ],
)
def test_bags_are_held_against_the_least_and_the_most_published(hours, bags, state):
    link = links(here({"waste-bag": bags}), hours=hours)["waste-bag"]

    assert (link.state, link.have, link.need) == (state, bags, 20 * hours // 24)
    assert sum(one.count for one in link.mend) == (0 if state == "ready" else link.need - bags)


def test_containers_are_counted_by_what_they_hold():
    link = links(here({"waste-container-30": 2, "waste-container-60": 3, "waste-drum-208": 1}))["waste-container"]

    assert link.have == 2 * 30 + 3 * 60 + 208
    assert (link.state, link.need) == ("not-ready", 1666)  # 651.3 to 1665.6 litres a patient-day


def test_litres_go_by_the_sets_taken_off_where_the_forecast_says_how_many_and_bags_by_the_day():
    """27.1 to 46.5 litres a set (trade/data/operations/waste.toml); ten sets are fewer than a patient-day has."""
    there, question = here({"waste-drum-208": 2, "waste-bag": 9}), Question(hazard="lassa", on=DAY)
    found = {one.topic: one for one in supply_links(question, there, DAY, doffings=10)}

    assert (found["waste-container"].need, found["waste-container"].state) == (465, "watch")
    assert (found["waste-bag"].need, links(there)["waste-container"].need) == (20, 1666)


@given(
    counts=st.dictionaries(st.sampled_from(sorted(ALL)), st.integers(0, 70)),
    more=st.dictionaries(st.sampled_from(sorted(ALL)), st.integers(1, 70)),
    hours=st.integers(1, 200),
    batches=st.integers(0, 1),
    ahead=st.integers(0, 5),
)
def test_more_stock_never_makes_it_less_ready(counts, more, hours, batches, ahead):
    fuller = {one: counts.get(one, 0) + more.get(one, 0) for one in counts.keys() | more.keys()}
    on = DAY + days(ahead)
    before = links(here(counts, made_up=[DAY] * batches), on, hours)
    after = links(here(fuller, made_up=[DAY + days(1)]), on, hours)

    for topic, link in before.items():
        assert rank(after[topic].state) >= rank(link.state), topic


@pytest.mark.parametrize("tag", ["en", "without a word"])
def test_every_reason_and_mend_has_words_and_a_language_that_lacks_one_says_it_in_english(tag):
    english = load_words("en")
    bare = english.file.model_copy(
        update={"term": {**english.file.term, "ready-why": {}, "ready-mend": {}, "ready-topic": {}}}
    )
    words = english if tag == "en" else dataclasses.replace(english, file=bare)
    shelves = [here(kept=frozenset(), made_up=[DAY]), here(), here({"concentrate-bleach": 1, "waste-bag": 5})]
    told = {
        said
        for shelf in shelves
        for on in (DAY, DAY + days(1))
        for link in links(shelf, on).values()
        for said in (
            told_link(link, words),
            *(told_why(one, words) for one in link.why),
            *(told_mend(one, words) for one in link.mend),
        )
    }

    assert {
        "disinfectant made up",
        "not kept in the register, so not known",
        "no disinfectant for surfaces is made up and in date",
        "fewer than the least that is published for such a stay (4)",
        "an order takes 72 hours and comes too late; before hour 6 borrow, put something else in its place, or "
        "transfer the patient: 15, bags for waste (lead time by judgement)",
    } <= told

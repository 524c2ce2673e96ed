"""Disinfectant, concentrate, bags and containers for waste: what is known, what is not, and what would mend it."""

import dataclasses
import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.readiness import Here, Question, SuppliesHere
from vestry.readiness.links import rank
from vestry.readiness.supplying import supply_links
from vestry.readiness.telling import told_link, told_mend, told_why
from vestry.stock import Lot, Where
from vestry.trade.operations import load_operations
from vestry.trade.shelf import supplies
from vestry.trade.words import load_words

DAY = datetime.date(2026, 6, 1)
ALL = frozenset(supplies())


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
        ([], 0, ("not-ready", ["none-to-make-up"], ["order-concentrate"])),
    ],
)
def test_disinfectant_is_made_up_or_can_be_or_there_is_none(made_up, bleach, expected):
    assert said(links(here({"concentrate-bleach": bleach}, made_up=made_up))["disinfectant"]) == expected


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
    assert [one.count for one in link.mend] == ([] if state == "ready" else [link.need - bags])


def test_containers_are_counted_by_what_they_hold():
    link = links(here({"waste-container-30": 2, "waste-container-60": 3, "waste-drum-208": 1}))["waste-container"]

    assert link.have == 2 * 30 + 3 * 60 + 208
    assert (link.state, link.need) == ("not-ready", 1666)  # 651.3 to 1665.6 litres a patient-day


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
        "order bags for waste: 15",
    } <= told

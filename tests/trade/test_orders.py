"""The transcribed orders: each can be carried out, each condition of a source has both its files.

Nothing here asks whether an order is clean.
"""

import tomllib
from functools import cache
from importlib import resources
from itertools import pairwise

import pytest

from vestry.trade.order import Order, read_order

DATA = resources.files("vestry.trade") / "data"
ORDERS: dict[str, Order] = {
    entry.name.removesuffix(".toml"): read_order(entry.read_text("utf-8"), entry.name)
    for entry in sorted((DATA / "orders").iterdir(), key=lambda entry: entry.name)
    if entry.name.endswith(".toml")
}

# Every published order that was noted, donning and doffing, outdated and uncertain ones too.
ENTRIES = [
    "cdc-vhf-unstable-n95-don-2015",
    "cdc-vhf-unstable-n95-gown-doff-2015",
    "cdc-vhf-unstable-n95-coverall-doff-2015",
    "cdc-vhf-unstable-papr-don-2015",
    "cdc-vhf-unstable-papr-ext-gown-doff-2015",
    "cdc-vhf-unstable-papr-ext-coverall-doff-2015",
    "cdc-ebola-2014oct-papr-doff",
    "cdc-vhf-stable-don",
    "cdc-vhf-stable-doff",
    "cdc-standard-don",
    "cdc-standard-doff-ex1",
    "cdc-standard-doff-ex2",
    "cdc-standard-doff-earlier-poster",
    "cdc-covid-don-2020",
    "cdc-covid-doff-2020",
    "who-ebola-coverall-don",
    "who-ebola-gown-don",
    "who-ebola-gown-doff",
    "who-epidemic-ari-doff",
    "field-2014-gown-doff",
    "ecdc-2020-covid-don",
    "ecdc-2020-covid-doff",
    "phe-2020-agp-don",
    "phe-2020-agp-doff",
    "phe-2020-airborne-hcid-don",
    "phe-2020-nonagp-doff",
    "uk-unnamed-vhf-don",
    "au-doh-2021-don",
    "au-doh-2021-doff",
]

MASK_OR_RESPIRATOR = ("surgical-mask", "respirator-disposable")
GOGGLES_OR_SHIELD = ("goggles", "face-shield")

# A condition of a source on what is worn: an item worn or left out, or two of which one is worn.
APRON = ("apron", None)
CONDITIONS = [
    ("cdc-vhf-unstable-n95-don-2015", APRON),
    ("cdc-vhf-unstable-n95-don-2015", ("gown-impermeable", "coverall-impermeable")),
    ("cdc-vhf-unstable-n95-gown-doff-2015", APRON),
    ("cdc-vhf-unstable-n95-coverall-doff-2015", APRON),
    ("cdc-vhf-unstable-papr-don-2015", APRON),
    ("cdc-vhf-unstable-papr-don-2015", ("gown-impermeable", "coverall-impermeable")),
    ("cdc-vhf-unstable-papr-ext-gown-doff-2015", APRON),
    ("cdc-vhf-unstable-papr-ext-coverall-doff-2015", APRON),
    ("cdc-ebola-2014oct-papr-doff", APRON),
    ("cdc-ebola-2014oct-papr-doff", ("gown-impermeable", "coverall-impermeable")),
    ("cdc-ebola-2014oct-papr-doff", ("papr-belt-unit", None)),
    ("cdc-vhf-stable-don", ("gown-fluid-resistant", "coverall-fluid-resistant")),
    ("cdc-vhf-stable-doff", ("gown-fluid-resistant", "coverall-fluid-resistant")),
    *(
        (entry, either)
        for entry in (
            "cdc-standard-don",
            "cdc-standard-doff-ex1",
            "cdc-standard-doff-ex2",
            "cdc-standard-doff-earlier-poster",
            "cdc-covid-don-2020",
            "cdc-covid-doff-2020",
            "who-epidemic-ari-doff",
            "field-2014-gown-doff",
            "au-doh-2021-don",
            "au-doh-2021-doff",
        )
        for either in (MASK_OR_RESPIRATOR, GOGGLES_OR_SHIELD)
    ),
    ("who-ebola-coverall-don", GOGGLES_OR_SHIELD),
    ("who-ebola-gown-don", GOGGLES_OR_SHIELD),
    ("who-ebola-gown-doff", GOGGLES_OR_SHIELD),
    ("field-2014-gown-doff", ("washable-boots", "foot-covers-low")),
    ("phe-2020-agp-don", GOGGLES_OR_SHIELD),
    ("phe-2020-agp-doff", GOGGLES_OR_SHIELD),
    ("phe-2020-airborne-hcid-don", GOGGLES_OR_SHIELD),
    ("phe-2020-airborne-hcid-don", ("gown-fluid-resistant", "coverall-fluid-resistant")),
    ("phe-2020-nonagp-doff", ("goggles", None)),
    ("phe-2020-nonagp-doff", GOGGLES_OR_SHIELD),
]

# A condition of another kind, as the ends of the names of the two files.
OTHER_CONDITIONS = [
    ("cdc-vhf-unstable-n95-gown-doff-2015", "with-apron", "torn-inner-glove"),
    ("cdc-vhf-unstable-n95-gown-doff-2015", "without-apron", "soiled-front"),
    ("cdc-vhf-unstable-n95-coverall-doff-2015", "with-apron", "torn-inner-glove"),
    ("cdc-vhf-unstable-papr-ext-gown-doff-2015", "with-apron", "torn-inner-glove"),
    ("cdc-vhf-unstable-papr-ext-coverall-doff-2015", "with-apron", "torn-inner-glove"),
    ("cdc-ebola-2014oct-papr-doff", "gown-external-with-apron", "gown-external-torn-inner-glove"),
    (
        "cdc-ebola-2014oct-papr-doff",
        "coverall-external-with-apron",
        "coverall-external-covers-over-legs",
    ),
    ("cdc-vhf-stable-doff", "gown", "gown-torn-inner-glove"),
    ("cdc-covid-don-2020", "respirator-shield", "respirator-shield-hands-before-gloves"),
    ("who-ebola-coverall-don", "shield", "shield-over-hood"),
    ("who-ebola-gown-don", "shield", "shield-over-hood"),
    ("who-ebola-gown-doff", "goggles", "goggles-boots-kept"),
    ("field-2014-gown-doff", "respirator-goggles-boots-soap", "respirator-goggles-boots-chlorine"),
    ("ecdc-2020-covid-doff", "alone", "helper"),
    ("ecdc-2020-covid-doff", "alone", "alone-gloves-rubbed-first"),
    ("phe-2020-agp-doff", "shield-outside", "shield-anteroom"),
    ("phe-2020-agp-doff", "shield-anteroom", "shield-all-in-anteroom"),
    ("au-doh-2021-doff", "respirator-shield", "respirator-shield-anteroom"),
]

PRACTICE = sorted(name for name in ORDERS if name.startswith("practice-"))
FULL_PRACTICE = "practice-haemorrhagic-respirator"
LEFT_ON_AT_THE_END = {"scrubs", "washable-shoes", "washable-boots"}


def files_of(entry: str) -> list[Order]:
    return [order for name, order in ORDERS.items() if name.partition("--")[0] == entry]


def used(order: Order) -> set[str]:
    """What is worn at the start or put on during the order."""
    return set(order.worn) | {item for step in order.steps if step.act == "don" for item in step.handled}


def how_often(order: Order, act: str) -> int:
    return sum(step.act == act for step in order.steps)


@cache
def known(table: str) -> set[str]:
    """The ids of this table in the shipped facts."""
    return {
        record["id"]
        for entry in DATA.iterdir()
        if entry.name.endswith(".toml")
        for record in tomllib.loads(entry.read_text("utf-8")).get(table, [])
    }


# ---- each file by itself ----


@pytest.mark.parametrize("name", ORDERS)
def test_names_only_what_the_catalogue_has(name):
    order = ORDERS[name]

    assert used(order) <= known("item")
    assert {item for step in order.steps for item in step.handled} <= known("item")
    assert {step.technique for step in order.steps if step.technique} <= known("technique")
    assert {step.agent for step in order.steps if step.agent} <= known("agent")


@pytest.mark.parametrize("name", ORDERS)
def test_can_be_carried_out(name):
    order = ORDERS[name]
    on = list(order.worn)
    for step in order.steps:
        if step.act == "don":
            assert not set(step.handled) & set(on)
            on += step.handled
        elif step.act == "doff":
            for item in step.handled:
                on.remove(item)
        elif step.act == "change-gloves":
            (glove,) = (item for item in on if "gloves" in item)
            on[on.index(glove)] = "fresh-gloves"

    doffing = order.published is None or order.published.kind == "doff"
    assert not doffing or set(on) <= LEFT_ON_AT_THE_END


@pytest.mark.parametrize("name", ORDERS)
def test_nobody_acts_who_is_not_there(name):
    order = ORDERS[name]
    acting = {step.who for step in order.steps}

    assert "assistant" in order.roles or not acting & {"both", "assistant"}
    assert "observer" in order.roles or "observer" not in acting


@pytest.mark.parametrize("name", ORDERS)
def test_every_step_says_how_surely_it_is_known(name):
    assert all(step.certainty for step in ORDERS[name].steps)


@pytest.mark.parametrize("name", sorted(set(ORDERS) - set(PRACTICE)))
def test_a_published_order_says_where_it_was_read(name):
    published = ORDERS[name].published

    assert published is not None
    assert published.kind == ("don" if "-don" in name.partition("--")[0] else "doff")


# ---- the set of files ----


@pytest.mark.parametrize("entry", ENTRIES)
def test_every_noted_order_has_a_file(entry):
    assert files_of(entry)


def test_no_file_stands_for_an_order_that_was_not_noted():
    assert {name.partition("--")[0] for name in ORDERS if name not in PRACTICE} == set(ENTRIES)


@pytest.mark.parametrize(("entry", "condition"), CONDITIONS)
def test_each_condition_on_what_is_worn_has_both_its_files(entry, condition):
    one, other = condition
    wearing = [used(order) for order in files_of(entry)]

    assert any(one in items for items in wearing)
    assert any(one not in items and (other is None or other in items) for items in wearing)


@pytest.mark.parametrize(("entry", "one", "other"), OTHER_CONDITIONS)
def test_each_other_condition_has_both_its_files(entry, one, other):
    done = [
        (order.zone, order.worn, [step.model_dump(exclude={"certainty"}) for step in order.steps])
        for order in (ORDERS[f"{entry}--{one}"], ORDERS[f"{entry}--{other}"])
    ]

    assert done[0] != done[1]


def test_a_torn_inner_glove_means_one_change_more():
    for entry, intact, torn in OTHER_CONDITIONS:
        if torn.endswith("torn-inner-glove"):
            changes, more = (how_often(ORDERS[f"{entry}--{name}"], "change-gloves") for name in (intact, torn))
            assert more == changes + 1


# ---- common practice, no source ----


@pytest.mark.parametrize("name", PRACTICE)
def test_practice_is_marked_as_such(name):
    assert ORDERS[name].published is None
    assert {step.certainty for step in ORDERS[name].steps} == {"common-practice"}


def test_full_practice_disinfects_gloves_seven_times_and_bare_hands_twice():
    """Common practice, no source."""
    order = ORDERS[FULL_PRACTICE]

    assert how_often(order, "disinfect-gloves") == 7
    assert how_often(order, "hand-hygiene") == 2


@pytest.mark.parametrize(
    ("name", "pairs"),
    [
        (FULL_PRACTICE, 3),
        ("practice-haemorrhagic-mask", 3),
        ("practice-respiratory-one-pair", 2),
    ],
)
def test_practice_uses_as_many_glove_pairs_as_practitioners_count(name, pairs):
    """Common practice, no source."""
    assert sum("gloves" in item for item in used(ORDERS[name])) == pairs


@pytest.mark.parametrize("left_out", ["hair-cover", "foot-covers"])
def test_what_is_left_out_takes_its_disinfection_with_it(left_out):
    """Common practice, no source."""
    assert how_often(ORDERS[f"{FULL_PRACTICE}--no-{left_out}"], "disinfect-gloves") == 6


@pytest.mark.parametrize("name", PRACTICE)
def test_practice_never_disinfects_gloves_twice_in_a_row(name):
    """Common practice, no source."""
    for before, after in pairwise(step.act for step in ORDERS[name].steps):
        assert (before, after) != ("disinfect-gloves", "disinfect-gloves")

"""The records that a unit runs on: all sourced, laid over record by record, and bad files refused whole."""

from __future__ import annotations

import pytest

from vestry.trade.catalogue import load_catalogue
from vestry.trade.crosscheck import NO_SOURCE_NEEDED
from vestry.trade.errors import BadFacts
from vestry.trade.operations import load_operations, load_operations_texts
from vestry.trade.operations_values import ContactTime, HygieneTime, MixingFactor, Told
from vestry.trade.reading import MAX_CHARACTERS
from vestry.trade.shipped import shipped_texts
from vestry.trade.words import load_words

OPERATIONS, SHIPPED, WORDS = load_operations(), shipped_texts("operations"), load_words("en")
RECORDS: list[Told] = [one for table in OPERATIONS.tables.values() for one in table.values()]
BECAUSE = 'because = { reason = "the label", name = "Sander Brook", date = 2026-03-02 }\n'
HEAD = "format-version = 1\n"
CONTACT = (
    '[[contact-time]]\nid = "surfaces"\nuse = "surfaces"\nminutes = 5.0\nsource = "hospital"\ncertainty = "hospital"\n'
)


def test_every_record_has_a_source_that_is_held_or_a_certainty_that_needs_none() -> None:
    for one in RECORDS:
        assert one.source in OPERATIONS.sources or one.certainty in NO_SOURCE_NEEDED


def test_no_record_is_surer_than_its_source_was_read() -> None:
    order = ["seen", "seen-secondary", "inferred", "from-memory"]
    for one in RECORDS:
        source = OPERATIONS.sources.get(one.source)
        if source is not None and one.certainty in order and source.read_as in order:
            assert order.index(one.certainty) >= order.index(source.read_as), one.id


def test_everything_shown_has_words() -> None:
    groups = {
        "chlorine-product": ("chlorine-product", "id"),
        "clothing-adjustment": ("garment", "garment"),
        "field-heat": ("field-heat", "what"),
    }
    for table, (group, field) in groups.items():
        for record in OPERATIONS.tables[table].values():
            assert WORDS.term(group, getattr(record, field))
    for record in OPERATIONS.tables["packing"].values():
        assert all(WORDS.term("packing", layer) for layer in record.layers)
    for record in OPERATIONS.tables["clothing-adjustment"].values():
        assert WORDS.term("heat-family", record.family)


def test_a_record_of_the_hospital_lies_over_ours_whole_and_changes_the_digest() -> None:
    ours = load_operations_texts(SHIPPED, {"own.toml": HEAD + CONTACT + BECAUSE})

    assert ours.one(ContactTime, "surfaces").minutes == 5
    assert OPERATIONS.one(ContactTime, "surfaces").minutes == 15
    assert ours.theirs == (("contact-time", "surfaces"),)
    assert ours.digest != OPERATIONS.digest


def test_a_record_that_is_not_there_is_told_with_the_nearest() -> None:
    with pytest.raises(KeyError, match="did you mean perfect"):
        OPERATIONS.one(MixingFactor, "prefect")


# What a file says, and the problem that is told.
HOSTILE = {
    "no reason": (HEAD + CONTACT, "says why"),
    "twice": (HEAD + (CONTACT + BECAUSE) * 2, "stands twice"),
    "unknown field": (HEAD + CONTACT + BECAUSE + 'if = "soiled"\n', "Extra inputs are not permitted"),
    "unknown table": (HEAD + "[[contact-tme]]\n", "Extra inputs are not permitted"),
    "unknown source": (HEAD + CONTACT.replace('source = "hospital"', 'source = "iqbal2061"') + BECAUSE, "iqbal2016"),
    "source for what was read": (
        HEAD + CONTACT.replace('certainty = "hospital"', 'certainty = "seen"') + BECAUSE,
        "source",
    ),
    "zero": (HEAD + CONTACT.replace("5.0", "0.0") + BECAUSE, "greater than 0"),
    "infinite": (HEAD + CONTACT.replace("5.0", "inf") + BECAUSE, "finite"),
    "not a number": (HEAD + CONTACT.replace("5.0", "nan") + BECAUSE, "own.toml"),
    "backwards": (
        HEAD + '[[waste-amount]]\nid = "x"\nof = "solid"\nper = "doffing"\nmeasure = "litres"\nlow = 9.0\nhigh = 1.0\n'
        'source = "hospital"\ncertainty = "hospital"\n' + BECAUSE,
        "runs backwards",
    ),
    "two sides": (
        HEAD
        + '[[air-limit]]\nid = "x"\nmeasure = "pressure"\nrooms = ["isolation-new"]\nat-least = 1.0\nat-most = 2.0\n'
        'source = "hospital"\ncertainty = "hospital"\n' + BECAUSE,
        "either at-least or at-most",
    ),
    "tablet with percent": (
        HEAD + '[[chlorine-product]]\nid = "x"\nform = "tablet"\npercent = 5.0\nsource = "hospital"\n'
        'certainty = "hospital"\n' + BECAUSE,
        "mg-per-tablet",
    ),
    "not toml": ("format-version =", "own.toml"),
    "deep": (HEAD + "a = " + "[" * 3000, "nested 3000 deep"),
    "too large": (HEAD + "#" * MAX_CHARACTERS, "too large"),
    "version": ("format-version = 2\n", "format-version"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_bad_file_is_refused_with_its_line_and_changes_nothing(name: str) -> None:
    text, says = HOSTILE[name]
    with pytest.raises(BadFacts) as bad:
        load_operations_texts(SHIPPED, {"own.toml": text})
    told = "\n".join(map(str, bad.value.problems))
    assert says in told
    assert "own.toml" in told


def test_every_problem_of_every_file_is_told_at_once() -> None:
    with pytest.raises(BadFacts) as bad:
        load_operations_texts(SHIPPED, {"a.toml": HEAD + CONTACT, "b.toml": HEAD + CONTACT.replace("5.0", "-1.0")})
    assert {one.file for one in bad.value.problems} >= {"b.toml"}


def test_how_long_something_acts_is_told_once_by_what_is_used() -> None:
    """Chlorine that is made up here: contact times. What comes ready for use: usual times. No agent is in both."""
    agents = load_catalogue().agents
    ready_for_use = {one.agent for one in OPERATIONS.all(HygieneTime)}

    assert not {one for one in ready_for_use if one.startswith("chlorine")}
    assert all(one.on in agents[one.agent].on for one in OPERATIONS.all(HygieneTime))
    assert not [one for one in agents.values() if one.id.startswith("chlorine") and "surfaces" in one.on]

    twice = (
        'format-version = 1\n[[hygiene-time]]\nid = "x"\nagent = "chlorine-0.5"\non = "surfaces"\nsort = "contact"\n'
        'seconds = 900\nrange = [600, 900]\nsource = "hospital"\ncertainty = "hospital"\n'
    )
    with pytest.raises(BadFacts) as refused:
        load_operations_texts(SHIPPED, {"own.toml": twice + BECAUSE})
    assert ("on", True) in {(one.field.split(".")[-1], "contact-time" in one.what) for one in refused.value.problems}

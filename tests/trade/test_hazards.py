"""Hazards, waste streams, rules and sources: what holds across the shipped facts."""

from collections.abc import Iterator
from importlib import resources

import pytest

from vestry.trade import Order, load_catalogue, read_order
from vestry.trade.crosscheck import NO_SOURCE_NEEDED
from vestry.trade.values import Fact, Hazard, Item, Rule, Sourced, Touch, Value

CATALOGUE = load_catalogue()
HAZARDS = list(CATALOGUE.hazards.values())
FACTS = ("virus_class", "routes", "monitoring_days", "threshold_celsius", "waste_stream", "disinfection_class")
NAMED = [hazard for hazard in HAZARDS if hazard.family != "unidentified"]
UNIDENTIFIED = CATALOGUE.hazards["suspected-hcid"]
# How sure a fact can be; what needs no source has no place in the order.
SURER = ("from-memory", "inferred", "seen-secondary", "seen")


def sure(certainty: str) -> int:
    return SURER.index({"computed": "inferred"}.get(certainty, certainty))


def taken(fact: Fact):
    return fact.value if fact.value is not None else fact.default


def records(value: object, place: str) -> Iterator[tuple[str, str, str | None]]:
    """Every sourced record and every touch within a value: where, source, certainty (None for a touch)."""
    if isinstance(value, Touch):
        yield place, value.from_, None
    if isinstance(value, Sourced):
        yield place, value.source, value.certainty
    if isinstance(value, Value):
        for name in type(value).model_fields:
            yield from records(getattr(value, name), f"{place}.{name}")
    elif isinstance(value, tuple):
        for number, one in enumerate(value):
            yield from records(one, f"{place}.{number}")


def tables() -> Iterator[tuple[str, Value]]:
    """Every record of the catalogue, with the table that it stands in; some tables are lists, others go by id."""
    for table in CATALOGUE.__dataclass_fields__:
        held = getattr(CATALOGUE, table)
        yield from ((table, one) for one in (held if isinstance(held, tuple) else held.values()))


ALL = [record for table, one in tables() for record in records(one, f"{table} {getattr(one, 'id', '')}")]


# ---- hazards ----


def test_the_hazards_are_there():
    by_family: dict[str, list[str]] = {}
    for hazard in HAZARDS:
        by_family.setdefault(hazard.family, []).append(hazard.id)

    assert by_family == {
        "haemorrhagic": ["ebola", "lassa", "marburg", "crimean-congo", "south-american", "chapare"],
        "respiratory": ["mers", "sars", "novel-influenza-a", "pneumonic-plague", "andes-hantavirus"],
        "henipavirus": ["nipah", "hendra"],
        "rash": ["mpox-clade-i", "mpox-clade-ii", "smallpox"],
        "unidentified": ["suspected-hcid"],
    }


@pytest.mark.parametrize("name", FACTS)
@pytest.mark.parametrize("hazard", HAZARDS, ids=lambda hazard: hazard.id)
def test_a_fact_is_known_or_has_a_default_that_says_it_is_a_judgement(hazard, name):
    fact = getattr(hazard, name)

    assert (fact.value is None) is (fact.default is not None)
    assert (fact.value is None) is (fact.certainty == "judgement")


@pytest.mark.parametrize("hazard", HAZARDS, ids=lambda hazard: hazard.id)
def test_a_waste_stream_named_by_a_hazard_exists(hazard):
    assert taken(hazard.waste_stream) in CATALOGUE.waste_streams


@pytest.mark.parametrize("hazard", HAZARDS, ids=lambda hazard: hazard.id)
def test_the_disinfection_class_fits_the_class_of_the_agent(hazard):
    fits = {
        "enveloped": {"enveloped-virus", "non-enveloped-virus"},
        "non-enveloped": {"non-enveloped-virus"},
        "bacteria": {"non-enveloped-virus"},
        "unknown": {"non-enveloped-virus"},
    }

    assert taken(hazard.disinfection_class) in fits[taken(hazard.virus_class)]


def test_nothing_is_claimed_of_an_agent_that_is_not_identified():
    assert [name for name in FACTS if getattr(UNIDENTIFIED, name).value is not None] == []


@pytest.mark.parametrize("hazard", NAMED, ids=lambda hazard: hazard.id)
def test_not_identified_is_at_least_as_cautious_as_any_named_hazard(hazard):
    assert set(taken(UNIDENTIFIED.routes)) >= set(taken(hazard.routes))
    assert taken(UNIDENTIFIED.monitoring_days) >= taken(hazard.monitoring_days)
    assert taken(UNIDENTIFIED.threshold_celsius) <= taken(hazard.threshold_celsius)


@pytest.mark.parametrize(
    ("family", "stream"), [("haemorrhagic", "infectious-lined"), ("respiratory", "ordinary-clinical")]
)
def test_waste_by_family(family, stream):
    """Common practice with no source; local law overrides."""
    told = {
        hazard.waste_stream.value
        for hazard in HAZARDS
        if hazard.family == family and hazard.waste_stream.certainty == "common-practice"
    }

    assert told == {stream}


def test_waste_that_no_text_settles_goes_into_the_stricter_stream():
    unsettled = [hazard.id for hazard in HAZARDS if hazard.waste_stream.value is None]

    assert unsettled == ["andes-hantavirus", "mpox-clade-i", "mpox-clade-ii", "suspected-hcid"]
    assert {taken(CATALOGUE.hazards[one].waste_stream) for one in unsettled} == {"infectious-lined"}


def test_nothing_is_claimed_where_no_text_is_held():
    unknown = {
        name: [hazard.id for hazard in NAMED if getattr(hazard, name).value is None]
        for name in ("monitoring_days", "routes")
    }

    assert unknown == {
        "monitoring_days": ["sars", "andes-hantavirus", "smallpox"],
        "routes": ["chapare", "hendra", "mpox-clade-i", "mpox-clade-ii", "smallpox"],
    }


# ---- sources ----


def test_every_source_that_a_fact_names_exists():
    unknown = [(place, source) for place, source, _ in ALL if source not in {*CATALOGUE.sources, *NO_SOURCE_NEEDED}]

    assert unknown == []


def test_a_certainty_that_needs_a_source_has_one():
    without = [
        (place, source, certainty)
        for place, source, certainty in ALL
        if certainty is not None and certainty not in NO_SOURCE_NEEDED and source not in CATALOGUE.sources
    ]

    assert without == []


def test_no_fact_is_surer_than_the_source_it_was_read_in():
    surer = [
        (place, source, certainty)
        for place, source, certainty in ALL
        if certainty is not None
        and certainty not in NO_SOURCE_NEEDED
        and sure(certainty) > sure(CATALOGUE.sources[source].read_as)
    ]

    assert surer == []


def test_a_publication_has_an_address_or_is_known_to_lack_one():
    without = {source.id for source in CATALOGUE.sources.values() if source.url is None}

    # The standard was read in catalogues, the newspaper graphic and the poster as copies; the paper has no open address
    # that was seen; the bundle names its papers in its title.
    assert without - {name for name in without if name.startswith("practice-")} == {
        "msf-2014",
        "au-2021",
        "kilinc2023",
        "glove-rub-evidence",
        "gurses2019",
        "virology-textbooks",
        "en149-hsg53",
    }


# ---- rules ----

RULES = list(CATALOGUE.rules.values())
ORDERING = [rule for rule in RULES if rule.before or rule.after]
KINDS = {item.kind for item in CATALOGUE.items.values()}
SUPERSEDED = "cdc-ebola-2014oct"

DOFFING: dict[str, Order] = {}
for entry in (resources.files("vestry.trade") / "data" / "orders").iterdir():
    order = read_order(entry.read_text("utf-8"), entry.name)
    if order.published is not None and order.published.kind == "doff":
        DOFFING[entry.name] = order


def family(order: Order) -> str:
    """The family of hazards that an order was published for; routine precautions go with the respiratory ones."""
    return CATALOGUE.hazards[order.case.hazard].family if order.case.hazard else "respiratory"


def meant(rule: Rule, kinds: tuple[str, ...], item: Item) -> bool:
    if item.kind == "gloves" and rule.glove_layer not in (None, item.layer):
        return False
    return item.kind in kinds


def against(rule: Rule, order: Order) -> bool:
    """Whether this order takes off something of `after` no later than something of `before`."""
    off: dict[str, int] = {}
    for number, step in enumerate(order.steps):
        if step.act == "doff":
            for item in step.handled:
                off.setdefault(item, number)
    items = {name: CATALOGUE.items[name] for name in off}
    return any(
        off[first] >= off[later]
        for first in items
        for later in items
        if meant(rule, rule.before, items[first]) and meant(rule, rule.after, items[later])
    )


def contradicting(rule: Rule) -> list[str]:
    return sorted(
        name
        for name, order in DOFFING.items()
        if (not rule.for_families or family(order) in rule.for_families) and against(rule, order)
    )


@pytest.mark.parametrize("rule", ORDERING, ids=lambda rule: rule.id)
def test_an_order_rule_names_kinds_of_items_on_both_sides(rule):
    assert rule.kind == "order"
    assert rule.before
    assert rule.after
    assert set(rule.before) | set(rule.after) <= KINDS
    assert not set(rule.before) & set(rule.after)
    assert (rule.glove_layer is not None) is ("gloves" in (*rule.before, *rule.after))


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_a_rule_is_for_families_that_hazards_have(rule):
    assert set(rule.for_families) <= {hazard.family for hazard in HAZARDS}
    assert not rule.default_on or ("haemorrhagic" in rule.for_families) is ("unidentified" in rule.for_families)


@pytest.mark.parametrize("rule", [rule for rule in ORDERING if rule.default_on], ids=lambda rule: rule.id)
def test_no_published_order_in_force_contradicts_a_rule_that_is_on(rule):
    assert [name for name in contradicting(rule) if not name.startswith(SUPERSEDED)] == []


@pytest.mark.parametrize("rule", [rule for rule in ORDERING if not rule.default_on], ids=lambda rule: rule.id)
def test_a_rule_that_is_off_is_one_side_of_a_disagreement(rule):
    assert contradicting(rule)


def test_the_move_of_the_foot_covers_is_what_the_superseded_order_breaks():
    broken = [rule.id for rule in ORDERING if rule.default_on and contradicting(rule)]

    assert broken == ["garment-before-foot-covers"]


def test_hazard_facts_are_all_looked_at_here():
    assert {*FACTS, "id", "family"} == set(Hazard.model_fields)

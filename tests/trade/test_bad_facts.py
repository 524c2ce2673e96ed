"""Bad data is refused whole: every problem at once, each with file, line, field and what would be right."""

import warnings

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vestry.trade import BadFacts, Catalogue, load, packaged_texts
from vestry.trade.reading import MAX_CHARACTERS, MAX_DEPTH, decode, parse

SHIPPED = packaged_texts()


def refused(texts: dict[str, str]) -> list[str]:
    with pytest.raises(BadFacts) as caught:
        load(texts)
    return [str(problem) for problem in caught.value.problems]


def planted(name: str, right: str, wrong: str) -> dict[str, str]:
    """The shipped files with one error planted in one of them."""
    assert right in SHIPPED[name]
    return {**SHIPPED, name: SHIPPED[name].replace(right, wrong, 1)}


def line_of(name: str, text: str) -> int:
    return SHIPPED[name][: SHIPPED[name].index(text)].count("\n") + 1


# ---- several at once ----


def test_all_errors_of_a_file_are_told_at_once():
    text = """format-version = 1
[[source]]
id = "a-source"
publisher = "someone"
title = "something"
read-as = "seen"
colour = "red"

[[zone]]
id = "Front"
dry = "heavy"
wet = "high"
source = "judgement"
certainty = "judgement"

[[agent]]
id = "rub"
on = ["gloves", "walls"]
touches-first = "place.dispenser"
range-log10 = [0.3]
source = "judgement"
certainty = "sure"
"""

    assert refused({"several.toml": text}) == [
        "several.toml:7: source.0.colour: Extra inputs are not permitted (got 'red')",
        "several.toml:10: zone.0.id: String should match pattern '^[a-z0-9]+([-.~:@][a-z0-9]+)*$' (got 'Front')",
        "several.toml:11: zone.0.dry: Input should be 'none', 'low' or 'high' (got 'heavy')",
        "several.toml:18: agent.0.on.1: Input should be 'gloves', 'hands' or 'surfaces' (got 'walls')",
        "several.toml:20: agent.0.range-log10.1: Field required",
        "several.toml:22: agent.0.certainty: Input should be 'seen', 'seen-secondary', 'inferred', 'from-memory', "
        "'computed', 'judgement', 'common-practice', 'hospital' or 'invented' (got 'sure')",
    ]


def test_all_errors_of_all_files_are_told_at_once():
    texts = {
        "b.toml": "format-version = 2\n",
        "a.toml": 'format-version = 1\n[[place]]\nid = "seat"\nendpoint = "sofa"\n',
        "c.toml": "format-version = 1\nitem = \n",
        "d.toml": "format-version = 1\n\nitem = " + "[" * 30 + "]" * 30,
    }

    assert refused(texts) == [
        "a.toml:4: place.0.endpoint: Input should be 'place-clean' (got 'sofa')",
        "b.toml:1: format-version: Input should be less than or equal to 1 (got '2')",
        "c.toml:2: not TOML: Invalid value (at line 2, column 8)",
        "d.toml: nested 30 deep; at most 24",
    ]


def test_dangling_ids_of_several_files_are_told_at_once():
    texts = planted("hazards.toml", '"who-lassa-uk-2022"', '"who-lasa-uk-2022"')
    texts["loads.toml"] = texts["loads.toml"].replace('"cdc-standard-poster"', '"cdc-standard-postr"', 1)

    at_hazard = line_of("hazards.toml", 'source = "who-lassa-uk-2022"') - 3  # the line of the fact's own table
    at_zone = line_of("loads.toml", 'source = "cdc-standard-poster"')
    assert refused(texts) == [
        f"hazards.toml:{at_hazard}: hazard.1.monitoring-days: "
        "no source is called who-lasa-uk-2022; did you mean who-lassa-uk-2022?",
        f"loads.toml:{at_zone}: zone.0.source: "
        "no source is called cdc-standard-postr; did you mean cdc-standard-poster?",
    ]


# ---- one each ----


def test_an_id_that_stands_twice():
    texts = planted("hazards.toml", 'id = "lassa"', 'id = "ebola"')

    line = line_of("hazards.toml", 'id = "lassa"')
    assert refused(texts) == [f"hazards.toml:{line}: hazard.1.id: ebola stands twice"]


def test_an_id_like_nothing_that_is_known_gets_no_guess():
    texts = planted("techniques-hands.toml", 'for = ["gloves"]', 'for = ["zzzzzz"]')

    line = line_of("techniques-hands.toml", 'for = ["gloves"]')
    assert f"techniques-hands.toml:{line}: technique.0.for: no kind of item is called zzzzzz" in refused(texts)


def test_a_touch_that_cannot_be_read():
    texts = planted("techniques-hands.toml", "contact self.palm-r self.cuff-l", "touch self.palm-r self.cuff-l")

    line = line_of("techniques-hands.toml", "contact self.palm-r self.cuff-l")
    assert refused(texts) == [
        f"techniques-hands.toml:{line}: technique.0.touches.0: "
        "write: contact A B | slide A onto B | stir A onto B | clean A by agent"
    ]


def test_a_sure_fact_without_a_source():
    texts = planted(
        "hazards.toml",
        'source = "cdc-ebola-monitoring-2014"\ncertainty = "seen"',
        'source = "judgement"\ncertainty = "seen"',
    )

    assert [problem.rpartition(": ")[2] for problem in refused(texts)] == ["no source is called judgement"]


@pytest.mark.parametrize(
    ("name", "right", "wrong", "told"),
    [
        (
            "hazards.toml", 'value = "ordinary-clinical"', 'value = "ordinary-clinic"',
            "hazard.6.waste-stream.value: no waste stream is called ordinary-clinic; did you mean ordinary-clinical?",
        ),
        (
            "jurisdictions.toml", 'value = "ordinary-clinical"', 'value = "ordinary-clinic"',
            "waste-rule.5.stream.value: no waste stream is called ordinary-clinic; did you mean ordinary-clinical?",
        ),
        (
            "jurisdictions.toml", 'jurisdiction = "us"\nhazards', 'jurisdiction = "usa"\nhazards',
            "waste-rule.4.jurisdiction: no jurisdiction is called usa; did you mean us?",
        ),
        (
            "jurisdictions.toml", '"mers", "sars"', '"merz", "sars"',
            "waste-rule.3.hazards: no hazard is called merz; did you mean mers?",
        ),
        (
            "jurisdictions.toml", 'kinds = ["papr-hood"', 'kinds = ["papr-hod"',
            "protection-factor.1.kinds: no kind of item is called papr-hod; did you mean papr-hood?",
        ),
        (
            "jurisdictions.toml", 'source = "en149-hsg53"', 'source = "en148-hsg53"',
            "protection-factor.2.source: no source is called en148-hsg53; did you mean en149-hsg53?",
        ),
        (
            "jurisdictions.toml", 'source = "us-solid-waste-2022"', 'source = "us-solid-waste-2021"',
            "waste-rule.4.category: no source is called us-solid-waste-2021; did you mean us-solid-waste-2022?",
        ),
        (
            "requirements.toml", 'jurisdictions = ["uk"]', 'jurisdictions = ["ukk"]',
            "requirement.15.jurisdictions: no jurisdiction is called ukk; did you mean uk?",
        ),
        (
            "requirements.toml", 'families = ["henipavirus"]', 'families = ["henipaviruses"]',
            "requirement.12.families: no family of hazards is called henipaviruses; did you mean henipavirus?",
        ),
        (
            "requirements.toml", 'sites = ["eyes"]', 'sites = ["eye"]',
            "requirement.0.sites: no body site is called eye; did you mean eyes?",
        ),
        (
            "requirements.toml", '"gloves:middle"', '"glove:middle"',
            "donning.8.after: no kind of item is called glove; did you mean gloves?",
        ),
        (
            "rules.toml", 'before = ["apron"]', 'before = ["aprons"]',
            "rule.2.before: no kind of item is called aprons; did you mean apron?",
        ),
        (
            "rules.toml", 'for-families = ["haemorrhagic"', 'for-families = ["hemorrhagic"',
            "rule.0.for-families: no family of hazards is called hemorrhagic; did you mean haemorrhagic?",
        ),
        (
            "items.toml", 'source = "hubner2013"', 'source = "huebner2013"',
            "no source is called huebner2013; did you mean hubner2013?",
        ),
        (
            "sites.toml", 'source = "hubner2013"', 'source = "huebner2013"',
            "helper.0.latent.0.source: no source is called huebner2013; did you mean hubner2013?",
        ),
    ],
)  # fmt: skip
@pytest.mark.sampled(5)
def test_a_name_that_nothing_bears_is_told_with_its_line(name, right, wrong, told):
    texts = planted(name, right, wrong)

    problems = refused(texts)

    assert len(problems) == 1
    assert problems[0].endswith(told)
    file, line, _ = problems[0].split(":", 2)
    near = SHIPPED[name].splitlines()[max(0, int(line) - 4) : int(line) + 4]
    assert file == name
    assert any(right.partition("\n")[0] in one for one in near)


@pytest.mark.parametrize("number", ["nan", "inf", "-inf"])
def test_a_number_that_is_none(number):
    texts = planted("hygiene.toml", "enveloped = 2.5", f"enveloped = {number}")

    line = line_of("hygiene.toml", "enveloped = 2.5")
    assert refused(texts) == [
        f"hygiene.toml:{line}: agent.0.log10-gloves.enveloped: Input should be a finite number (got '{number}')"
    ]


def test_a_window_of_half_a_day():
    line = line_of("hazards.toml", "value = 21")

    assert refused(planted("hazards.toml", "value = 21", "value = 21.5")) == [
        f"hazards.toml:{line}: hazard.0.monitoring-days.value: "
        "Input should be a valid integer, got a number with a fractional part (got '21.5')"
    ]


def test_nested_too_deeply_is_refused_and_the_limit_itself_is_not():
    def nested(depth: int) -> str:
        return "x = " + "[" * depth + "]" * depth

    parse(nested(MAX_DEPTH), "deep.toml")
    with pytest.raises(BadFacts) as caught:
        parse(nested(MAX_DEPTH + 1), "deep.toml")
    assert str(caught.value) == "deep.toml: nested 25 deep; at most 24"


def test_deep_json_is_refused_before_it_is_parsed():
    with pytest.raises(BadFacts) as caught:
        parse('{"x":' + "[" * 100_000 + "]" * 100_000 + "}", "deep.json")

    assert str(caught.value) == "deep.json: nested 100001 deep; at most 24"


def test_too_large_a_file_is_refused():
    with pytest.raises(BadFacts) as caught:
        parse("#" * (MAX_CHARACTERS + 1), "large.toml")
    assert str(caught.value) == "large.toml: the file is too large (at most 2000000 characters)"

    with pytest.raises(BadFacts) as caught:
        decode(b"#" * (MAX_CHARACTERS + 1), "large.toml")
    assert str(caught.value) == "large.toml: the file is too large (2000001 bytes; at most 2000000)"


def test_another_encoding_is_refused_with_the_line():
    with pytest.raises(BadFacts) as caught:
        decode("format-version = 1\n# Säugling\n".encode("latin-1"), "old.toml")

    assert str(caught.value) == "old.toml:2: not UTF-8 text; save the file as UTF-8"


def test_a_byte_order_mark_is_let_be():
    assert decode("\ufeffformat-version = 1\n".encode(), "marked.toml") == "format-version = 1\n"


# ---- the digest ----

DIGEST = load(SHIPPED).digest


def test_the_digest_is_the_same_when_comments_change():
    texts = {name: f"# Another comment.\n{text}\n# And one more.\n" for name, text in SHIPPED.items()}

    assert load(texts).digest == DIGEST


def test_the_digest_is_the_same_when_a_file_is_renamed():
    texts = {f"moved-{name}": text for name, text in SHIPPED.items()}

    assert load(texts).digest == DIGEST


def blocks(text: str) -> tuple[str, list[str]]:
    """What stands before the first record of a file, and its records."""
    head, *records = text.split("\n[[")
    return head, records


@pytest.mark.property
@settings(max_examples=8)
@given(st.data())
@pytest.mark.slow
def test_the_digest_is_the_same_when_records_change_places(data):
    name = data.draw(st.sampled_from(sorted(SHIPPED)))
    head, records = blocks(SHIPPED[name])
    shuffled = data.draw(st.permutations(records))
    text = "\n[[".join((head, *shuffled))

    assert load({**SHIPPED, name: text}).digest == DIGEST


@pytest.mark.parametrize(
    "name", ["jurisdictions.toml", "rules.toml", "techniques-face.toml", "techniques-powered.toml"]
)
def test_the_digest_changes_when_a_record_is_left_out(name):
    head, records = blocks(SHIPPED[name])

    assert load({**SHIPPED, name: "\n[[".join((head, *records[:-1]))}).digest != DIGEST


def test_the_digest_changes_with_any_field_of_any_table():
    whole = load(SHIPPED)
    tables = {name: getattr(whole, name) for name in whole.__dataclass_fields__}
    # One record a table, so that it is quick.
    first = {name: held[0] if isinstance(held, tuple) else next(iter(held.values())) for name, held in tables.items()}

    def table_of(name, record):
        return (record,) if isinstance(tables[name], tuple) else {record.id: record}

    one_each = {name: table_of(name, record) for name, record in first.items()}
    digest = Catalogue(**one_each).digest

    for table, record in first.items():
        for field in type(record).model_fields:
            other = record.model_copy(update={field: "changed"})
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # a text where pydantic would have a number
                changed = Catalogue(**{**one_each, table: table_of(table, other)})
                assert changed.digest != digest, f"{table}.{field}"


@pytest.mark.parametrize(
    ("name", "before", "after"),
    [
        ("hazards.toml", "value = 38.0", "value = 38.1"),
        ("hazards.toml", "range = [2, 21]", "range = [3, 21]"),
        ("hazards.toml", "year = 2014", "year = 2015"),
        ("hygiene.toml", "enveloped = 2.5", "enveloped = 2.4"),
        ("items.toml", 'cover = "sealing"', 'cover = "narrow"'),
        ("items.toml", 'at = "hand-l"', 'at = "wrist-l"'),
        ("techniques-hands.toml", 'slip = "snaps"', 'slip = "springs"'),
        ("techniques-hands.toml", "slide self.inside-l onto under@wrist-l", "contact self.inside-l under@wrist-l"),
        ("rules.toml", "default-on = false", "default-on = true"),
        ("rules.toml", 'glove-layer = "outer"', 'glove-layer = "inner"'),
        ("sources.toml", 'year = "2026"', 'year = "2025"'),
        ("sites.toml", 'faces = ["gloves", "gown", "skin", "clothing"]', 'faces = ["gloves", "gown", "clothing"]'),
    ],
)
@pytest.mark.sampled(4)
def test_the_digest_changes_with_a_value_however_deep(name, before, after):
    assert load(planted(name, before, after)).digest != DIGEST


def test_the_digest_changes_when_touches_change_places():
    """The order of touches inside a technique is a fact; the order of records in a file is not."""
    lines = SHIPPED["techniques-hands.toml"].splitlines()
    first = next(number for number, line in enumerate(lines) if line.startswith("  { touch"))
    lines[first : first + 2] = reversed(lines[first : first + 2])

    assert load({**SHIPPED, "techniques-hands.toml": "\n".join(lines)}).digest != DIGEST

"""Evidence that cannot be: refused whole, each problem with file, line, field and what would be right."""

import pytest

from vestry.trade import BadFacts
from vestry.trade.evidence import load_evidence_texts
from vestry.trade.shipped import shipped_texts

# A small set of the same shape, so that each case costs little.
SHIPPED = {
    "surfaces.toml": shipped_texts("evidence")["surfaces.toml"],
    "people.toml": """format-version = 1

[[source]]
id = "torko2025"
publisher = "Torko and Gibson"
title = "foam on hands"
read-as = "seen"

[[measurement]]
id = "l08"
says = "foam hand sanitiser, by rub time"
unit = "log10"
values = { ten-seconds = 0.65 }
source = "torko2025"
certainty = "seen"
trust = "high"

[[evidence]]
id = "short-rub"
quantity = "short-rub-probability"
unit = "probability"
law = { kind = "beta", alpha = 2.4, beta = 6.6 }
source = "torko2025"
certainty = "judgement"
trust = "medium"
""",
}

RECORD = """format-version = 1

[[evidence]]
id = "short-rub.mine"
quantity = "short-rub-probability"
unit = "probability"
law = { kind = "fixed", value = 0.2 }
when = { agent = "alcohol-rub" }
range = [0.1, 0.3]
source = "torko2025"
certainty = "seen"
trust = "high"
basis = ["l08"]
because = { reason = "measured here", name = "A. Example", date = 2026-03-02 }
"""


def refused(text, texts=SHIPPED):
    with pytest.raises(BadFacts) as caught:
        load_evidence_texts(texts, {"mine.toml": text})
    return [str(problem) for problem in caught.value.problems]


def test_the_record_that_is_spoiled_below_is_good():
    assert load_evidence_texts(SHIPPED, {"mine.toml": RECORD}).records["short-rub.mine"].trust == "high"


@pytest.mark.parametrize(
    ("right", "wrong", "line", "said"),
    [
        (
            "value = 0.2",
            "value = -0.2",
            7,
            "evidence.0.law: Value error, it reaches from -0.2 to -0.2; probability lies",
        ),
        ("value = 0.2", "value = nan", 7, "evidence.0.law.value: Input should be a finite number"),
        ("value = 0.2", "value = inf", 7, "evidence.0.law.value: Input should be a finite number"),
        ("value = 0.2", "value = 1.2", 7, "probability lies between 0 and 1"),
        ('"fixed", value = 0.2', '"log-normal", median = 0.2, gsd = 3', 7, "cut the law off with low and high"),
        (
            '"fixed", value = 0.2',
            '"normal", mean = 0.2',
            7,
            "a normal law has mean, sd (and may have low, high): sd mis",
        ),
        ('"fixed", value = 0.2', '"gamma", value = 0.2', 7, "evidence.0.law.kind: Input should be 'fixed', 'uniform'"),
        ("value = 0.2", 'value = "a lot"', 7, "evidence.0.law.value: Input should be a valid number"),
        ('unit = "probability"', 'unit = "percent"', 6, "evidence.0.unit: Input should be 'fraction', 'log10'"),
        ('unit = "probability"', 'unit = "log10"', 6, "the unit of short-rub-probability is probability (got 'log10')"),
        ('"short-rub-probability"', '"rub-chance"', 5, "evidence.0.quantity: Input should be 'transfer-fraction'"),
        ('source = "torko2025"\n', "", 3, "evidence.0.source: Field required"),
        ('"torko2025"', '"torko2026"', 10, "evidence.0.source: no source is called torko2026; did you mean torko2025?"),
        ('"torko2025"', '"judgement"', 10, "evidence.0.source: no source is called judgement"),
        ('"l08"', '"l80"', 13, "evidence.0.basis: no measurement is called l80; did you mean l08?"),
        ('"alcohol-rub"', '"alcohol"', 8, "evidence.0.when: no agent is called alcohol"),
        ('agent = "alcohol-rub"', 'wetness = "damp"', 8, "evidence.0.when.wetness.0: Input should be 'wet', 'dry'"),
        ('agent = "alcohol-rub"', "seconds = { from = 9, below = 9 }", 8, "from must lie below below"),
        ("[0.1, 0.3]", "[0.3, 0.1]", 9, "evidence.0.range: Value error, it must rise, and lie between 0 and 1"),
        ("[0.1, 0.3]", "[0.1, 1.3]", 9, "evidence.0.range: Value error, it must rise, and lie between 0 and 1"),
        ("name = ", "by = ", 14, "evidence.0.because.name: Field required"),
        ("date = 2026-03-02", 'date = "soon"', 14, "evidence.0.because.date: Input should be a valid date"),
        ('trust = "high"', 'trust = "high"\ncolour = "red"', 13, "evidence.0.colour: Extra inputs are not permitted"),
    ],
)
def test_one_thing_wrong_is_told_with_its_line(right, wrong, line, said):
    assert right in RECORD
    problems = refused(RECORD.replace(right, wrong, 1))
    assert any(one.startswith(f"mine.toml:{line}: ") and said in one for one in problems), problems


def test_a_hospitals_record_without_a_reason():
    text = RECORD[: RECORD.index("because")]
    assert refused(text) == ["mine.toml:3: evidence.0: a hospital's record says why: because = { reason, name, date }"]


def test_a_shipped_record_lies_over_nothing():
    with pytest.raises(BadFacts, match=r"mine\.toml:14: evidence\.0\.because: only a hospital's file"):
        load_evidence_texts({**SHIPPED, "mine.toml": RECORD})


def test_two_records_of_which_neither_is_more_specific():
    second = (
        RECORD.split("\n\n", 1)[1]
        .replace("short-rub.mine", "short-rub.soil")
        .replace('agent = "alcohol-rub"', 'soil = "blood"')
    )
    assert refused(RECORD + "\n" + second) == [
        "mine.toml:21: evidence.1.when: short-rub.soil and short-rub.mine could both apply, and neither is more "
        "specific; narrow one, or add a record for where they meet"
    ]


def test_a_third_record_for_where_two_meet_settles_it():
    body = RECORD.split("\n\n", 1)[1]
    second = body.replace("short-rub.mine", "short-rub.soil").replace('agent = "alcohol-rub"', 'soil = "blood"')
    third = body.replace("short-rub.mine", "short-rub.both").replace('-rub" }', '-rub", soil = "blood" }')
    merged = load_evidence_texts(SHIPPED, {"mine.toml": "\n".join((RECORD, second, third))})
    assert merged.find("short-rub-probability", agent="alcohol-rub", soil="blood").id == "short-rub.both"


def test_an_id_that_stands_twice():
    assert any("short-rub.mine stands twice" in one for one in refused(RECORD + "\n" + RECORD.split("\n\n", 1)[1]))


def test_a_surface_that_no_rule_tells_and_one_that_two_tell():
    without = SHIPPED["surfaces.toml"].replace('"hair-ears"', '"eyes"', 1)
    with pytest.raises(BadFacts) as caught:
        load_evidence_texts({**SHIPPED, "surfaces.toml": without})
    said = str(caught.value)
    assert "no rule tells body.hair-ears" in said
    assert "two rules tell body.eyes" in said


def test_all_problems_of_all_files_are_told_at_once():
    spoiled = {**SHIPPED, "people.toml": SHIPPED["people.toml"].replace('"torko2025"\ncert', '"torko"\ncert', 1)}
    problems = refused(RECORD.replace('"l08"', '"l80"'), spoiled)
    assert [one.split(":")[0] for one in problems] == ["mine.toml", "people.toml"]


@pytest.mark.parametrize("text", ["", "format-version = 2\n", "format-version = 1\nevidence = [[[[", "\x00"])
def test_what_is_no_file_of_evidence_is_refused(text):
    assert refused(text)[0].startswith("mine.toml")


def test_a_mistyped_id_ties_with_the_record_that_was_meant():
    text = RECORD.replace('"short-rub.mine"', '"short-rob"').replace('when = { agent = "alcohol-rub" }\n', "")
    assert any("short-rob and short-rub could both apply" in one for one in refused(text))

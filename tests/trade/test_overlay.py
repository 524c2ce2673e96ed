"""A hospital's own facts over ours: whole record, with a reason; all of it or nothing; every shadow shown."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vestry.trade import BadFacts, load_catalogue
from vestry.trade.catalogue import KINDS
from vestry.trade.overlay import MODEL_NEEDS, NEEDED, Overlaid, lay_over

WHY = 'because = { reason = "invented", name = "Ingrid Vell", date = 2026-11-01 }'
EBOLA = f"""format-version = 1

[[hazard]]
{WHY}
id = "ebola"
family = "haemorrhagic"
virus-class = {{ value = "enveloped", source = "virology-textbooks", certainty = "from-memory" }}
routes = {{ value = ["contact", "droplet"], source = "ukhsa-hcid-list-2026", certainty = "inferred" }}
monitoring-days = {{ value = 25, source = "hospital", certainty = "hospital" }}
threshold-celsius = {{ value = 38.0, source = "cdc-ebola-monitoring-2014", certainty = "seen" }}
waste-stream = {{ value = "infectious-lined", source = "practice-waste", certainty = "common-practice" }}
disinfection-class = {{ value = "enveloped-virus", source = "epa-viral-tiers-2022", certainty = "seen-secondary" }}
"""
ZONE = f"""format-version = 1
[[zone]]
{WHY}
id = "back"
dry = "low"
wet = "high"
counts-clean = "gown-back-clean"
without = "high"
source = "hospital"
certainty = "hospital"

[[agent]]
{WHY}
id = "alcohol-rub"
on = ["gloves", "hands"]
touches-first = "place.dispenser"
log10-gloves = {{ enveloped = 1.5 }}
log10-hands = {{ enveloped = 2.8 }}
range-log10 = [0.3, 5.0]
source = "hospital"
certainty = "hospital"
"""
NO_APRON = f"""format-version = 1
[[retire]]
kind = "item"
id = "apron"
{WHY}

[[retire]]
kind = "technique"
id = "doff:apron:break-ties"
{WHY}
"""


def apron_technique() -> str:
    return next(key for key in load_catalogue().records("technique") if key.startswith("doff:apron:"))


GOOD = {
    "ebola.toml": EBOLA,
    "zone.toml": ZONE,
    "apron.toml": NO_APRON.replace("doff:apron:break-ties", apron_technique()),
}


def refused(*texts: str) -> list[str]:
    with pytest.raises(BadFacts) as caught:
        lay_over({f"own-{number}.toml": text for number, text in enumerate(texts)})
    return [str(problem) for problem in caught.value.problems]


# ---- what is laid ----


def test_their_record_stands_whole_in_place_of_ours_and_nothing_else_changes():
    laid = lay_over(GOOD).catalogue

    assert laid.hazards["ebola"].monitoring_days.value == 25
    assert laid.zones["back"].dry == "low"
    ours = load_catalogue()
    for kind in KINDS:
        changed = {key for key in ours.records(kind) if laid.records(kind).get(key) != ours.records(kind)[key]}
        expected = {
            "hazard": {"ebola"}, "zone": {"back"}, "agent": {"alcohol-rub"}, "item": {"apron"},
            "technique": {apron_technique()},
        }  # fmt: skip
        assert changed == expected.get(kind, set()), kind


def test_a_record_keeps_its_place_among_ours():
    assert list(lay_over(GOOD).catalogue.hazards) == list(load_catalogue().hazards)
    assert list(lay_over(GOOD).catalogue.zones) == list(load_catalogue().zones)


def test_a_record_that_we_do_not_ship_is_added():
    text = f"""format-version = 1
[[source]]
{WHY}
id = "own-manual"
publisher = "Harrow Point General"
title = "Manual of the unit, invented"
year = "2026"
read-as = "hospital"
"""
    laid = lay_over({"own.toml": text})

    assert laid.catalogue.sources["own-manual"].year == "2026"
    assert [(one.kind, one.id, one.change) for one in laid.shadows] == [("source", "own-manual", "added")]


def test_the_merged_set_has_a_digest_of_its_own_that_says_nothing_of_file_names():
    ours, laid = load_catalogue().digest, lay_over(GOOD).digest

    assert laid != ours
    assert lay_over({f"x-{name}": text for name, text in GOOD.items()}).digest == laid
    assert lay_over({}).digest == ours


def test_every_shadow_is_listed_with_what_differs_why_who_and_when():
    shadows = {(one.kind, one.id): one for one in lay_over(GOOD).shadows}

    assert set(shadows) == {
        ("hazard", "ebola"), ("zone", "back"), ("agent", "alcohol-rub"), ("item", "apron"),
        ("technique", apron_technique()),
    }  # fmt: skip
    ebola = shadows["hazard", "ebola"].as_json()
    assert {"field": "monitoring-days.value", "ours": 21, "theirs": 25} in ebola["differs"]
    assert (ebola["change"], ebola["name"], ebola["date"]) == ("laid-over", "Ingrid Vell", "2026-11-01")
    assert (ebola["file"], ebola["line"], ebola["reason"]) == ("ebola.toml", 3, "invented")
    assert shadows["item", "apron"].change == "retired"


def test_a_convention_can_be_laid_over_and_a_form_too():
    text = f"""format-version = 1
[[form]]
{WHY}
id = "glove-pair"
faces = [
  {{ id = "palm-l", at = ["hand-l"], cover = "sealing", zone = "hands" }},
  {{ id = "palm-r", at = ["hand-r"], cover = "sealing", zone = "hands" }},
  {{ id = "cuff-l", at = ["wrist-l"], cover = "sealing", zone = "cuffs" }},
  {{ id = "cuff-r", at = ["wrist-r"], cover = "sealing", zone = "cuffs" }},
  {{ id = "inside-l", at = [], cover = "sealing", zone = "none", inside = ["hand-l", "wrist-l"] }},
  {{ id = "inside-r", at = [], cover = "sealing", zone = "none", inside = ["hand-r", "wrist-r"] }},
]
"""
    laid = lay_over({"own.toml": text})

    assert laid.catalogue.items["outer-gloves-long"].latent == ()
    assert [one.field for one in laid.shadows[0].differs] == ["latent"]


# ---- what is refused, whole ----


def test_each_record_says_why():
    assert refused(EBOLA.replace(WHY, "")) == [
        'own-0.toml:3: hazard.0.because: say why: because = { reason = "...", name = "...", date = 2026-01-31 }'
    ]
    assert refused(EBOLA.replace("2026-11-01", '"last week"').replace('"invented"', '""')) == [
        "own-0.toml:4: hazard.0.because.date: Input should be a valid date or datetime, input is too short",
        "own-0.toml:4: hazard.0.because.reason: String should have at least 1 character",
    ]


def test_what_differs_from_ours_is_marked_as_the_hospitals_own():
    found = refused(ZONE.replace('certainty = "hospital"', 'certainty = "judgement"'))
    assert [one.partition(": ")[0] for one in found] == ["own-0.toml:10", "own-0.toml:21"]


def test_all_problems_of_all_files_are_told_at_once_with_file_and_line():
    found = refused(
        EBOLA.replace('family = "haemorrhagic"', 'family = "feverish"'),
        ZONE.replace('"high"', '"much"').replace(WHY, "", 1),
        "format-version = 1\n[[retire]\n",
    )

    assert [one.split(":")[0] for one in found] == ["own-0.toml"] + ["own-1.toml"] * 3 + ["own-2.toml"]


def test_a_reference_to_nothing_is_told_where_the_overlay_has_it():
    found = refused(ZONE, EBOLA.replace("practice-waste", "practise-waste"))

    assert any(one.startswith("own-1.toml:11: hazard.0.waste-stream") and "practice-waste" in one for one in found)


def test_two_files_do_not_speak_of_one_record():
    assert "own-1.toml:3: hazard: ebola is spoken of twice: own-0.toml:3 and here" in refused(EBOLA, EBOLA)


@pytest.mark.parametrize(
    ("kind", "key", "says"),
    [
        ("item", "aprons", "we ship no item called aprons; did you mean apron?"),
        ("colour", "red", "no kind of record is called colour"),
        ("convention", "straps-clean", "the model itself names convention straps-clean"),
        ("item", "fresh-gloves", "the model itself names item fresh-gloves"),
        ("rule", "observer-at-every-step", "who must be there is not retired"),
        ("source", "practice-waste", "still names it"),
    ],
)
def test_what_cannot_be_retired_is_told(kind: str, key: str, says: str):
    text = f'format-version = 1\n[[retire]]\nkind = "{kind}"\nid = "{key}"\n{WHY}\n'

    assert says in refused(text)[0]


def test_a_new_thing_without_words_is_refused_since_it_could_not_be_read_aloud():
    found = refused(EBOLA.replace('id = "ebola"', 'id = "harrow-fever"'))

    assert any("there are no words for harrow-fever" in one for one in found)


@pytest.mark.slow
def test_everything_but_what_the_model_needs_can_be_retired_or_says_what_still_names_it():
    """For every record that we ship: out of force, or told why not; never half, never another error."""
    ours = load_catalogue()
    kept = []
    for kind in KINDS:
        for key in ours.records(kind):
            text = f'format-version = 1\n[[retire]]\nkind = "{kind}"\nid = "{key}"\n{WHY}\n'
            try:
                assert key not in lay_over({"own.toml": text}).catalogue.records(kind)
            except BadFacts as bad:
                kept.append((kind, key, bad.problems[0].what))
    for kind, key, what in kept:
        assert kind in MODEL_NEEDS or (kind, key) in NEEDED or "still names it" in what or "who must be there" in what
    retired = {kind for kind in KINDS if kind not in {kept_kind for kept_kind, _, _ in kept}}
    assert {"technique", "requirement", "donning", "hazard"} <= retired


# ---- fuzz: whole or not at all ----

PIECES = st.sampled_from(
    ["=", "[", "]", "[[", "]]", "{", "}", '"', "'", "\n", "because", "id", "retire", "1e400", "nan", "-0", "9" * 30,
     "true", "2026-13-01", "\\u0000", "é", "hazard", "[[item]]\n", 'id = "ebola"\n', "a.b.c = 1\n", "#", ",", "=\n"]
)  # fmt: skip


@st.composite
def mutated(draw: st.DrawFn) -> str:
    """One of the good texts, cut, doubled, moved and sprinkled."""
    text = draw(st.sampled_from(sorted(GOOD.values())))
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(text)))
        match draw(st.sampled_from(["cut", "put", "word", "line", "double"])):
            case "cut":
                text = text[:at] + text[at + draw(st.integers(1, 30)) :]
            case "put":
                text = text[:at] + draw(PIECES) + text[at:]
            case "word":
                text = text[:at] + draw(st.text(max_size=6)) + text[at + draw(st.integers(0, 6)) :]
            case "line":
                lines = text.split("\n")
                line = draw(st.integers(0, len(lines) - 1))
                text = "\n".join([*lines[:line], *lines[line + 1 :]])
            case _:
                text = text[:at] + text
    return text


def laid_or_nothing(text: str) -> Overlaid | None:
    try:
        return lay_over({"own.toml": text, "good.toml": RETIRED})
    except BadFacts as bad:
        problems = bad.problems
    assert problems
    assert all(problem.file and problem.what for problem in problems)
    return None


SOME = next(iter(load_catalogue().requirements))
RETIRED = f'format-version = 1\n[[retire]]\nkind = "requirement"\nid = "{SOME}"\n{WHY}\n'


def check_whole(text: str) -> None:
    laid = laid_or_nothing(text)
    if laid is None:
        return
    document = tomllib.loads(text)
    for table, records in document.items():
        if table == "retire":
            assert all(one["id"] not in laid.catalogue.records(one["kind"]) for one in records)
        elif table in KINDS and table != "technique":
            assert all(one["id"] in laid.catalogue.records(table) for one in records)
    assert SOME not in laid.catalogue.requirements
    said = sum(len(records) for table, records in document.items() if isinstance(records, list))
    assert len(laid.shadows) == said + 1
    assert len(laid.digest) == 64


@pytest.mark.property
@settings(max_examples=40)
@given(mutated())
def test_a_mutated_text_is_laid_whole_or_refused(text: str):
    check_whole(text)


@pytest.mark.slow
@pytest.mark.property
@settings(max_examples=1500)
@given(mutated())
@pytest.mark.timeout(400)
def test_many_mutated_texts_are_laid_whole_or_refused(text: str):
    check_whole(text)

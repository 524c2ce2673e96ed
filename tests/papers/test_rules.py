"""What each rule does, on paper: every rule with its source, the unapproved standing, an accessible PDF."""

from __future__ import annotations

import io
import re
from functools import cache

import pypdf
import pytest

from vestry.papers import rules_content, rules_pdf
from vestry.sequence import Case, Policy, Weighing, weigh
from vestry.trade import load_catalogue
from vestry.trade.words import load_words

CATALOGUE, WORDS = load_catalogue(), load_words("en")
pytestmark = pytest.mark.slow


@cache
def found() -> Weighing:
    return weigh(Case(hazard="mers"), Policy(), CATALOGUE)


@cache
def printed() -> bytes:
    return rules_pdf(found(), WORDS, CATALOGUE, unit="Harrow Point General", printed_on="2026-03-14")


def text() -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(printed())).pages))


def test_every_rule_is_on_it_with_its_source_and_what_is_not_weighed_with_why():
    said = text()

    assert len(found().rules) > 3
    for one in found().rules:
        assert WORDS.rule(one.rule).name in said
        assert CATALOGUE.sources[one.source].publisher in said
    for left in found().not_weighed:
        assert WORDS.rule(left.rule).name in said
    assert "About people: never weighed, never left out." in said


def test_it_says_that_it_is_unapproved_and_what_governs():
    said = text()

    assert "A computed order is unapproved" in said
    assert "replaces neither local procedure" in said
    assert "Harrow Point General" in said


def test_whether_a_rule_is_in_force_is_said_of_each():
    parts = {part["name"]: part["paragraphs"][0] for part in rules_content(found(), WORDS, CATALOGUE)["sections"][1:-2]}

    assert set(parts) == {WORDS.rule(one.rule).name for one in found().rules}
    for one in found().rules:
        assert parts[WORDS.rule(one.rule).name].startswith("In force." if one.in_force else "Off.")


def test_it_is_tagged_titled_and_in_a_language_and_the_same_twice():
    root = pypdf.PdfReader(io.BytesIO(printed())).trailer["/Root"]

    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert "pdfuaid:part" in root["/Metadata"].get_object().get_data().decode()
    assert printed() == rules_pdf(found(), WORDS, CATALOGUE, unit="Harrow Point General", printed_on="2026-03-14")

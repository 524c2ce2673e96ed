"""The sheet of differences: every difference is on it, it is marked unapproved, and it is an accessible PDF."""

from __future__ import annotations

import io
import re
from functools import cache

import pypdf
import pytest

from vestry.papers import differences_content, differences_pdf
from vestry.papers.sheet import short_hash
from vestry.sequence import Case, Policy, Substitution, plan_case, substitute
from vestry.trade import load_catalogue
from vestry.trade.words import load_words

CATALOGUE, WORDS = load_catalogue(), load_words("en")


@cache
def found() -> Substitution:
    plan = plan_case(Case(hazard="lassa", presentation="wet"), Policy(), CATALOGUE)
    return substitute(plan, "face-shield", CATALOGUE, ("goggles",))


@cache
def printed() -> bytes:
    return differences_pdf(found(), WORDS, CATALOGUE, unit="Harrow Point General", printed_on="2026-03-14")


def text() -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(printed())).pages))


@pytest.mark.slow
def test_it_says_unapproved_what_is_worn_instead_and_names_both_plans():
    said = text()

    assert "UNAPPROVED. Practised by 0 of those on shift" in said
    assert "Worn in its place: goggles." in said
    assert short_hash(found().plan.hash) in said
    assert short_hash(found().before) in said
    assert "replaces neither local procedure" in said


def test_every_row_that_differs_is_in_the_first_table_and_every_row_in_the_second():
    sections = {one["name"]: one["table"] for one in differences_content(found(), WORDS, CATALOGUE)["sections"]}
    rows = found().comparison.steps
    differ = [row for row in rows if row.change != "kept"]

    assert len(sections["What differs"]["rows"]) == len(differ) > 0
    assert len(sections["Every step, side by side"]["rows"]) == len(rows)
    assert all(row["strong"] for row in sections["What differs"]["rows"])


def test_it_is_tagged_titled_and_in_a_language_and_the_same_twice():
    root = pypdf.PdfReader(io.BytesIO(printed())).trailer["/Root"]

    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert "pdfuaid:part" in root["/Metadata"].get_object().get_data().decode()
    assert printed() == differences_pdf(found(), WORDS, CATALOGUE, unit="Harrow Point General", printed_on="2026-03-14")


def test_nothing_in_a_name_becomes_markup():
    content = differences_content(found(), WORDS, CATALOGUE, unit='#image("x") $1$ *a* <b> ε')
    from vestry.papers.shipped import report_template
    from vestry.papers.typesetting import pdf

    said = re.sub(r"\s+", " ", pypdf.PdfReader(io.BytesIO(pdf(content, report_template()))).pages[0].extract_text())
    assert '#image("x") $1$ *a* <b>' in said

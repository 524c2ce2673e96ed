"""A paper that hangs where it is used: accessible, the same twice, everything on it, nothing in it becomes markup."""

from __future__ import annotations

import io
import re
from typing import Any

import pypdf

from vestry import papers
from vestry.papers.record import Part
from vestry.trade.words import load_words

PAPER = papers.Posted(
    title='Disinfectant: #image("x") $1$ *a* <b>',
    standing="Invented",
    large=[("Contact time", "15 min")],
    pairs=[("Made up by", "Noor Hadley")],
    lists=[("What goes into it", True, ["1 litre of stock"]), ("Where it goes wrong", False, ["Never added"])],
    table=Part("Bags", ("Number", "What"), (24, 0), [(f"B-{number}", "Linen") for number in range(80)]),
    blanks=["Checked by"],
    names=["Recipe abcd"],
)


def read(language: str = "en") -> Any:
    printed = papers.posted_pdf(PAPER, load_words(language), unit="Harrow Point General", printed_on="2026-03-14")
    return pypdf.PdfReader(io.BytesIO(printed))


def elements(node: Any) -> list[str]:
    """Every kind of structure element below, in order."""
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        return [kind for one in node for kind in elements(one)]
    if not isinstance(node, dict):
        return []
    own = [str(node["/S"])] if "/S" in node else []
    return [*own, *(elements(node["/K"]) if "/K" in node else [])]


def test_everything_stands_on_it_and_signs_stay_signs():
    said = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in read().pages))

    for text in (
        PAPER.title, "Invented", "15 min", "Made up by: Noor Hadley", "1 litre of stock", "Never added", "B-0", "B-79",
        "Checked by", "Recipe abcd", "printed 2026-03-14", "replaces neither local procedure",
    ):  # fmt: skip
        assert text in said, text


def test_it_is_tagged_with_headings_lists_and_a_table_with_heads():
    reader = read()
    root = reader.trailer["/Root"]
    kinds = elements(root["/StructTreeRoot"]["/K"])

    assert "pdfuaid:part" in root["/Metadata"].get_object().get_data().decode()
    assert root["/Lang"] == "en"
    assert {"/Table", "/TH", "/TD", "/L", "/LI", "/H1"} <= set(kinds)
    assert kinds.count("/TR") == 81
    assert all("Recipe abcd" in page.extract_text() for page in reader.pages)


def test_the_same_paper_is_the_same_bytes_and_a_draft_language_says_so():
    one, other = (papers.posted_pdf(PAPER, load_words("en")) for _ in range(2))

    assert one == other
    assert "TRADUCCIÓN SIN REVISAR" in papers.posted_content(PAPER, load_words("es"))["standing"]

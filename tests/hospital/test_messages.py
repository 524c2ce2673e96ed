"""Texts and their translations: nothing bare on a page, nothing lost, nothing put together wrongly."""

from __future__ import annotations

import gettext
import re
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from tools import messages, tablet_texts

COMPLETE = (
    "es",
)  # languages that lack no text; one that does is not offered as whole: docs/how-to/another-language.md
NAMES = {
    "Vestry",
    "UTC",
    "CSV",
    "XLSX",
    "JSON",
    "PDF",
    "TOML",
    "UTF",
    "GTIN",
    "ppm",
    "mm",
    "cm",
    "Pa",
    "min",
    "kg",
    "CLO",
    "PIN",
    "night",
    "true",
    "false",
}


@pytest.fixture(scope="module")
def asked() -> dict[messages.Message, set[str]]:
    return messages.gathered()


# ---- the catalogues ----


@pytest.mark.parametrize("language", COMPLETE)
def test_a_complete_language_lacks_no_text(language: str, asked: dict[messages.Message, set[str]]) -> None:
    catalogue = messages.brought_up_to_date(language, asked)
    assert messages.lacking(catalogue) == [], "python -m tools.messages, then translate"
    assert [text for text, said in messages.tablet_up_to_date(language).items() if not said] == []


@pytest.mark.parametrize("language", messages.languages())
def test_the_catalogues_are_what_the_source_asks_for(language: str, asked: dict[messages.Message, set[str]]) -> None:
    catalogue = messages.brought_up_to_date(language, asked)
    assert messages.po_path(language).read_bytes() == messages.as_po(catalogue), "python -m tools.messages"
    assert messages.tablet_path(language).read_text("utf-8") == messages.as_json(messages.tablet_up_to_date(language))
    with messages.po_path(language).with_suffix(".mo").open("rb") as file:
        compiled = gettext.GNUTranslations(file)
    fresh = gettext.GNUTranslations(BytesIO(messages.as_mo(catalogue)))
    texts = [one for one in asked if len(one) == 1]
    assert [one for (one,) in texts if compiled.gettext(one) != fresh.gettext(one)] == []


HOLES = re.compile(r"%\(\w+\)(?:02)?[sdg]|\{\w*\}")
TAGS = re.compile(r"</?\w+[^>]*>")


def pairs(language: str) -> Iterator[tuple[str, str]]:
    for one in messages.known(language):
        if one.id:
            ids: Any = one.id if isinstance(one.id, tuple | list) else (one.id,)
            strings: Any = one.string if isinstance(one.string, tuple | list) else (one.string,)
            yield from ((ids[min(place, len(ids) - 1)], string) for place, string in enumerate(strings))
    for text, said in messages.tablet_known(language).items():
        yield from ((text, one) for one in (said.values() if isinstance(said, dict) else (said,)))


@pytest.mark.parametrize("language", messages.languages())
def test_what_is_put_in_and_how_it_is_marked_up_is_the_same(language: str) -> None:
    wrong = [
        (text, said)
        for text, said in pairs(language)
        if said
        and (
            sorted(HOLES.findall(text)) != sorted(HOLES.findall(said))
            or sorted(TAGS.findall(text)) != sorted(TAGS.findall(said))
            or text.startswith(" ") != said.startswith(" ")
        )
    ]
    assert wrong == []


# ---- nothing bare ----


def bare(template: str) -> list[str]:
    """Human text of a template that no tag of translation holds."""
    text = re.sub(r"\{%\s*blocktranslate.*?endblocktranslate\s*%\}", " ", template, flags=re.S)
    text = re.sub(r"\{#.*?#\}|<!--.*?-->|<(script|style)\b.*?</\1>", " ", text, flags=re.S)
    found = re.findall(r'\|(?:default|default_if_none|yesno|join):"([^"/]*[A-Za-z]{2,}[^"/]*)"', text)
    text = re.sub(r"\{%.*?%\}|\{\{.*?\}\}", "\x00", text, flags=re.S)
    found += re.findall(r'\b(?:aria-label|title|placeholder|alt)="([^"]*)"', text)
    found += re.split(r"<[^>]*>", text)
    words = (re.sub(r"&\w+;", " ", one).replace("\x00", " ") for one in found)
    return [one.strip() for one in words if any(word not in NAMES for word in re.findall(r"[A-Za-z]{2,}", one))]


PAGES = sorted(messages.TEMPLATES.rglob("*.html"))
# Ids that a list names, and no text: "procedure:..." and "case:...".
NO_TEXT = {"desk/_asked.html"}


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.relative_to(messages.TEMPLATES).as_posix())
def test_no_page_has_text_that_cannot_be_translated(path: Path) -> None:
    if path.relative_to(messages.TEMPLATES).as_posix() not in NO_TEXT:
        assert bare(path.read_text("utf-8")) == []


@pytest.mark.parametrize(
    ("template", "text"),
    [
        ("<p>Go on</p>", "Go on"),
        ('<p aria-label="Go on"></p>', "Go on"),
        ("{% if one %}Go on{% endif %}", "Go on"),
        ('{{ one|default:"none yet" }}', "none yet"),
        ('<a href="{{ one }}">{{ two }} go on</a>', "go on"),
    ],
)
def test_bare_text_is_found(template: str, text: str) -> None:
    assert bare(template) == [text]


@pytest.mark.parametrize(
    "template",
    [
        '<p class="lead">{% translate "Go on" %}</p>',
        '<p aria-label="{% translate "Go on" %}">{{ one|default:_("none yet") }}</p>',
        "{% blocktranslate %}Go <b>on</b>{% endblocktranslate %} UTC",
        '{% include "a.html" with one="two three" %}&amp;<svg d="M0,0 Z"></svg>',
    ],
)
def test_text_that_is_marked_is_let_be(template: str) -> None:
    assert bare(template) == []


def test_every_name_that_marks_a_text_is_gathered() -> None:
    names = {
        name
        for path in messages.SHELL.rglob("*.py")
        for name in re.findall(r"\bn?gettext\w* as (\w+)", path.read_text("utf-8"))
    }
    assert names - messages.GETTEXT == set()


def test_no_field_of_a_form_has_a_label_that_cannot_be_translated() -> None:
    bare_labels = [
        f"{path.relative_to(messages.SHELL)}: {found[0]}"
        for path in messages.SHELL.rglob("*.py")
        for found in re.finditer(
            r'(?<![-\w])(?:label|help_text|empty_label)=f?"[^"]*[A-Za-z]{2,}[^"]*"', path.read_text("utf-8")
        )
    ]
    assert bare_labels == []


# ---- nothing bare in the browser's modules ----

OWN = tablet_texts.speaking(messages.TABLET)
OTHERS = sorted((messages.SHELL / "static" / "vestry" / "web").glob("*.js"))


@pytest.mark.parametrize("path", OWN, ids=lambda path: path.name)
def test_no_module_of_the_tablet_has_text_that_cannot_be_translated(path: Path) -> None:
    assert tablet_texts.bare(path.read_text("utf-8")) == [], "phrase`...`, so that it is looked up"


@pytest.mark.parametrize("path", OWN, ids=lambda path: path.name)
def test_a_module_that_says_something_asks_for_what_it_says_it_with(path: Path) -> None:
    source = path.read_text("utf-8")
    taken = set(re.findall(r"\w+", " ".join(re.findall(r'import \{([^}]*)\} from "./say.js"', source))))
    used = set(re.findall(r"(?<![.\w])(phrase(?=`)|(?:say|sayMany|listOf|either|timeOfDay)(?=\())", source))
    own = set(re.findall(r"(?:function|async) (\w+)\(", source))
    assert used - own - taken == set()


@pytest.mark.parametrize("path", OTHERS, ids=lambda path: path.name)
def test_the_modules_of_other_pages_have_no_text_at_all(path: Path) -> None:
    source = path.read_text("utf-8")  # what they say stands in the page, where the server has said it in its language
    assert tablet_texts.bare(source) == []
    assert [text for text in tablet_texts.texts_of(source) if re.search(r"[A-Z ]", text)] == []


@pytest.mark.parametrize("language", COMPLETE)
def test_every_text_of_the_tablet_is_said(language: str) -> None:
    known = messages.tablet_known(language)
    wanted = {text for path in OWN for text in tablet_texts.texts_of(path.read_text("utf-8"))}
    assert sorted(wanted - {text for text, said in known.items() if said}) == [], "python -m tools.messages"


@pytest.mark.parametrize(
    ("source", "text"),
    [
        ('h("p", {}, "wiped")', "wiped"),  # one small word is a text too, where an element holds it
        ('h("p", { "aria-label": "Step" })', "Step"),
        ('const SAYS = { out: "out" };', "out"),
        ('message("Which entry?")', "Which entry?"),
        ('const name = one ? "the line was crossed" : null;', "the line was crossed"),
        ("h('p', {}, phrase`step ${n} of ${count}`)", "step {} of {}"),
        ('sayMany(n, "{} step", "{} steps")', "{} steps"),
        ("h('p', {}, `${say(\"inside\")} ${h}`)", "inside"),
    ],
)
def test_a_text_of_the_tablet_is_found(source: str, text: str) -> None:
    assert text in tablet_texts.texts_of(source)


@pytest.mark.parametrize(
    "source",
    ["h('p', {}, `step ${n}`)", "key.textContent = `${name} may go in`", "const a = `on ${`the ${n}`}`"],
)
def test_a_text_with_values_that_is_not_looked_up_is_found(source: str) -> None:
    assert tablet_texts.bare(source) != []


@pytest.mark.parametrize(
    "source",
    [
        'h("div", { class: "low", "data-press": "read" })',
        'app.press("done-seen", { step: "wipe" })',
        'if (one.kind === "relief-called") drawing(`<svg class="a"><path d="M0,0"/></svg>`);',
        "// a text in a comment\nfetch(`/tablet/entries/${entry}/events/`)",
        'const NEAR = /(left|right) [a-z]"/g; import { h } from "./drawing.js";',
    ],
)
def test_what_is_no_text_is_let_be(source: str) -> None:
    assert tablet_texts.texts_of(source) == tablet_texts.bare(source) == []


def test_no_page_asks_for_the_words_of_one_language() -> None:
    own = {"language.py", "sorts.py"}  # they say which, and why
    named = [
        path.relative_to(messages.SHELL).as_posix()
        for path in messages.SHELL.rglob("*.py")
        if path.name not in own and re.search(r'\bload_words\("', path.read_text("utf-8"))
    ]
    assert named == []


def test_what_a_filter_is_given_is_a_text_too(asked: dict[messages.Message, set[str]]) -> None:
    """Django looks such an argument up when the page is shown: read from the template it is no text yet."""
    assert ("none is left",) in asked

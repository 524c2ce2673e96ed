"""Which language is spoken where, and that a real entry never speaks one that no speaker of the trade has reviewed.

    words_now()        the trade words of the language that this page is shown in
    WORDS              the same, looked up at each use: for modules that name it once
    words_for_real()   the same, but never a draft
    words_of(tag)      the trade words of one language
    offered()          every language that may be chosen, with who has looked at it
    for_entry(...)     the language that an entry may be led in
    speak_for(entry)   from here on this page speaks as the entry may

A language is chosen, never guessed from the browser: what a shared machine asks for is not what its reader knows, and a
translation that nobody has reviewed is not to appear by chance. Ours stand in the package; a hospital's own stand in
VESTRY_DATA/languages/TAG (docs/how-to/another-language.md) and take the place of ours.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import lru_cache
from typing import Any, cast

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import translation

from vestry.trade.catalogue import load_catalogue
from vestry.trade.words import Words, languages, load_words, read_words
from vestry.trade.words_file import Language

COOKIE = "vestry-language"
SOURCE = "en"  # the language that texts are written in


def own_languages() -> dict[str, Any]:
    """The folders of languages that this hospital has laid beside ours, by tag."""
    place = settings.OWN_LANGUAGES
    if place is None or not place.is_dir():
        return {}
    return {one.name: one for one in sorted(place.iterdir()) if (one / "words" / "language.toml").is_file()}


@lru_cache
def words_of(tag: str) -> Words:
    """The trade words of a language: the hospital's own where it has laid some, else ours."""
    own = own_languages().get(tag)
    if own is None:
        return load_words(tag)
    texts = {path.name: path.read_text("utf-8") for path in sorted((own / "words").glob("*.toml"))}
    return read_words(texts, {item.id: item.kind for item in load_catalogue().items.values()})


def offered() -> tuple[Language, ...]:
    """Every language that may be chosen at the desk, the source first."""
    tags = sorted({*languages(), *own_languages()}, key=lambda tag: (tag != SOURCE, tag))
    return tuple(words_of(tag).language for tag in tags)


def known(tag: str) -> bool:
    return tag in {one.tag for one in offered()}


def reviewed(tag: str) -> bool:
    """Whether a speaker of the trade stands behind its words."""
    return known(tag) and words_of(tag).language.status != "draft"


def now() -> str:
    """The language of this page."""
    tag = translation.get_language() or SOURCE
    return tag if known(tag) else SOURCE


def words_now() -> Words:
    return words_of(now())


def words_for_real() -> Words:
    """For what is handed to people as it stands: the language of this page where it is reviewed, else the source."""
    return words_of(now() if reviewed(now()) else SOURCE)


class _WordsNow:
    def __getattr__(self, name: str) -> Any:
        return getattr(words_now(), name)


WORDS = cast(Words, _WordsNow())


# ---- an entry ----


def for_entry(wanted: str, drill: bool) -> str:
    """The language that an entry may be led in: the one wanted; the source where that is a draft and this is real."""
    return wanted if known(wanted) and (drill or reviewed(wanted)) else SOURCE


def speak_for(entry: Any) -> None:
    """Let the rest of this page speak as this entry may. Called where an entry is looked up to be led or watched."""
    translation.activate(for_entry(now(), entry.drill))


# ---- a page ----


class LanguageMiddleware:
    """Speak the language that the visitor has chosen: kept with the person; before sign-in, with the browser."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.path.startswith("/tablet/"):  # a tablet says for itself, and brings no cookie
            return self._speak(request.headers.get("Vestry-Language", ""), request)
        user: Any = getattr(request, "user", None)
        chosen = (user.language if user is not None and user.is_authenticated else "") or request.COOKIES.get(
            COOKIE, ""
        )
        return self._speak(chosen, request)

    def _speak(self, tag: str, request: HttpRequest) -> HttpResponse:
        with translation.override(tag if known(tag) else SOURCE):
            response = self.get_response(request)
            response.headers.setdefault("Content-Language", now())
            return response


# ---- the tablet ----


@lru_cache(maxsize=1)
def for_tablets() -> str:
    """What the tablet's page needs of every language, as JSON: name, which way it runs, who looked at it, texts."""
    found = []
    for one in offered():
        own = own_languages().get(one.tag)
        path = own / "tablet.json" if own else settings.HERE / "anteroom" / "languages" / f"{one.tag}.json"
        texts = json.loads(path.read_text("utf-8")) if path.is_file() else {}
        found.append(one.model_dump(mode="json") | {"texts": texts})
    return json.dumps({"languages": found}, ensure_ascii=False, separators=(",", ":"))

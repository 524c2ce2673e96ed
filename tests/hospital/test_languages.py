"""Which language is spoken where: chosen by a person, never guessed, and never an unreviewed one in a real entry."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from vestry.hospital import language
from vestry.hospital.anteroom import tablets
from vestry.trade import load_catalogue
from vestry.trade.words import languages, load_words


def keys(table: dict[str, Any], path: tuple[str, ...] = ()) -> set[tuple[str, ...]]:
    found: set[tuple[str, ...]] = set()
    for key, value in table.items():
        if path or key not in ("language",):
            found |= keys(value, (*path, key)) if isinstance(value, dict) else {(*path, key)}
    return {one for one in found if one[-1] != "aliases"}


def texts(table: dict[str, Any], path: tuple[str, ...] = ()) -> dict[tuple[str, ...], str]:
    found: dict[tuple[str, ...], str] = {}
    for key, value in table.items():
        if isinstance(value, dict):
            found |= texts(value, (*path, key))
        elif isinstance(value, str):
            found[(*path, key)] = value
    return found


# ---- words of the trade ----


@pytest.mark.parametrize("tag", [one for one in languages() if one != "en"])
def test_every_word_of_the_trade_stands_in_every_language(tag: str) -> None:
    words, english = load_words(tag), load_words("en")

    assert words.missing(load_catalogue()) == []
    assert words.unused(load_catalogue()) == []
    said, source = (one.file.model_dump(by_alias=True, exclude_none=True) for one in (words, english))
    lacking = {one for one in keys(source) - keys(said) if one[-1] != "it"}
    assert lacking == set()
    assert {one for one in keys(said) - keys(source) if one[-1] != "it"} == set()
    assert len(words.cautions) == len(english.cautions)


@pytest.mark.parametrize("tag", [one for one in languages() if one != "en"])
def test_what_is_put_into_a_sentence_is_put_into_it_in_every_language(tag: str) -> None:
    import re

    said, source = (texts(load_words(one).file.model_dump(by_alias=True)) for one in (tag, "en"))
    # What comes off by its short name in English may come off by its name in running text elsewhere.
    same = {"name": "it", "It": "it"}

    def holes(text: str) -> set[str]:
        return {same.get(one, one) for one in re.findall(r"\{(\w+)\}", text)}

    assert [path for path, text in source.items() if path in said and holes(text) != holes(said[path])] == []


def test_a_language_changes_words_and_nothing_else() -> None:
    spanish, english = load_words("es"), load_words("en")

    assert spanish.digest != english.digest
    assert spanish.language.status == "draft"
    assert spanish.kinds == english.kinds


# ---- who chooses, and where it is kept ----


def test_a_person_chooses_and_finds_it_again_on_another_machine(signed_in: Callable[[str], Client]) -> None:
    first, second = signed_in("ingrid"), signed_in("ingrid")
    assert b'<html lang="en" dir="ltr">' in first.get("/").content

    answer = first.post("/language/", {"language": "es", "next": "/"})

    assert (answer.status_code, answer["Location"]) == (302, "/")
    for page in (first.get("/"), second.get("/")):
        assert b'<html lang="es" dir="ltr">' in page.content
        assert page["Content-Language"] == "es"
        assert b"demo draft" in page.content  # every page in it says that nobody of the trade has looked at it


def test_the_browser_is_not_asked(staff: Any) -> None:
    page = Client(headers={"Accept-Language": "es"}).get("/sign-in/")
    assert page["Content-Language"] == "en"


def test_before_sign_in_the_choice_stays_with_the_browser(staff: Any) -> None:
    client = Client()
    client.post("/language/", {"language": "es", "next": "/sign-in/"})
    assert client.get("/sign-in/")["Content-Language"] == "es"


@pytest.mark.parametrize("tag", ["", "xx", "../en", "es\x00", "e" * 400])
def test_what_is_no_language_changes_nothing(signed_in: Callable[[str], Client], tag: str) -> None:
    client = signed_in("ingrid")
    assert client.post("/language/", {"language": tag, "next": "//elsewhere.example/"})["Location"] == "/"
    assert client.get("/")["Content-Language"] == "en"


# ---- an entry ----


@pytest.fixture
def opened(signed_in: Callable[[str], Client], version: Any) -> Callable[[bool], str]:
    def open_one(drill: bool) -> str:
        said = {"wearer": "noor", "observer": "tomas", "assistant": "petra"} | ({"drill": "on"} if drill else {})
        answer = signed_in("tomas").post(f"/procedures/{version.pk}/start/", said)
        assert answer.status_code == 302, answer.content
        return str(answer["Location"])

    return open_one


@pytest.mark.parametrize(("drill", "spoken"), [(True, "es"), (False, "en")])
def test_a_real_entry_is_never_led_in_an_unreviewed_language(
    signed_in: Callable[[str], Client], opened: Callable[[bool], str], drill: bool, spoken: str
) -> None:
    place = opened(drill)
    client = signed_in("tomas")
    client.post("/language/", {"language": "es"})

    for page in (client.get(place), client.get(f"{place}wearer/")):
        assert page.status_code == 200
        assert page["Content-Language"] == spoken
        assert f'<html lang="{spoken}"'.encode() in page.content
    step = load_words(spoken).confirm("area-confirmed").say.split("?")[0].encode()
    assert step in client.get(place).content
    assert client.get("/")["Content-Language"] == "es"  # the desk goes on as it was


def test_a_reviewed_language_may_be_spoken_in_a_real_entry(monkeypatch: pytest.MonkeyPatch) -> None:
    assert language.for_entry("es", drill=False) == "en"
    monkeypatch.setattr(language, "reviewed", lambda tag: True)
    assert language.for_entry("es", drill=False) == "es"
    assert language.for_entry("xx", drill=True) == "en"


@pytest.mark.slow
def test_the_bundle_of_a_real_entry_is_refused_in_an_unreviewed_language(
    staff: dict[str, Any], tablet: Any, opened: Callable[[bool], str]
) -> None:
    assert tablets.set_badge(staff["tomas"], "HP-tomas", "482913", timezone.now())
    assert tablet.identify("HP-tomas", "482913").status_code == 200
    real, drill = (f"/tablet/entries/{opened(one).split('/')[2]}/bundle/" for one in (False, True))

    refused = tablet.get(f"{real}?language=es")
    assert refused.status_code == 422
    assert refused.json()["problems"][0]["field"] == "language"
    assert _bundle(tablet.get(real))["words"]["language"] == "en"

    taken, plain = _bundle(tablet.get(f"{drill}?language=es")), _bundle(tablet.get(drill))
    assert (taken["words"]["language"], plain["words"]["language"]) == ("es", "en")
    assert taken["words"]["digest"] != plain["words"]["digest"]
    # A language changes words and nothing else: the same plan, program, pictures and answers.
    assert {name: value for name, value in taken.items() if name != "words"} == {
        name: value for name, value in plain.items() if name != "words"
    }


def _bundle(answer: Any) -> dict[str, Any]:
    found: dict[str, Any] = answer.json()["carried"]
    return found


def test_the_tablet_is_told_which_languages_nobody_has_reviewed(client: Client, db: None) -> None:
    told = json.loads(client.get("/tablet/texts.json").content)["languages"]
    assert [(one["tag"], one["status"]) for one in told][:2] == [("en", "original"), ("es", "draft")]


@pytest.mark.parametrize(("drill", "spoken"), [(True, "es"), (False, "en")])
def test_the_wearers_screen_speaks_as_the_tablet_and_a_real_entry_in_no_draft(
    staff: dict[str, Any], tablet: Any, opened: Callable[[bool], str], drill: bool, spoken: str
) -> None:
    assert tablets.set_badge(staff["tomas"], "HP-tomas", "482913", timezone.now())
    tablet.identify("HP-tomas", "482913")
    entry = opened(drill).split("/")[2]
    assert tablet.get(f"/tablet/entries/{entry}/bundle/").status_code == 200
    tablet.client.defaults["HTTP_VESTRY_LANGUAGE"] = "es"  # chosen on the tablet
    address = tablet.post(f"/tablet/entries/{entry}/wearer-link/", {}).json()["address"]
    place, _, asked = address.partition("?")
    telephone = Client()
    telephone.cookies["vestry-language"] = "es"  # and by whoever reads other pages on this telephone

    for page in (telephone.get(address), telephone.get(f"{place}?in=es")):
        assert f'<html lang="{spoken}"'.encode() in page.content
        assert ("Traducción sin revisar".encode() in page.content) == drill
    assert (asked == "in=es") == drill
    assert telephone.get(f"{place}now/?in=es")["Content-Language"] == spoken
    assert b'<html lang="en"' in telephone.get(place).content


def test_a_list_as_it_was_shipped_is_said_in_the_language_of_the_page_and_the_units_own_as_written(
    staff: dict[str, Any],
) -> None:
    from django.utils import translation

    from vestry.hospital.call.models import UnitListVersion

    with translation.override("es"):
        assert UnitListVersion.shown("area")[1].items[0].say == "El asiento está limpio y en su sitio."
        items = [{"id": "seat", "say": "The seat is clean, rub of the day", "else-do": ""}]
        UnitListVersion.objects.create(
            name="area", number=1, items=items, reason="ours", by=staff["ingrid"], at=timezone.now()
        )
        assert UnitListVersion.shown("area")[1].items[0].say == "The seat is clean, rub of the day"
    assert UnitListVersion.in_force("signals")[1].items[1].say == "Show me stop."


@pytest.mark.parametrize(
    ("tag", "text", "said"),
    [
        ("es", "1,234.5 litres, 0.5 %", "1\N{NO-BREAK SPACE}234,5 litres, 0,5 %"),
        ("en", "1,234.5 litres", "1,234.5 litres"),
        ("es", "step 7 of 12", "step 7 of 12"),
        ("es", "version 1.2.3, EN 149, R1.2", "version 1.2.3, EN 149, R1.2"),  # no numbers, but names
    ],
)
def test_numbers_on_a_page_are_written_as_its_language_writes_them(tag: str, text: str, said: str) -> None:
    from django.utils import translation

    from vestry.hospital.numbers import localized, written

    with translation.override(tag):
        assert localized(text) == said
        assert written(2.5) == ("2,5" if tag == "es" else "2.5")

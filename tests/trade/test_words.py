"""Words: complete for the catalogue, plain to read aloud, and never saying what must not be said."""

import re
from typing import get_args

import pytest

from vestry.sequence.assurance import EndpointClass
from vestry.sequence.plan import StopPoint
from vestry.trade import BadFacts, load_catalogue, packaged_texts
from vestry.trade.values import Act, Technique, Zone
from vestry.trade.words import UnknownWord, Words, languages, load_words, read_words, technique_keys

CATALOGUE = load_catalogue()
WORDS = load_words("en")
KINDS = {item.id: item.kind for item in CATALOGUE.items.values()}
LANGUAGE = '[language]\ntag = "xx"\nname = "Test"\ndirection = "ltr"\nstatus = "draft"\n'


def spoken() -> list[tuple[str, str, str, str]]:
    """Everything that is read aloud: key, say, watch, short."""
    file = WORDS.file
    return [
        (f"{table} {key}", one.say, one.watch, one.short)
        for table in ("technique", "don", "confirm", "inspect", "spoken")
        for key, one in getattr(file, table).items()
    ]


def texts(value: object) -> list[str]:
    """Every text within a value of plain JSON, keys left out."""
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        return [text for one in value.values() for text in texts(one)]
    if isinstance(value, list):
        return [text for one in value for text in texts(one)]
    return []


ALL_TEXTS = texts(WORDS.file.model_dump(mode="json"))
SPOKEN = spoken()


# ---- complete ----


@pytest.mark.parametrize("language", languages())
def test_nothing_in_the_catalogue_lacks_words(language):
    assert load_words(language).missing(CATALOGUE) == []


@pytest.mark.parametrize("language", languages())
def test_no_words_are_left_over(language):
    assert load_words(language).unused(CATALOGUE) == []


def without(table: str, key: str) -> Words:
    """The shipped words with one entry left out."""
    held = {one: words for one, words in getattr(WORDS.file, table).items() if one != key}
    return Words(WORDS.language, WORDS.file.model_copy(update={table: held}), KINDS)


@pytest.mark.parametrize(
    ("table", "key", "lacking"),
    [
        ("item", "apron", ["item apron"]),
        ("face", "shield.visor", ["face face-shield.visor"]),
        ("latent", "observer.hole", ["latent observer.hole"]),
        ("don", "apron", ["don apron"]),
        ("technique", "doff.shield.rear-strap", ["technique doff.shield.rear-strap"]),
        ("residue", "doff.gloves.glove-in-glove", ["residue doff.gloves.glove-in-glove seeps"]),
        ("slip", "move.any.step-across", ["slip move.any.step-across hand-on-door"]),
        ("zone", "anteroom", ["zone anteroom"]),
        ("hazard", "lassa", ["hazard lassa"]),
        ("waste", "reusable-parts", ["waste reusable-parts"]),
        ("convention", "ties-clean", ["convention ties-clean"]),
        ("rule", "last-look", ["rule last-look"]),
        ("requirement", "hands-covered", ["requirement hands-covered"]),
        ("act", "wipe", ["act wipe"]),
        ("body", "airways", ["body airways"]),
    ],
)
def test_an_entry_left_out_is_missed(table, key, lacking):
    assert without(table, key).missing(CATALOGUE) == lacking


def test_words_for_what_does_not_exist_are_noticed():
    more = WORDS.file.model_copy(update={"hazard": {**WORDS.file.hazard, "measels": WORDS.file.hazard["mers"]}})

    assert Words(WORDS.language, more, KINDS).unused(CATALOGUE) == ["hazard measels"]


@pytest.mark.parametrize("technique", CATALOGUE.techniques, ids=lambda technique: technique_keys(technique)[0])
def test_every_technique_and_what_goes_wrong_in_it_can_be_said(technique: Technique):
    for key in technique_keys(technique):
        act, kind, name = key.split(".", 2)
        told = WORDS.technique(act, kind, name)
        assert "{" not in told.say + told.watch + told.short
        for touch in technique.touches:
            if touch.slip:
                assert WORDS.slip(name, touch.slip, kind)
            if touch.residue:
                assert WORDS.residue(name, touch.residue, kind)


def test_every_surface_has_words_of_its_own():
    surfaces = [
        *(f"{item.id}.{face.id}" for item in CATALOGUE.items.values() for face in item.faces),
        *(f"body.{site}" for site in CATALOGUE.body),
        *(f"place.{thing}" for thing in CATALOGUE.places),
        *(f"{helper.id}.{face}" for helper in CATALOGUE.helpers.values() for face in helper.faces),
        *(f"air.{zone}" for zone in get_args(Zone)),
    ]
    assert all(WORDS.surface(surface) for surface in surfaces)

    for item in CATALOGUE.items.values():
        named = [WORDS.face(item.id, face.id) for face in item.faces]
        assert len(set(named)) == len(named)


def test_the_small_closed_lists_have_words():
    assert [WORDS.act(act) for act in get_args(Act)]
    assert [WORDS.endpoint(endpoint) for endpoint in get_args(EndpointClass)]
    assert [WORDS.stop(point).say for point in get_args(StopPoint)]
    assert [WORDS.why(requirement) for requirement in CATALOGUE.requirements]
    assert [WORDS.verdict(verdict).says for verdict in ("clean", "reached", "not-for-this-case")]
    assert [WORDS.term("container", stream.container) for stream in CATALOGUE.waste_streams.values()]
    for hazard in CATALOGUE.hazards.values():
        assert WORDS.term("family", hazard.family)
        assert [WORDS.term("route", route) for route in hazard.routes.value or hazard.routes.default]
        assert WORDS.term("disinfection-class", hazard.disinfection_class.value or hazard.disinfection_class.default)


# ---- as the trade speaks ----


def test_the_shield_step_reads_as_drawn():
    told = WORDS.technique("doff", "shield", "rear-strap")

    assert told.say == "Lean forward. Lift the shield off by its rear strap."
    assert told.watch == "The visor swings clear of chin and neck."
    assert told.short == "Shield off"
    assert WORDS.slip("rear-strap", "swings-onto-neck", "shield") == "the visor swings onto the neck"


def test_the_item_on_the_step_is_named():
    assert WORDS.technique_say("doff", "gloves", "glove-in-glove", "outer-gloves-long").startswith(
        "Take off the outer gloves."
    )
    assert WORDS.technique_short("doff", "gloves", "glove-in-glove", "inner-gloves-long") == "Inner gloves off"
    assert WORDS.technique_say("doff", "gloves", "glove-in-glove").startswith("Take off the gloves.")
    assert WORDS.technique_watch("don", "gown", "in-clean-area", "gown-isolation").startswith("The gown is whole")
    assert WORDS.don("outer-gloves-long").say == "Put on the outer gloves. Pull each cuff over the sleeve."
    assert WORDS.don("gloves-long").say == "Put on the gloves. Pull each cuff over the sleeve."


def test_surfaces_in_words():
    assert WORDS.face("gown-impermeable", "front") == "front of the gown"
    assert WORDS.surface("gown-impermeable.front") == "front of the gown"
    assert WORDS.surface("outer-gloves-long.cuff-l") == "left outer glove, cuff"
    assert WORDS.surface("body.neck") == "neck"
    assert WORDS.surface("place.seat") == "seat"
    assert WORDS.surface("assistant.gloves") == "assistant's gloves"
    assert WORDS.surface("observer.skin") == "observer's skin"
    assert WORDS.surface("air.room") == "air of the room"


def test_what_comes_off_together_is_found_by_either_kind():
    told = WORDS.technique("doff", "gown+gloves", "gown-and-gloves-together")

    assert WORDS.technique("doff", "gloves+gown", "gown-and-gloves-together") == told
    assert WORDS.technique("doff", "gown", "gown-and-gloves-together").say == told.say
    assert WORDS.slip("gown-and-gloves-together", "shaken", "gown") == "the gown is shaken"


@pytest.mark.parametrize(
    ("event", "words"),
    [
        ("doff:face-shield:rear-strap:swings-onto-neck@doff:face-shield:rear-strap", "the visor swings onto the neck"),
        ("doff:papr-hose+papr-belt-unit:helper-detaches:unit-dropped@x", "the unit drops"),
        (
            "doff:outer-gloves-long:glove-in-glove:seeps@x",
            "a little reaches the layer beneath, as measured even when it is done right",
        ),
        ("move:anteroom:step-across:hand-on-door@x", "the hand touches the door"),
        ("latent:outer-gloves-long:hole-l", "a hole in the left outer glove that nobody has seen"),
        ("latent:assistant:hole", "a hole in the assistant's glove that nobody has seen"),
        ("disinfect-gloves:-:rub-gloves:left-out-or-short@x", "the glove disinfection is left out or cut short"),
        ("hand-hygiene:-:rub-bare-hands:left-out-or-short@x", "the hand hygiene is left out or cut short"),
        ("doff:coverall-hooded:peel-down-alone:left-out-or-short@x", "the cleaning is left out or cut short"),
        ("doff:inner-gloves-long:glove-in-glove:drags-out@x", "the cuff drags the sleeve out with it"),
    ],
)
def test_an_event_of_the_model_in_words(event, words):
    assert WORDS.event(event) == words


def test_glove_disinfection_and_hand_hygiene_are_never_merged():
    for text in ALL_TEXTS:
        lowered = text.lower()
        assert not ("glove disinfection" in lowered and "hand hygiene" in lowered), text
        assert "glove hygiene" not in lowered, text
        assert "hand disinfection" not in lowered, text
    assert WORDS.act("disinfect-gloves") == "glove disinfection"
    assert WORDS.act("hand-hygiene") == "hand hygiene"
    assert WORDS.spoken("disinfect-gloves").say.startswith("Glove disinfection.")
    assert WORDS.spoken("hand-hygiene").say.startswith("Hand hygiene.")


def test_nothing_is_called_safe_and_no_chance_of_infection_is_told():
    for text in ALL_TEXTS:
        assert not re.search(r"\b(un)?safe(ly|ty)?\b|\bproven\b|\brisk of\b|probability|chance", text, re.I), text


def test_verdicts_say_that_they_were_checked_against_the_contact_model():
    for verdict in WORDS.file.verdict.values():
        assert verdict.says.startswith("Checked against the contact model")


def test_the_cautions_are_all_said():
    said = " ".join(WORDS.cautions)

    for part in (
        "supports trained people",
        "replaces neither local procedure, nor licensed practice, nor the judgement of infection prevention and "
        "occupational health",
        "rests on conventions",
        "straps and back ties counting as clean",
        "trained observer and the second person stay",
    ):
        assert part in said


@pytest.mark.parametrize(("key", "say", "watch", "short"), SPOKEN, ids=[one[0] for one in SPOKEN])
def test_what_is_read_aloud_is_short(key, say, watch, short):
    sentences = [one for one in re.split(r"(?<=[.?!:])\s+", say) if one]

    assert say[-1] in ".?"
    assert watch[-1] in "."
    assert short[-1] not in ".?!"
    assert max(len(sentence.split()) for sentence in sentences) <= 24, sentences
    assert len(say.split()) <= 36
    assert len(watch.split()) <= 18
    assert len(short.split()) <= 6
    assert not re.search(r"\b(if|unless|must|should|please)\b", say, re.IGNORECASE)


# ---- unknown ids ----


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda: WORDS.item("gown-impermable"), "no words for item gown-impermable; did you mean gown-impermeable?"),
        (lambda: WORDS.face("apron", "frnt"), "no words for face apron.frnt; did you mean apron.front?"),
        (lambda: WORDS.surface("body.nek"), "no words for body site nek; did you mean neck?"),
        (lambda: WORDS.surface("zzz.front"), "no words for item zzz"),
        (
            lambda: WORDS.technique("doff", "shield", "rear-strp"),
            "no words for technique doff.shield.rear-strp; did you mean doff.shield.rear-strap?",
        ),
        (
            lambda: WORDS.slip("rear-strap", "snap", "shield"),
            "no words for slip of doff.shield.rear-strap snap; did you mean snaps?",
        ),
        (lambda: WORDS.zone("anterom"), "no words for place to go anterom; did you mean anteroom?"),
        (lambda: WORDS.hazard("lasa"), "no words for hazard lasa; did you mean lassa?"),
        (lambda: WORDS.term("route", "contct"), "no words for route contct; did you mean contact?"),
        (lambda: WORDS.why("policy-aprn"), "no words for why policy-aprn; did you mean policy-apron?"),
        (lambda: WORDS.event("nonsense"), "no words for event nonsense"),
        (lambda: load_words("eng"), "no words for language eng; did you mean en?"),
        (lambda: load_words("../../data"), "no words for language ../../data"),
    ],
)
def test_an_unknown_id_is_named(ask, message):
    with pytest.raises(KeyError) as caught:
        ask()

    assert isinstance(caught.value, UnknownWord)
    assert str(caught.value) == message


# ---- files of words ----


def test_all_errors_of_files_of_words_are_told_at_once():
    bad = {
        "a.toml": 'format-version = 1\n[agent]\nrub = "rub"\n'
        '[item.x]\nname = "X"\nshort = "  "\nnoun = "x"\ncolour = "red"\n',
        "b.toml": 'format-version = 1\n[face]\n"gown.front" = "front of {that}"\n'
        '[slip."doff.shield"]\nsnaps = "it snaps"\n',
    }

    with pytest.raises(BadFacts) as caught:
        read_words(bad, {})

    assert [str(problem) for problem in caught.value.problems] == [
        "a.toml:6: item.x.short: Value error, say something, or leave the key out (got '  ')",
        "a.toml:8: item.x.colour: Extra inputs are not permitted (got 'red')",
        "b.toml:3: face.gown.front: Value error, {that} stands for nothing; there are It, it, name, noun "
        "(got 'front of {that}')",
        r"b.toml:4: slip.doff.shield.[key]: String should match pattern '^[a-z-]+\.[a-z0-9+-]+\.[a-z0-9-]+$' "
        "(got 'doff.shield')",
    ]


def test_an_entry_in_two_files_is_refused():
    twice = {
        "a.toml": "format-version = 1\n" + LANGUAGE + '[agent]\nrub = "rub"\n',
        "b.toml": 'format-version = 1\n\n[agent]\nrub = "another rub"\n',
    }

    with pytest.raises(BadFacts) as caught:
        read_words(twice, {})

    assert str(caught.value) == "b.toml:4: agent.rub: stands in another file too"


def test_words_say_which_language_they_are_in():
    with pytest.raises(BadFacts) as caught:
        read_words({"a.toml": "format-version = 1\n"}, {})

    assert str(caught.value) == "language.toml: language: say which language these words are in"


def test_words_have_a_digest_of_their_own():
    assert re.fullmatch("[0-9a-f]{64}", WORDS.digest)
    assert WORDS.digest != CATALOGUE.digest
    assert not any(name.startswith("words") or "language" in name for name in packaged_texts())


def test_the_digest_of_words_changes_with_a_word_and_not_with_the_order_of_entries():
    one = {"a.toml": "format-version = 1\n" + LANGUAGE + '[agent]\nrub = "rub"\nwipe = "wipe"\n'}
    other_order = {"a.toml": 'format-version = 1\n[agent]\nwipe = "wipe" # a comment\nrub = "rub"\n' + LANGUAGE}
    other_word = {"a.toml": one["a.toml"].replace('"wipe"', '"cloth"')}

    assert read_words(other_order, {}).digest == read_words(one, {}).digest
    assert read_words(other_word, {}).digest != read_words(one, {}).digest

"""Words of one language for everything that has an id; read aloud, printed and shown, never part of a plan.

The files stand under data/words/LANGUAGE/ and have a digest of their own: a better sentence changes no fact, no plan.

    load_words(language)  the shipped words of a language, read once
    read_words(texts)     words from texts (file name to text); BadFacts with every problem and its line
    Words                 one method for each sort of thing; UnknownWord for an id that has no words
    Words.missing         what a catalogue holds and these words lack;  Words.unused  the reverse
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property, lru_cache
from typing import Any, TypeVar, get_args

import rfc8785

from vestry.trade import reading
from vestry.trade.catalogue import Catalogue, load_catalogue
from vestry.trade.errors import BadFacts, Problem
from vestry.trade.shipped import shipped_folders, shipped_texts
from vestry.trade.values import (
    Act,
    Certainty,
    Family,
    LoadClass,
    Presentation,
    Technique,
    VirusClass,
    WasteCategory,
    Who,
    Zone,
)
from vestry.trade.words_file import ItemWords, Language, Named, Spoken, Stop, Texts, Verdict, WordsFile

T = TypeVar("T")


class UnknownWord(KeyError):
    """An id that these words do not know, with the nearest that they do."""

    def __init__(self, sort: str, key: str, known: Iterable[str]) -> None:
        near = get_close_matches(key, list(known), 1)
        hint = f"; did you mean {near[0]}?" if near else ""
        super().__init__(f"no words for {sort} {key}{hint}")

    def __str__(self) -> str:
        return str(self.args[0])


@dataclass(frozen=True)
class Words:
    """The words of one language. `kinds` says of which kind an item is; ids are those of the catalogue."""

    language: Language
    file: WordsFile
    kinds: Mapping[str, str]

    @cached_property
    def digest(self) -> str:
        """SHA-256 over the canonical JSON of these words; apart from the digest of the facts."""
        return hashlib.sha256(rfc8785.dumps(self.file.model_dump(mode="json", by_alias=True))).hexdigest()

    # ---- what is worn ----

    def item(self, item_id: str) -> str:
        """The item's name as in a list: "Outer gloves, long cuff"."""
        return self._item(item_id).name

    def item_short(self, item_id: str) -> str:
        """The item's name as on a step: "Outer gloves"."""
        return self._item(item_id).short

    def item_it(self, item_id: str) -> str:
        """The item in running text: "the outer gloves"."""
        words = self._item(item_id)
        return words.it or f"the {words.noun}"

    def aliases(self, item_id: str) -> tuple[str, ...]:
        """What others call the item."""
        return self._item(item_id).aliases

    def kind(self, kind: str) -> str:
        """A kind of item: "Gloves"."""
        return _get(self.file.kind, "kind of item", kind).name

    def face(self, item_id: str, face_id: str) -> str:
        """A face of an item: "front of the gown"."""
        return self._for_item(self.file.face, "face", item_id, face_id)

    def latent(self, owner: str, fault: str) -> str:
        """A hidden fault of an item or a helper."""
        if owner in self.file.helper:
            return _get(self.file.latent, "fault", f"{owner}.{fault}")
        return self._for_item(self.file.latent, "fault", owner, fault)

    def surface(self, surface_id: str) -> str:
        """Any surface: ITEM.FACE, `body.SITE`, `place.THING`, `assistant.FACE`, `observer.FACE`, `air.ZONE`."""
        if "/" in surface_id:
            return self._of_exit(surface_id, self.surface)
        owner, _, face = surface_id.partition(".")
        match owner:
            case "body":
                return _get(self.file.body, "body site", face)
            case "place":
                return _get(self.file.place, "thing of the place", face)
            case "air":
                return _get(self.file.air, "air", face)
            case _ if owner in self.file.helper:
                return _get(self.file.helper[owner], f"face of {owner}", face)
            case _:
                return self.face(owner, face)

    # ---- what is done ----

    def act(self, act: str) -> str:
        """An act: "glove disinfection"."""
        return _get(self.file.act, "act", act)

    def technique(self, act: str, kind: str, technique_id: str, item_id: str | None = None) -> Spoken:
        """What is said and watched for a technique. `kind`: of the item, `gown+gloves` for what comes off together.

        Name the item where there is one: "Take off the inner gloves" rather than "the gloves".
        """
        key = self._key(self.file.technique, act, kind, technique_id)
        return self._filled(_get(self.file.technique, "technique", key), kind, item_id)

    def technique_say(self, act: str, kind: str, technique_id: str, item_id: str | None = None) -> str:
        """What is read aloud: "Lean forward. Lift the shield off by its rear strap."."""
        return self.technique(act, kind, technique_id, item_id).say

    def technique_watch(self, act: str, kind: str, technique_id: str, item_id: str | None = None) -> str:
        """The one thing to watch: "The visor swings clear of chin and neck."."""
        return self.technique(act, kind, technique_id, item_id).watch

    def technique_short(self, act: str, kind: str, technique_id: str, item_id: str | None = None) -> str:
        """The short form: "Shield off"."""
        return self.technique(act, kind, technique_id, item_id).short

    def don(self, item_id: str) -> Spoken:
        """How an item is put on: the item's own words, else those of its kind."""
        key = item_id if item_id in self.file.don else self._kind(item_id)
        return self._filled(_get(self.file.don, "putting on", key), self._kind(item_id), item_id)

    def slip(self, technique_id: str, slip_id: str, kind: str) -> str:
        """What goes wrong: "the visor swings onto the neck"."""
        return self._event_word(self.file.slip, "slip", technique_id, slip_id, kind)

    def residue(self, technique_id: str, residue_id: str, kind: str) -> str:
        """What measurement finds even when the technique is right."""
        return self._event_word(self.file.residue, "residue", technique_id, residue_id, kind)

    def event(self, event_id: str) -> str:
        """An event of the contact model by its id: ACT:WHAT:TECHNIQUE:SLIP@STEP or latent:OWNER:FAULT."""
        if "/" in event_id.partition("@")[0]:
            return self._of_exit(event_id, self.event)
        parts = event_id.partition("@")[0].split(":")
        if len(parts) == 3 and parts[0] == "latent":
            return self.latent(parts[1], parts[2])
        if len(parts) != 4:
            raise UnknownWord("event", event_id, ())
        act, what, technique, name = parts
        for general in (f"{name}.{act}", name):
            if general in self.file.term.get("event", {}):
                return self.term("event", general)
        kind = "+".join(self.kinds.get(one, one) for one in what.split("+"))
        key = self._key(self.file.residue, act, kind, technique)
        if name in self.file.residue.get(key, {}):
            return self.residue(technique, name, kind)
        return self.slip(technique, name, kind)

    def spoken(self, name: str) -> Spoken:
        """What is read the same whatever is worn: disinfect-gloves, hand-hygiene, change-gloves, wipe, sit, stop..."""
        return _get(self.file.spoken, "spoken act", name)

    def confirm(self, topic: str) -> Spoken:
        """What is confirmed: area-confirmed, person-checked, last-look and so on."""
        return _get(self.file.confirm, "topic to confirm", topic)

    def inspect(self, topic: str) -> Spoken:
        """What is looked at: gear, outer-gloves, skin-and-clothing and so on."""
        return _get(self.file.inspect, "topic to inspect", topic)

    def turnaround(self, key: str) -> Spoken:
        """What is done to the lane between two exits."""
        return _get(self.file.turnaround, "turnaround", key)

    def stop(self, point: str) -> Stop:
        """A spoken stop: before-the-door, before-first-removal, before-face-protection, before-leaving."""
        return _get(self.file.stop, "stop point", point)

    # ---- places ----

    def zone(self, zone: str) -> str:
        """A place that one moves to: "anteroom"."""
        return _get(self.file.zone, "place to go", zone).name

    def move(self, zone: str) -> Spoken:
        """How going to a place is read aloud."""
        words = _get(self.file.zone, "place to go", zone)
        return Spoken(say=words.say, watch=words.watch, short=words.name[:1].upper() + words.name[1:])

    # ---- what is said of a case, a plan and a verdict ----

    @property
    def cautions(self) -> tuple[str, ...]:
        """What is said wherever a decision is shown."""
        return self.file.cautions

    def endpoint(self, endpoint: str) -> str:
        """An endpoint class: "eyes, nose or mouth"."""
        return _get(self.file.endpoint, "endpoint class", endpoint)

    def verdict(self, verdict: str) -> Verdict:
        """A verdict: short, and in a sentence."""
        return _get(self.file.verdict, "verdict", verdict)

    def convention(self, convention: str) -> Named:
        """A convention and what it says."""
        return _get(self.file.convention, "convention", convention)

    def rule(self, rule: str) -> Named:
        """A published rule and what it says."""
        return _get(self.file.rule, "rule", rule)

    def why(self, reason: str) -> str:
        """Why an item is worn: a requirement of the case, or a choice of the unit."""
        if reason in self.file.requirement:
            return self.file.requirement[reason].says
        return self.term("why", reason)

    def hazard(self, hazard: str) -> str:
        """A hazard's name."""
        return _get(self.file.hazard, "hazard", hazard).name

    def hazard_aliases(self, hazard: str) -> tuple[str, ...]:
        """What others call the hazard."""
        return _get(self.file.hazard, "hazard", hazard).aliases

    def agent(self, agent: str) -> str:
        """A hygiene agent: "alcohol-based rub"."""
        return _get(self.file.agent, "hygiene agent", agent)

    def waste(self, stream: str) -> str:
        """A waste stream."""
        return _get(self.file.waste, "waste stream", stream)

    def jurisdiction(self, jurisdiction: str) -> str:
        """Whose rules hold: "United Kingdom"."""
        return _get(self.file.jurisdiction, "jurisdiction", jurisdiction)

    def term(self, group: str, name: str) -> str:
        """A small word of a group: who, presentation, load, route, family, certainty, sort, verb, phase, container."""
        return _get(_get(self.file.term, "group of terms", group), group, name)

    def finding(self, key: str, **said: object) -> str:
        """A sentence about a finding, with what is put into it: `finding("compare.weaker", side="A", ...)`."""
        text = _get(self.file.finding, "finding", key)
        return re.sub(r"\{(\w+)\}", lambda found: str(said[found[1]]), text)

    # ---- completeness ----

    def missing(self, catalogue: Catalogue) -> list[str]:
        """Everything that this catalogue holds and these words lack, as `table id`."""
        return sorted(set(_needed(catalogue)) - set(self._present(catalogue)))

    def unused(self, catalogue: Catalogue) -> list[str]:
        """Words for something that this catalogue does not hold: a misspelt id, or what is left of one."""
        return sorted(set(self._present(catalogue)) - set(_needed(catalogue)))

    def _present(self, catalogue: Catalogue) -> Iterable[str]:
        words = self.file
        for table in ("item", "technique", *_BY_ID):
            yield from (f"{table} {key}" for key in getattr(words, table))
        yield from (f"kind {key}" for key in words.kind if key not in ("any", "place"))
        for table in ("slip", "residue"):
            yield from (f"{table} {key} {name}" for key, names in getattr(words, table).items() for name in names)
        yield from (f"helper {key}.{name}" for key, names in words.helper.items() for name in names)
        for group in (*_TERMS, "device"):
            yield from (f"term {group}.{name}" for name in words.term.get(group, {}))
        for item in catalogue.items.values():
            yield from (f"don {item.id}" for key in (item.id, item.kind) if key in words.don)
            for table, names in (("face", item.faces), ("latent", item.latent)):
                known = getattr(words, table)
                for one in names:
                    if f"{item.id}.{one.id}" in known or f"{item.kind}.{one.id}" in known:
                        yield f"{table} {item.id}.{one.id}"
        for helper in catalogue.helpers.values():
            known = (f"{helper.id}.{one.id}" for one in helper.latent)
            yield from (f"latent {key}" for key in known if key in words.latent)

    # ---- within ----

    def _of_exit(self, name: str, say: Callable[[str], str]) -> str:
        """What belongs to one of several exits through a lane, `2/gown.front`: "front of the gown (exit 2)"."""
        number, _, own = name.partition("/")
        return f"{say(own)} ({self.term('lane', 'exit')} {number})"

    def _item(self, item_id: str) -> ItemWords:
        return _get(self.file.item, "item", item_id)

    def _kind(self, item_id: str) -> str:
        return _get(self.kinds, "item", item_id)

    def _for_item(self, table: Texts, sort: str, item_id: str, name: str) -> str:
        words, own = self._item(item_id), f"{item_id}.{name}"
        text = table.get(own) or _get(table, sort, f"{self._kind(item_id)}.{name}")
        return text.replace("{noun}", words.noun)

    def _filled(self, spoken: Spoken, kind: str, item_id: str | None) -> Spoken:
        if item_id is not None:
            it, name = self.item_it(item_id), self.item_short(item_id)
        else:
            words = _get(self.file.kind, "kind of item", kind if kind in self.file.kind else "any")
            it, name = words.it, words.name
        values = {"it": it, "It": it[:1].upper() + it[1:], "name": name}

        def fill(text: str) -> str:
            return re.sub(r"\{(\w+)\}", lambda found: values.get(found[1], found[0]), text)

        return Spoken(say=fill(spoken.say), watch=fill(spoken.watch), short=fill(spoken.short))

    def _key(self, table: Mapping[str, Any], act: str, kind: str, technique_id: str) -> str:
        """The key for this kind, for what comes off together with it, or for any kind; else the exact one."""
        together = set(kind.split("+"))
        for key in table:
            one, kinds, name = key.split(".", 2)
            if one == act and name == technique_id and together <= set(kinds.split("+")):
                return key
        for group in ("any", "place"):
            if f"{act}.{group}.{technique_id}" in table:
                return f"{act}.{group}.{technique_id}"
        return f"{act}.{kind}.{technique_id}"

    def _event_word(self, table: dict[str, Texts], sort: str, technique_id: str, name: str, kind: str) -> str:
        for act in get_args(Act):
            key = self._key(table, act, kind, technique_id)
            if key in table:
                return _get(table[key], f"{sort} of {key}", name)
        raise UnknownWord(sort, f"{kind}.{technique_id}.{name}", ())


_TERMS: dict[str, tuple[str, ...]] = {
    "who": get_args(Who),
    "presentation": get_args(Presentation),
    "load": get_args(LoadClass),
    "virus-class": get_args(VirusClass),
    "certainty": get_args(Certainty),
    "family": get_args(Family),
    "waste-category": get_args(WasteCategory),
}


_BY_ID: dict[str, Callable[[Catalogue], Iterable[str]]] = {
    "body": lambda catalogue: (*catalogue.body, "airways"),
    "place": lambda catalogue: catalogue.places,
    "convention": lambda catalogue: catalogue.conventions,
    "agent": lambda catalogue: catalogue.agents,
    "hazard": lambda catalogue: catalogue.hazards,
    "waste": lambda catalogue: catalogue.waste_streams,
    "jurisdiction": lambda catalogue: catalogue.jurisdictions,
    "requirement": lambda catalogue: catalogue.requirements,
    "rule": lambda catalogue: catalogue.rules,
    "turnaround": lambda catalogue: catalogue.turnarounds,
    "zone": lambda _: get_args(Zone),
    "act": lambda _: get_args(Act),
}


def _get(table: Mapping[str, T], sort: str, key: str) -> T:
    if key not in table:
        raise UnknownWord(sort, key, table)
    return table[key]


def technique_keys(technique: Technique) -> tuple[str, ...]:
    """The keys under which a technique's words stand, one for each kind of item it is for."""
    kinds = technique.for_ or ("+".join(technique.together),)
    return tuple(f"{technique.act}.{kind}.{technique.id}" for kind in kinds)


def _needed(catalogue: Catalogue) -> Iterable[str]:
    """Everything in a catalogue that is ever shown, as `table id`."""
    for item in catalogue.items.values():
        yield from (f"item {item.id}", f"kind {item.kind}", f"don {item.id}")
        yield from (f"face {item.id}.{face.id}" for face in item.faces)
        yield from (f"latent {item.id}.{fault.id}" for fault in item.latent)
    for technique in catalogue.techniques:
        for key in technique_keys(technique):
            yield f"technique {key}"
            for touch in technique.touches:
                if touch.slip is not None:
                    yield f"slip {key} {touch.slip}"
                if touch.residue is not None:
                    yield f"residue {key} {touch.residue}"
    for helper in catalogue.helpers.values():
        yield from (f"helper {helper.id}.{face}" for face in helper.faces)
        yield from (f"latent {helper.id}.{fault.id}" for fault in helper.latent)
    for table, ids_in in _BY_ID.items():
        yield from (f"{table} {key}" for key in ids_in(catalogue))
    yield from (f"term device.{one.device}" for one in catalogue.protection_factors.values())
    for group, names in _TERMS.items():
        yield from (f"term {group}.{name}" for name in names)


def read_words(texts: Mapping[str, str], kinds: Mapping[str, str]) -> Words:
    """The words in these files (name to text). BadFacts with every problem of every file."""
    problems: list[Problem] = []
    merged: dict[str, Any] = {"format_version": 1}
    for name, text in sorted(texts.items()):
        try:
            document, lines = reading.parse(text, name)
            file = reading.validate(WordsFile, document, name, lines)
        except BadFacts as bad:
            problems.extend(bad.problems)
            continue
        for field in file.model_fields_set - {"format_version"}:
            value, alias = getattr(file, field), field.replace("_", "-")
            if not isinstance(value, dict):
                if field in merged:
                    line = reading.line_of(lines, (alias,))
                    problems.append(Problem(name, line, alias, "stands in another file too"))
                merged[field] = value
                continue
            table = merged.setdefault(field, {})
            for key, one in value.items():
                if key in table:
                    line = reading.line_of(lines, (alias, key))
                    problems.append(Problem(name, line, f"{alias}.{key}", "stands in another file too"))
                table[key] = one
    if not problems and merged.get("language") is None:
        problems.append(Problem("language.toml", 0, "language", "say which language these words are in"))
    if problems:
        raise BadFacts(problems)
    file = WordsFile(**merged)
    assert file.language is not None
    return Words(file.language, file, dict(kinds))


def languages() -> tuple[str, ...]:
    """The languages that Vestry ships words for."""
    return shipped_folders("words")


@lru_cache
def load_words(language: str) -> Words:
    """The shipped words of a language, read once."""
    if language not in languages():
        raise UnknownWord("language", language, languages())
    texts = shipped_texts(f"words/{language}")
    return read_words(texts, {item.id: item.kind for item in load_catalogue().items.values()})

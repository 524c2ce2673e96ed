"""What a file of words looks like: the tables under data/words/LANGUAGE/, typed. `words.py` gives them out.

Texts may hold {it}, {It}, {name} (the item on the step) and, in faces and faults, {noun} (one of it).
"""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field

from vestry.trade.values import Value

PLACEHOLDERS = frozenset({"it", "It", "name", "noun"})
# What a sentence about a finding may hold: whole phrases and numbers, put in where it is said.
FINDING_PLACEHOLDERS = frozenset(
    {"side", "other", "endpoint", "count", "against", "errors", "step", "steps", "from", "to", "verb", "surface"}
    | {"route", "chain", "minutes", "least", "most", "item", "items", "rule", "order", "says"}
    | {"before", "after", "hazard", "of", "agent", "on", "site", "source", "title", "left", "why", "who", "place"}
    | {"reason", "rules", "presentation", "tasks", "days", "code"}
    | {"hazard", "presentation", "on", "hours", "asked", "low", "middle", "share", "size", "why", "have", "need"}
    | {"until", "then", "days"}
    | {"share", "low", "high", "hours", "size", "draws", "target", "worn", "lead"}
)


def _readable(text: str, known: frozenset[str] = PLACEHOLDERS) -> str:
    if not text.strip():
        raise ValueError("say something, or leave the key out")
    for found in re.findall(r"\{([^}]*)\}", text):
        if found not in known:
            raise ValueError(f"{{{found}}} stands for nothing; there are {', '.join(sorted(known))}")
    return text


def _readable_finding(text: str) -> str:
    return _readable(text, FINDING_PLACEHOLDERS)


def _table() -> Any:
    return Field(default_factory=dict)


Text = Annotated[str, AfterValidator(_readable)]
Texts = dict[str, Text]
Finding = Annotated[str, AfterValidator(_readable_finding)]
TechniqueKey = Annotated[str, Field(pattern=r"^[a-z-]+\.[a-z0-9+-]+\.[a-z0-9-]+$")]


class Language(Value):
    """Which language, which way it runs, and who has looked at it. A draft is never shown in a real entry."""

    tag: str
    name: str
    direction: Literal["ltr", "rtl"]
    status: Literal["original", "reviewed", "draft"]


class Spoken(Value):
    """What is read aloud, the one thing to watch, and the short form for lists and wall cards."""

    say: Text
    watch: Text
    short: Text


class ItemWords(Value):
    """An item's names: in a list, on a step, one of it and all of it in running text."""

    name: Text
    short: Text
    noun: Text
    it: Text | None = None
    aliases: tuple[Text, ...] = ()


class KindWords(Value):
    """How a kind of item is named when no item is."""

    name: Text
    it: Text


class Place(Value):
    """A place that a step leads to: its name, and how going there is read aloud."""

    name: Text
    say: Text
    watch: Text


class Verdict(Value):
    """A verdict in a few words, and in a sentence that claims no more than was checked."""

    short: Text
    says: Text


class Named(Value):
    """A name and what it says."""

    name: Text
    says: Text


class Stop(Value):
    """A spoken stop: its name and what is said there."""

    name: Text
    say: Text


class HazardWords(Value):
    """A hazard's name and what others call it."""

    name: Text
    aliases: tuple[Text, ...] = ()


class WordsFile(Value):
    """Any file of words: a format version and tables by id."""

    format_version: int = Field(ge=1, le=1)
    language: Language | None = None
    item: dict[str, ItemWords] = _table()
    kind: dict[str, KindWords] = _table()
    face: Texts = _table()
    latent: Texts = _table()
    don: dict[str, Spoken] = _table()
    technique: dict[TechniqueKey, Spoken] = _table()
    slip: dict[TechniqueKey, Texts] = _table()
    residue: dict[TechniqueKey, Texts] = _table()
    body: Texts = _table()
    place: Texts = _table()
    helper: dict[str, Texts] = _table()
    air: Texts = _table()
    zone: dict[str, Place] = _table()
    act: Texts = _table()
    endpoint: Texts = _table()
    term: dict[str, Texts] = _table()
    verdict: dict[str, Verdict] = _table()
    convention: dict[str, Named] = _table()
    hazard: dict[str, HazardWords] = _table()
    agent: Texts = _table()
    waste: Texts = _table()
    jurisdiction: Texts = _table()
    requirement: dict[str, Named] = _table()
    rule: dict[str, Named] = _table()
    cautions: tuple[Text, ...] = ()
    stop: dict[str, Stop] = _table()
    confirm: dict[str, Spoken] = _table()
    inspect: dict[str, Spoken] = _table()
    turnaround: dict[str, Spoken] = _table()
    spoken: dict[str, Spoken] = _table()
    finding: dict[str, Finding] = _table()

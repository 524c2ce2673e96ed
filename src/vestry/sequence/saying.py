"""What is read aloud: a step said in a language. The plan holds no words; they are found here, by id."""

from __future__ import annotations

from dataclasses import dataclass

from vestry.sequence.plan import PlanStep
from vestry.trade import Catalogue, Step
from vestry.trade.words import Words


@dataclass(frozen=True)
class Said:
    """A step in words: what is read aloud, the one thing to watch, and a short name."""

    say: str
    watch: str
    short: str


def say(step: PlanStep, words: Words, catalogue: Catalogue) -> Said:
    """A step of a plan in words."""
    return _said(step.act, step.items, step.technique, step.topic, step.to, words, catalogue)


def say_step(step: Step, technique: str | None, words: Words, catalogue: Catalogue) -> Said:
    """A step of an order or of a recovery in words; `technique` is the one it resolves to."""
    return _said(step.act, step.handled, technique or step.technique, None, step.to, words, catalogue)


def _said(
    act: str,
    items: tuple[str, ...],
    technique: str | None,
    topic: str | None,
    to: str | None,
    words: Words,
    catalogue: Catalogue,
) -> Said:
    if act == "confirm":
        spoken = words.confirm(topic) if topic else words.spoken("inspect")
    elif act == "inspect":
        spoken = words.inspect(topic) if topic else words.spoken("inspect")
    elif act == "move" and to is not None:
        spoken = words.move(to)
    elif act == "don":
        spoken = words.don(items[0])
    elif act == "doff" and technique is not None:
        spoken = words.technique("doff", _kind_key(items, technique, catalogue), technique, items[0])
    elif act in ("wipe", "release") and items and technique is not None:
        spoken = words.technique(act, _kind_key(items, technique, catalogue), technique, items[0])
    elif act in ("disinfect-gloves", "hand-hygiene") and technique is not None:
        spoken = words.technique(act, "any", technique)
    else:
        spoken = words.spoken(act)
    return Said(spoken.say, spoken.watch, spoken.short)


def _kind_key(items: tuple[str, ...], technique: str, catalogue: Catalogue) -> str:
    found = next(t for t in catalogue.techniques if t.id == technique and _for(t.for_, t.together, items, catalogue))
    if found.together:
        return "+".join(found.together)
    return "any" if "any" in found.for_ else catalogue.items[items[0]].kind


def _for(kinds: tuple[str, ...], together: tuple[str, ...], items: tuple[str, ...], catalogue: Catalogue) -> bool:
    mine = sorted(catalogue.items[item].kind for item in items)
    return sorted(together) == mine or "any" in kinds or (len(mine) == 1 and mine[0] in kinds)

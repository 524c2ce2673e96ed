"""Facts changed one record at a time, and what then becomes of a plan: the slow, plain answer to "who used it"."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from vestry.papers.labels import ENGLISH
from vestry.papers.sheet import sources_used
from vestry.procedure import scenes_of
from vestry.sequence import NoPlan, Plan, assure, plan_case
from vestry.trade import BadFacts, Catalogue
from vestry.trade.catalogue import KINDS, key_of
from vestry.trade.overlay import MODEL_NEEDS, NEEDED
from vestry.trade.values import Touch, Value
from vestry.trade.words import load_words

Change = Callable[[Any], dict[str, Any]]
EYES = Touch(touch="contact hand body.eyes", from_="judgement")
KIND_NAMES = ("gown", "gloves", "respirator", "shield", "goggles", "coverall", "papr-hood", "mask")


def _facts(field: str, *values: Any) -> list[Change]:
    def change(value: Any) -> Change:
        return lambda record: {field: getattr(record, field).model_copy(update={"value": value})}

    return [change(value) for value in values]


MENU: Mapping[str, list[Change]] = {
    "hazard": [
        *_facts("routes", ("airborne", "contact", "droplet"), ("contact",)),
        *_facts("waste_stream", "ordinary-clinical"),
        *_facts("virus_class", "non-enveloped"),
        lambda record: {"family": "rash"},
    ],
    "item": [
        lambda record: {"faces": (), "latent": (), "drags": ()},
        lambda record: {"traps": () if record.traps else KIND_NAMES},
        lambda record: {"reusable": not record.reusable},
        lambda record: {"filters_air": not record.filters_air, "barrier_class": None},
        lambda record: {"faces": tuple(face.model_copy(update={"cover": "narrow"}) for face in record.faces)},
        lambda record: {"latent": ()},
    ],
    "technique": [
        lambda record: {"touches": ()},
        lambda record: {"touches": (*record.touches, EYES)},
        lambda record: {"pose": "arms-raised" if record.pose != "arms-raised" else "leaning"},
        lambda record: {"source": "who-ebola", "certainty": "inferred"},
        lambda record: {"taught": not record.taught},
        lambda record: {"hands": "bare" if record.hands != "bare" else "gloved"},
    ],
    "body": [lambda record: {"endpoint": "skin" if record.endpoint == "mucosa" else "mucosa"}],
    "place": [lambda record: {"endpoint": None if record.endpoint else "place-clean"}],
    "helper": [lambda record: {"latent": ()}, lambda record: {"faces": ()}],
    "zone": [
        lambda record: {"dry": "high", "wet": "high"},
        lambda record: {"dry": "none", "wet": "none"},
        lambda record: {"counts_clean": None if record.counts_clean else "straps-clean", "without": "high"},
    ],
    "convention": [lambda record: {"source": "who-ebola", "certainty": "inferred"}],
    "agent": [
        lambda record: {"log10_gloves": {}, "log10_hands": {}, "log10_surfaces": {}},
        lambda record: {"on": ()},
        lambda record: {"touches_first": "place.seat"},
    ],
    "waste-stream": [lambda record: {"source": "who-ebola", "certainty": "inferred"}],
    "rule": [
        lambda record: {"before": record.after, "after": record.before},
        lambda record: {"for_families": ("rash",)},
        lambda record: {"for_families": (), "default_on": True},
        lambda record: {"kind": "order", "before": ("respirator",), "after": ("gown",)},
    ],
    "jurisdiction": [lambda record: {"of": "transport"}],
    "waste-rule": [
        lambda record: {"stream": record.stream and record.stream.model_copy(update={"value": "ordinary-clinical"})},
        lambda record: {"category": record.category.model_copy(update={"value": "second"})},
        lambda record: {"hazards": ("measles",)},
    ],
    "protection-factor": [lambda record: {"source": "who-ebola"}],
    "source": [lambda record: {"title": "another title"}],
    "requirement": [
        lambda record: {"need": "filters-air"},
        lambda record: {"need": "impermeable"},
        lambda record: {"need": "two-layers"},
        lambda record: {"families": ("rash",)},
        lambda record: {"families": (), "routes": (), "presentations": (), "tasks": ()},
    ],
    "donning": [lambda record: {"before": record.after, "after": record.before}],
    "duration": [lambda record: {"seconds": record.seconds + 100}],
    "colleague": [
        lambda record: {"loads": dict.fromkeys(("hands", "cuffs", "front", "sleeves", "face", "skirt"), "high")},
        lambda record: {"loads": {}},
        lambda record: {"wears": record.wears[:-1]},
        lambda record: {"for_families": (), "wears_airborne": ()},
    ],
    "turnaround": [lambda record: {"touches": ()}],
}
"""For each kind of record what may be changed in it, the telling changes first."""


def with_record(catalogue: Catalogue, kind: str, key: str, record: Value | None) -> Catalogue:
    """The catalogue with another record at this place; None: without it."""
    return with_records(catalogue, {(kind, key): record})


def with_records(catalogue: Catalogue, changed: Mapping[tuple[str, str], Value | None]) -> Catalogue:
    """The same with many."""
    changes: dict[str, Any] = {}
    for kind, name in KINDS.items():
        held = getattr(catalogue, name)
        rows = held.values() if isinstance(held, Mapping) else held
        new = [changed.get((kind, key_of(record)), record) for record in rows]
        kept = [record for record in new if record is not None]
        changes[name] = {record.id: record for record in kept} if isinstance(held, Mapping) else tuple(kept)
    return replace(catalogue, **changes)


def changes_of(kind: str, record: Value) -> Iterator[Value | None]:
    """The record changed in every way of the menu, then out of force."""
    for change in MENU[kind]:
        yield record.model_copy(update=change(record))
    if can_go(kind, record):
        yield None


def can_go(kind: str, record: Value) -> bool:
    """Whether an overlay may retire it."""
    return kind not in MODEL_NEEDS and (kind, key_of(record)) not in NEEDED and getattr(record, "kind", "") != "people"


def outcome(plan: Plan, catalogue: Catalogue) -> list[object]:
    """What the plan comes to: planned again, assured again, its scenes, what its sheet cites. Refusals are outcomes."""
    return [
        _tried(lambda: plan_case(plan.case, plan.policy, catalogue).as_json()),
        _tried(lambda: assure(plan, catalogue).model_copy(update={"facts": ""}).as_json()),
        _tried(lambda: [scene.model_dump() for scene in scenes_of(plan, catalogue)]),
        _tried(lambda: sources_used(plan, assure(plan, catalogue, 1), load_words("en"), catalogue, ENGLISH)),
    ]


def differs(plan: Plan, catalogue: Catalogue, base: list[object]) -> bool:
    """Whether the plan comes to something else; the cheap questions first."""
    words = load_words("en")
    if _tried(lambda: sources_used(plan, assure(plan, catalogue, 1), words, catalogue, ENGLISH)) != base[3]:
        return True
    if _tried(lambda: assure(plan, catalogue).model_copy(update={"facts": ""}).as_json()) != base[1]:
        return True
    if _tried(lambda: plan_case(plan.case, plan.policy, catalogue).as_json()) != base[0]:
        return True
    return _tried(lambda: [scene.model_dump() for scene in scenes_of(plan, catalogue)]) != base[2]


def _tried(work: Callable[[], object]) -> object:
    try:
        return work()
    except (NoPlan, BadFacts, KeyError, ValueError, StopIteration) as no:
        return type(no).__name__

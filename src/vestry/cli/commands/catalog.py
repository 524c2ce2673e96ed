"""What the catalogue holds: items with aliases in trade words, faces, techniques, hazards, hygiene agents, rules.

With --json an order written by someone else can be mapped to it. Exit status: 0; 2 wrong use.
"""

from __future__ import annotations

import argparse
from difflib import get_close_matches
from typing import Any

from vestry.cli import files, output
from vestry.trade import BadFacts, Catalogue, Problem, Technique
from vestry.trade.jurisdictions import waste_rule
from vestry.trade.shadows import Shadow
from vestry.trade.values import Fact
from vestry.trade.words import Words, load_words


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("--kind", help="only items of this kind")
    files.facts_argument(parser)
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Print the catalogue."""
    laid, words = files.facts_of(options), load_words("en")
    catalogue = laid.catalogue
    document = describe(catalogue, words, laid.shadows)
    if options.kind is not None:
        kinds = sorted({item["kind"] for item in document["items"]})
        if options.kind not in kinds:
            near = get_close_matches(options.kind, kinds, 1)
            hint = f"; did you mean {near[0]}?" if near else f"; there are {', '.join(kinds)}"
            raise BadFacts([Problem("catalog", 0, "kind", f"no kind of item is called {options.kind}{hint}")])
        document["items"] = [item for item in document["items"] if item["kind"] == options.kind]
    if options.json:
        output.print_json(document)
        return 0
    print(
        output.table(
            [(item["id"], item["kind"], item["name"], ", ".join(item["aliases"])[:70]) for item in document["items"]],
            ("item", "kind", "name", "also called"),
        )
    )
    print()
    print(
        output.table(
            [
                (
                    one["act"],
                    "+".join(one["for"]),
                    one["id"],
                    "taught" if one["taught"] else "by name only",
                    one["hands"],
                    one["who"] or "any",
                )
                for one in document["techniques"]
            ],
            ("act", "for", "technique", "", "hands", "who"),
        )
    )
    for title in ("hazards", "jurisdictions", "agents", "zones", "conventions"):
        print(f"\n{title.capitalize()}: " + ", ".join(one["id"] for one in document[title]))
    for one in laid.shadows:
        print(f"\nShadowed: {one.kind} {one.id}, {one.change.replace('-', ' ')}: {one.because.reason}")
    print(f"\nFacts digest {catalogue.digest}")
    return 0


def describe(catalogue: Catalogue, words: Words, shadows: tuple[Shadow, ...] = ()) -> dict[str, Any]:
    """The catalogue as plain JSON; docs/reference/catalog.md."""
    return {
        "format-version": 1,
        "facts": catalogue.digest,
        "acts": [{"id": act, "name": words.act(act)} for act in words.file.act],
        "items": [
            {
                "id": item.id,
                "kind": item.kind,
                "name": words.item(item.id),
                "aliases": list(words.aliases(item.id)),
                "layer": item.layer,
                "length": item.length,
                "barrier": item.barrier,
                "barrier-class": item.barrier_class,
                "reusable": item.reusable,
                "filters-air": item.filters_air,
                "traps": list(item.traps),
                "faces": [
                    {
                        "id": face.id,
                        "at": list(face.at),
                        "cover": face.cover,
                        "zone": face.zone,
                        "inside": list(face.inside),
                    }
                    for face in item.faces
                ],
                "source": item.source,
                "certainty": item.certainty,
            }
            for item in catalogue.items.values()
        ],
        "techniques": [_technique(technique) for technique in catalogue.techniques],
        "hazards": [
            {"id": name, "name": words.hazard(name), "aliases": list(words.hazard_aliases(name))}
            for name in catalogue.hazards
        ],
        "agents": [
            {"id": name, "name": words.agent(name), "on": list(agent.on)} for name, agent in catalogue.agents.items()
        ],
        "body": list(catalogue.body),
        "places": list(catalogue.places),
        "zones": [{"id": zone, "name": words.zone(zone)} for zone in words.file.zone],
        "conventions": [{"id": name, "says": words.convention(name).says} for name in catalogue.conventions],
        "shadowed": [shadow.as_json() for shadow in shadows],
        "jurisdictions": [_jurisdiction(name, catalogue, words) for name in catalogue.jurisdictions],
        "rules": [{"id": name, "kind": rule.kind, "on": rule.default_on} for name, rule in catalogue.rules.items()],
    }


def _jurisdiction(name: str, catalogue: Catalogue, words: Words) -> dict[str, Any]:
    """What holds in one country; only its own figures stand in it."""
    rules = {hazard: waste_rule(catalogue, hazard, name) for hazard in catalogue.hazards}
    return {
        "id": name,
        "name": words.jurisdiction(name),
        "of": catalogue.jurisdictions[name].of,
        "waste": [
            {"hazard": hazard, "rule": rule.id, "category": _fact(rule.category), "stream": _fact(rule.stream)}
            for hazard, rule in rules.items()
            if rule is not None
        ],
        "protection-factors": [
            one.model_dump(mode="json", by_alias=True, exclude={"jurisdiction"})
            for one in catalogue.protection_factors.values()
            if one.jurisdiction == name
        ],
    }


def _fact(fact: Fact[Any] | None) -> dict[str, Any] | None:
    return None if fact is None else fact.model_dump(mode="json", by_alias=True, exclude_none=True)


def _technique(technique: Technique) -> dict[str, Any]:
    return {
        "id": technique.id,
        "act": technique.act,
        "for": list(technique.for_ or technique.together),
        "together": bool(technique.together),
        "taught": technique.taught,
        "hands": technique.hands,
        "who": technique.who,
        "source": technique.source,
        "certainty": technique.certainty,
        "touches": [touch.model_dump(by_alias=True, exclude_none=True) for touch in technique.touches],
    }

"""Checks across files: every id that a record names exists, and every touch can be read."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches
from typing import TYPE_CHECKING, get_args

from vestry.trade import reading
from vestry.trade.errors import Problem
from vestry.trade.touches import parse_touch
from vestry.trade.values import Family

if TYPE_CHECKING:
    from vestry.trade.catalogue import Catalogue, FactsFile
    from vestry.trade.values import Colleague, Duration, Fact, Turnaround

HAND_WORDS = frozenset({"hand", "hand-l", "hand-r", "agent"})
GROUP_KINDS = frozenset({"any", "place"})
NO_SOURCE_NEEDED = frozenset({"judgement", "common-practice", "hospital", "invented"})


def crosscheck(catalogue: Catalogue, parsed: list[tuple[str, FactsFile, dict[reading.Path, int]]]) -> Iterator[Problem]:
    """Every dangling reference in these files."""
    kinds = {item.kind for item in catalogue.items.values()}
    for name, facts, lines in parsed:
        check = _Check(catalogue, kinds, name, lines)
        for index, item in enumerate(facts.item):
            yield from check.item(index, item.id)
        for index, technique in enumerate(facts.technique):
            yield from check.technique(index, technique)
        for index, duration in enumerate(facts.duration):
            yield from check.duration(index, duration)
        for index, colleague in enumerate(facts.colleague):
            yield from check.colleague(index, colleague)
        for index, turnaround in enumerate(facts.turnaround):
            yield from check.turnaround(index, turnaround)
        yield from check.sources(facts)
        yield from check.names(facts)
    yield from _acts_without_duration(catalogue)


def _acts_without_duration(catalogue: Catalogue) -> Iterator[Problem]:
    """Every act that is done needs a record for whatever it is done on."""
    general = {one.act for one in catalogue.durations.values() if not one.for_ and not one.agents}
    for act in sorted({technique.act for technique in catalogue.techniques} - general):
        yield Problem("durations.toml", 0, "duration", f"say how long {act} takes on whatever it is done on")


class _Check:
    def __init__(self, catalogue: Catalogue, kinds: set[str], name: str, lines: dict[reading.Path, int]) -> None:
        self.catalogue, self.kinds, self.name, self.lines = catalogue, kinds, name, lines

    def problem(self, path: reading.Path, what: str) -> Problem:
        return Problem(self.name, reading.line_of(self.lines, path), ".".join(map(str, path)), what)

    def known(self, path: reading.Path, word: str, known: object, sort: str) -> Iterator[Problem]:
        names = [str(one) for one in known]  # type: ignore[attr-defined]
        if word not in names:
            near = get_close_matches(word, names, 1)
            hint = f"; did you mean {near[0]}?" if near else ""
            yield self.problem(path, f"no {sort} is called {word}{hint}")

    def item(self, index: int, key: str) -> Iterator[Problem]:
        item, at = self.catalogue.items[key], ("item", index)
        sites = self.catalogue.body
        for face in item.faces:
            for site in (*face.at, *face.inside):
                yield from self.known((*at, "faces"), site, sites, "body site")
            yield from self.known((*at, "faces"), face.zone, self.catalogue.zones, "exposure zone")
        lies_at = {site for face in item.faces for site in face.at}
        for face in item.faces:
            for site in face.inside:
                if site not in lies_at:
                    yield self.problem((*at, "faces"), f"{face.id} is inside at {site}, where no face of {key} lies")
        for site in item.clothes:
            yield from self.known((*at, "clothes"), site, sites, "body site")
        for kind in item.traps:
            yield from self.known((*at, "traps"), kind, self.kinds, "kind of item")
        faces = {face.id for face in item.faces}
        for latent in item.latent:
            yield from self.known((*at, "latent"), latent.from_, faces, "face")
        if item.tied_to:
            yield from self.known((*at, "tied-to"), item.tied_to, self.catalogue.items, "item")

    def technique(self, index: int, technique: object) -> Iterator[Problem]:
        from vestry.trade.values import Technique

        assert isinstance(technique, Technique)
        at = ("technique", index)
        if bool(technique.for_) == bool(technique.together):
            yield self.problem((*at, "for"), "give either for or together")
        for kind in (*technique.for_, *technique.together):
            yield from self.known((*at, "for"), kind, self.kinds | GROUP_KINDS, "kind of item")
        for number, touch in enumerate(technique.touches):
            path = (*at, "touches", number)
            try:
                parsed = parse_touch(touch.touch)
            except ValueError as error:
                yield self.problem(path, str(error))
                continue
            if parsed.verb == "stir" and not (touch.slip or touch.residue):
                yield self.problem(path, "stir happens only with a slip or as residue")
            for ref in filter(None, (parsed.a, parsed.b)):
                yield from self.reference(path, ref, technique)
            if touch.from_ not in NO_SOURCE_NEEDED:
                yield from self.known((*path, "from"), touch.from_, self.catalogue.sources, "source")

    def duration(self, index: int, duration: Duration) -> Iterator[Problem]:
        at = ("duration", index)
        for kind in duration.for_:
            yield from self.known((*at, "for"), kind, self.kinds, "kind of item")
        for agent in duration.agents:
            yield from self.known((*at, "agents"), agent, self.catalogue.agents, "hygiene agent")
        least, most = duration.range
        if not least <= duration.seconds <= most:
            yield self.problem((*at, "range"), f"{duration.seconds} seconds lie outside {least} to {most}")

    def colleague(self, index: int, colleague: Colleague) -> Iterator[Problem]:
        for place in (*colleague.wears, *colleague.wears_airborne):
            for item in place:
                yield from self.known(("colleague", index, "wears"), item, self.catalogue.items, "item")
        for face, zones in colleague.seen_as.items():
            faces = self.catalogue.helpers[colleague.role].faces
            yield from self.known(("colleague", index, "seen-as"), face, faces, "face of a helper")
            for zone in zones:
                yield from self.known(("colleague", index, "seen-as"), zone, self.catalogue.zones, "exposure zone")
        for zone in colleague.loads:
            yield from self.known(("colleague", index, "loads"), zone, self.catalogue.zones, "exposure zone")

    def turnaround(self, index: int, turnaround: Turnaround) -> Iterator[Problem]:
        """Its touches name things of the place and faces of helpers, and nothing that a wearer has on."""
        for number, line in enumerate(turnaround.touches):
            path = ("turnaround", index, "touches", number)
            try:
                parsed = parse_touch(line)
            except ValueError as error:
                yield self.problem(path, str(error))
                continue
            for ref in filter(None, (parsed.a, parsed.b)):
                owner, _, face = ref.partition(".")
                if ref == "agent":
                    continue
                if owner == "place":
                    yield from self.known(path, face, self.catalogue.places, "thing of the place")
                elif owner in self.catalogue.helpers:
                    yield from self.known(path, face, self.catalogue.helpers[owner].faces, "face of a helper")
                else:
                    yield self.problem(path, f"{ref} is neither a thing of the place nor a face of a helper")

    def reference(self, path: reading.Path, ref: str, technique: object) -> Iterator[Problem]:
        if ref in HAND_WORDS:
            return
        for prefix in ("outer@", "under@"):
            if ref.startswith(prefix):
                yield from self.known(path, ref.removeprefix(prefix), self.catalogue.body, "body site")
                return
        head, _, face = ref.partition(".")
        if head == "body":
            yield from self.known(path, face, self.catalogue.body, "body site")
        elif head == "place":
            yield from self.known(path, face, self.catalogue.places, "thing of the place")
        elif head == "helper":
            yield from self.known(path, face, self.catalogue.helpers["assistant"].faces, "face of a helper")
        elif head == "self":
            yield from self.own_face(path, face, technique)
        elif head in self.kinds:
            yield from self.kind_face(path, face, {head})
        else:
            yield self.problem(path, f"{ref} names no surface")

    def own_face(self, path: reading.Path, face: str, technique: object) -> Iterator[Problem]:
        from vestry.trade.values import Technique

        assert isinstance(technique, Technique)
        kinds = set(technique.for_) - GROUP_KINDS
        if face != "*" and kinds:
            yield from self.kind_face(path, face, kinds)

    def kind_face(self, path: reading.Path, face: str, kinds: set[str]) -> Iterator[Problem]:
        faces = {one.id for item in self.catalogue.items.values() if item.kind in kinds for one in item.faces}
        families = {name.removesuffix("-l").removesuffix("-r") for name in faces}
        yield from self.known(path, face, faces | families, f"face of {'/'.join(sorted(kinds))}")

    def sources(self, facts: FactsFile) -> Iterator[Problem]:
        for table in (
            "item",
            "technique",
            "zone",
            "convention",
            "agent",
            "waste_stream",
            "rule",
            "requirement",
            "donning",
            "duration",
            "colleague",
            "turnaround",
            "protection_factor",
        ):
            for index, record in enumerate(getattr(facts, table)):
                yield from self.source((table.replace("_", "-"), index, "source"), record.source, record.certainty)
        for table in ("form", "item", "helper"):
            for index, record in enumerate(getattr(facts, table)):
                for number, fault in enumerate(record.latent):
                    yield from self.source((table, index, "latent", number, "source"), fault.source, fault.certainty)
        for index, rule in enumerate(facts.waste_rule):
            for name in ("category", "stream"):
                if (told := getattr(rule, name)) is not None:
                    yield from self.source(("waste-rule", index, name), told.source, told.certainty)
        for index, hazard in enumerate(facts.hazard):
            for name in (
                "virus_class",
                "routes",
                "monitoring_days",
                "threshold_celsius",
                "waste_stream",
                "disinfection_class",
            ):
                fact = getattr(hazard, name)
                yield from self.source(("hazard", index, name.replace("_", "-")), fact.source, fact.certainty)

    def source(self, path: reading.Path, source: str, certainty: str) -> Iterator[Problem]:
        if certainty not in NO_SOURCE_NEEDED or source not in NO_SOURCE_NEEDED:
            yield from self.known(path, source, self.catalogue.sources, "source")

    # ---- names of other records ----

    def names(self, facts: FactsFile) -> Iterator[Problem]:
        """Every id of another record that hazards, rules, requirements and jurisdictions name."""
        for index, hazard in enumerate(facts.hazard):
            yield from self.told(("hazard", index, "waste-stream"), hazard.waste_stream)
        for index, rule in enumerate(facts.rule):
            for side in ("before", "after"):
                for kind in getattr(rule, side):
                    yield from self.known(("rule", index, side), kind, self.kinds, "kind of item")
            yield from self.families(("rule", index, "for-families"), rule.for_families)
        for index, need in enumerate(facts.requirement):
            yield from self.families(("requirement", index, "families"), need.families)
            for site in need.sites:
                yield from self.known(("requirement", index, "sites"), site, self.catalogue.body, "body site")
            for one in need.jurisdictions:
                yield from self.jurisdiction(("requirement", index, "jurisdictions"), one)
        for index, order in enumerate(facts.donning):
            for side in ("before", "after"):
                for kind in getattr(order, side):
                    yield from self.known(("donning", index, side), kind.partition(":")[0], self.kinds, "kind of item")
        yield from self.by_country(facts)

    def by_country(self, facts: FactsFile) -> Iterator[Problem]:
        for index, rule in enumerate(facts.waste_rule):
            yield from self.jurisdiction(("waste-rule", index, "jurisdiction"), rule.jurisdiction)
            for hazard in rule.hazards:
                yield from self.known(("waste-rule", index, "hazards"), hazard, self.catalogue.hazards, "hazard")
            if rule.stream is not None:
                yield from self.told(("waste-rule", index, "stream"), rule.stream)
        for index, factor in enumerate(facts.protection_factor):
            yield from self.jurisdiction(("protection-factor", index, "jurisdiction"), factor.jurisdiction)
            for kind in factor.kinds:
                yield from self.known(("protection-factor", index, "kinds"), kind, self.kinds, "kind of item")

    def told(self, path: reading.Path, stream: Fact[str]) -> Iterator[Problem]:
        for name in ("value", "default"):
            if (word := getattr(stream, name)) is not None:
                yield from self.known((*path, name), word, self.catalogue.waste_streams, "waste stream")

    def jurisdiction(self, path: reading.Path, word: str) -> Iterator[Problem]:
        yield from self.known(path, word, self.catalogue.jurisdictions, "jurisdiction")

    def families(self, path: reading.Path, words: tuple[str, ...]) -> Iterator[Problem]:
        for word in words:
            yield from self.known(path, word, get_args(Family), "family of hazards")

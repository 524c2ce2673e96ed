"""Checks of evidence files: names that mean nothing, records that could tie, surfaces without a material."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import combinations

from vestry.trade import reading
from vestry.trade.catalogue import Catalogue
from vestry.trade.crosscheck import NO_SOURCE_NEEDED
from vestry.trade.errors import Problem
from vestry.trade.evidence_values import (
    EvidenceFile,
    EvidenceRecord,
    Measurement,
    Nature,
    SurfaceRule,
    covers,
    families,
    overlap,
)
from vestry.trade.values import Source


@dataclass(frozen=True, eq=False)
class Parsed:
    """One file, read, with the line of each of its fields."""

    name: str
    file: EvidenceFile
    lines: dict[reading.Path, int]

    def problem(self, path: reading.Path, what: str) -> Problem:
        """A problem at a field of this file."""
        return Problem(self.name, reading.line_of(self.lines, path), ".".join(map(str, path)), what)


def check_file(
    one: Parsed,
    catalogue: Catalogue,
    sources: Mapping[str, Source],
    measurements: Mapping[str, Measurement],
    ours: bool,
) -> Iterator[Problem]:
    """Every name in this file that means nothing.

    ours    whether it is a hospital's file, whose records lie over those shipped
    """
    words = _words(catalogue)
    for index, record in enumerate(one.file.evidence):
        at: reading.Path = ("evidence", index)
        yield from _source(one, (*at, "source"), record.source, record.certainty, sources)
        for basis in record.basis:
            yield from _known(one, (*at, "basis"), basis, measurements, "measurement")
        for name, value in record.when.given_conditions().items():
            if name in words and isinstance(value, tuple):
                for word in value:
                    yield from _known(one, (*at, "when"), word, words[name], name.replace("_", "-"))
        if not ours and record.because is not None:
            yield one.problem((*at, "because"), "only a hospital's file lies over another")
        if ours and record.because is None:
            yield one.problem(at, "a hospital's record says why: because = { reason, name, date }")
    for index, measurement in enumerate(one.file.measurement):
        path = ("measurement", index, "source")
        yield from _source(one, path, measurement.source, measurement.certainty, sources)


def _words(catalogue: Catalogue) -> dict[str, set[str]]:
    touches = [touch for technique in catalogue.techniques for touch in technique.touches]
    faults = [latent.id for item in catalogue.items.values() for latent in item.latent]
    faults += [latent.id for helper in catalogue.helpers.values() for latent in helper.latent]
    return {
        "agent": set(catalogue.agents),
        "kind": {item.kind for item in catalogue.items.values()},
        "technique": {technique.id for technique in catalogue.techniques},
        "slip": {touch.slip for touch in touches if touch.slip} | {"drags-out"},
        "residue": {touch.residue for touch in touches if touch.residue},
        "fault": families(faults),
        "zone": set(catalogue.zones),
        "family": {hazard.family for hazard in catalogue.hazards.values()},
    }


def _known(one: Parsed, path: reading.Path, word: str, known: Iterable[str], sort: str) -> Iterator[Problem]:
    names = sorted(known)
    if word not in names:
        near = get_close_matches(word, names, 1)
        hint = f"; did you mean {near[0]}?" if near else ""
        yield one.problem(path, f"no {sort} is called {word}{hint}")


def _source(
    one: Parsed, path: reading.Path, source: str, certainty: str, sources: Mapping[str, Source]
) -> Iterator[Problem]:
    if source in NO_SOURCE_NEEDED and certainty in NO_SOURCE_NEEDED:
        return
    yield from _known(one, path, source, sources, "source")


def check_ties(files: list[Parsed], records: Mapping[str, EvidenceRecord]) -> Iterator[Problem]:
    """Pairs of records in force that are equally specific and could both apply, with no third to settle it."""
    where = {record.id: (one, index) for one in reversed(files) for index, record in enumerate(one.file.evidence)}
    groups: dict[tuple[str, int], list[EvidenceRecord]] = {}
    for record in records.values():
        groups.setdefault((record.quantity, len(record.when.given_conditions())), []).append(record)
    for (quantity, count), group in groups.items():
        finer = [r for r in records.values() if r.quantity == quantity and len(r.when.given_conditions()) > count]
        for first, second in combinations(group, 2):
            both = overlap(first.when, second.when)
            if both is not None and not any(covers(third.when, both) for third in finer):
                one, index = where[second.id]
                yield one.problem(
                    ("evidence", index, "when"),
                    f"{second.id} and {first.id} could both apply, and neither is more specific; "
                    "narrow one, or add a record for where they meet",
                )


def surface_natures(
    files: list[Parsed], catalogue: Catalogue, problems: list[Problem], named: Mapping[int, Catalogue] | None = None
) -> dict[str, Nature]:
    """Material and size of every surface of the catalogue; a problem for each that no rule, or two, tell.

    named    by `id` of a file, the facts that its rules may name, where they are others
    """
    rules = [(one, index, rule) for one in files for index, rule in enumerate(one.file.surface)]
    for one, index, rule in rules:
        problems.extend(_rule_words(one, index, rule, (named or {}).get(id(one), catalogue)))
    natures = {"air.room": Nature(material="air", size="large")}
    for surface in _surfaces(catalogue):
        ranks = [(surface.rank(rule), one, index, rule) for one, index, rule in rules]
        highest = max((rank for rank, *_ in ranks), default=0)
        best = [found for found in ranks if highest and found[0] == highest]
        if not best:
            problems.append(
                Problem(files[0].name if files else "evidence", 0, "surface", f"no rule tells {surface.id}")
            )
            continue
        if len(best) > 1:
            _, one, index, _ = best[1]
            problems.append(one.problem(("surface", index), f"two rules tell {surface.id}"))
        rule = best[0][3]
        natures[surface.id] = Nature(material=rule.material, size=rule.size)
    return natures


@dataclass(frozen=True)
class _Surface:
    """A surface of the catalogue: which field of a rule names its owner, under which words, and its face."""

    id: str
    named: tuple[tuple[str, str, int], ...]
    face: str = ""

    def rank(self, rule: SurfaceRule) -> int:
        """How closely a rule names it; 0: not at all."""
        rank = max((rank for field, word, rank in self.named if word in getattr(rule, field)), default=0)
        if rank and rule.faces:
            return rank + 1 if families([self.face]) & set(rule.faces) else 0
        return rank


def _surfaces(catalogue: Catalogue) -> Iterator[_Surface]:
    for item in catalogue.items.values():
        for face in item.faces:
            yield _Surface(f"{item.id}.{face.id}", (("items", item.id, 4), ("kinds", item.kind, 2)), face.id)
    for site in catalogue.body:
        yield _Surface(f"body.{site}", (("body", site, 1),))
    for place in catalogue.places:
        yield _Surface(f"place.{place}", (("places", place, 1),))
    for helper in catalogue.helpers.values():
        for name in helper.faces:
            yield _Surface(f"{helper.id}.{name}", (("helpers", name, 1),))


def _rule_words(one: Parsed, index: int, rule: SurfaceRule, catalogue: Catalogue) -> Iterator[Problem]:
    at: reading.Path = ("surface", index)
    items = [item for item in catalogue.items.values() if item.id in rule.items or item.kind in rule.kinds]
    kinds = {item.kind for item in catalogue.items.values()}
    faces = families(face.id for item in items for face in item.faces)
    helper_faces = {face for helper in catalogue.helpers.values() for face in helper.faces}
    for field, words, known, sort in (
        ("items", rule.items, set(catalogue.items), "item"),
        ("kinds", rule.kinds, kinds, "kind of item"),
        ("faces", rule.faces, faces, "face of these"),
        ("body", rule.body, set(catalogue.body), "body site"),
        ("places", rule.places, set(catalogue.places), "thing of the place"),
        ("helpers", rule.helpers, helper_faces, "face of a helper"),
    ):
        for word in words:
            yield from _known(one, (*at, field), word, known, sort)

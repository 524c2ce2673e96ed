"""Whether what is worn is enough for a case: requirements, loads site by site, and what could be put on inside.

What the room brings to a site is what it would put on something worn there, uncovered: the highest class of the faces
of the catalogue that shelter it. What is worn stops it (sealing), lowers it by one class (open), or leaves it.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

from vestry.contact.exposure import Setting, filters_air, load_of_zone, loads_on_arrival
from vestry.contact.surfaces import faces_at, surface
from vestry.sequence.case import Case
from vestry.sequence.case_change import Adding, Cover, Lack, Loaded, Stopped, Why
from vestry.sequence.ensemble import donning_rules_broken
from vestry.sequence.policy import Policy
from vestry.sequence.removal import FACE_KINDS, STAYS_ON
from vestry.sequence.requirements import Unmet, requirements_of, unmet
from vestry.trade import Catalogue
from vestry.trade.values import LoadClass, Requirement

Worn = tuple[str, ...]
NEVER_INSIDE = FACE_KINDS | {"hood", "hair-cover", "papr-hose", "papr-belt-unit"}
MOST_ADDED = 3
_LOWER: dict[LoadClass, LoadClass] = {"high": "low", "low": "none", "none": "none"}
_RANK: tuple[LoadClass, ...] = ("none", "low", "high")


def lacks(worn: Worn, needs: tuple[Requirement, ...], catalogue: Catalogue) -> tuple[Lack, ...]:
    """Every requirement and site that what is worn leaves open."""
    return as_lacks(unmet(catalogue, worn, needs), needs)


def as_lacks(found: Iterable[Unmet], needs: tuple[Requirement, ...]) -> tuple[Lack, ...]:
    """What is unmet, with what each requirement asks for and how surely."""
    by_id = {need.id: need for need in needs}
    return tuple(
        Lack(
            requirement=one.requirement,
            site=one.site,
            need=by_id[one.requirement].need,
            route=one.route,
            source=one.source,
            certainty=by_id[one.requirement].certainty,
            would=one.would,
        )
        for one in found
    )


def loads_that_differ(worn: Worn, before: Setting, after: Setting, catalogue: Catalogue) -> tuple[Loaded, ...]:
    """Faces of what is worn that get another load class than before."""
    was, now = (loads_on_arrival(catalogue, worn, one) for one in (before, after))
    names = [surface(item, face.id) for item in worn for face in catalogue.items[item].faces]
    return tuple(
        Loaded(surface=name, before=was.get(name, "none"), after=now.get(name, "none"))  # type: ignore[arg-type]
        for name in names
        if was.get(name, "none") != now.get(name, "none")
    )


def sites(worn: Worn, before: Setting, after: Setting, catalogue: Catalogue) -> tuple[Stopped, ...]:
    """What comes to each body site and what is left of it, for every site that either case loads."""
    found = []
    for site in catalogue.body:
        load, was = (_brought(site, one, catalogue) for one in (after, before))
        if (load, was) == ("none", "none"):
            continue
        by, cover = _cover(site, worn, catalogue)
        found.append(
            Stopped(
                site=site,
                load=load,
                by=by,
                cover=cover,
                through=_through(load, cover),
                was=_through(was, cover),
            )
        )
    return tuple(found)


def uncovered(worn: Worn, found: Iterable[Stopped], setting: Setting, catalogue: Catalogue) -> tuple[str, ...]:
    """Sites that nothing covers although the case loads them; `airways` where the air is and nothing worn filters."""
    bare = [one.site for one in found if one.cover in ("nothing", "clothing") and one.through != "none"]
    return (*bare, *(["airways"] if setting.air and not filters_air(catalogue, worn) else []))


def _through(load: LoadClass, cover: Cover) -> LoadClass:
    if cover == "sealing":
        return "none"
    return _LOWER[load] if cover == "open" else load


def _cover(site: str, worn: Worn, catalogue: Catalogue) -> tuple[str | None, Cover]:
    lying = [(item, face) for item, face in faces_at(catalogue, worn, site) if face.cover != "narrow"]
    lying = [(item, face) for item, face in lying if face.endpoint is None]
    shelters: tuple[Cover, ...] = ("sealing", "open")
    for cover in shelters:
        for item, face in reversed(lying):
            if face.cover == cover:
                return surface(item, face.id), cover
    clothed = any(site in catalogue.items[item].clothes for item in worn)
    return None, "clothing" if clothed else "nothing"


def _brought(site: str, setting: Setting, catalogue: Catalogue) -> LoadClass:
    zones = {
        face.zone
        for item in catalogue.items.values()
        for face in item.faces
        if site in face.at and face.cover != "narrow"
    }
    loads = [load_of_zone(catalogue, zone, setting) for zone in zones]
    return max(loads, key=_RANK.index, default="none")  # type: ignore[arg-type]


# ---- what could be put on inside ----


def adding(
    worn: Worn, found: tuple[Lack, ...], case: Case, policy: Policy, catalogue: Catalogue, wanted: Worn = ()
) -> tuple[tuple[Adding, ...], Worn]:
    """Every piece that would meet something, whether it may be put on inside, and the fewest that make it enough.

    Nothing is taken off for it and face protection is never touched. The contact model knows no technique for putting
    on inside, so it judges the way out as if every face of the piece were contaminated. `wanted` pieces come first.
    """
    able = dict.fromkeys(item for lack in found for item in lack.would)
    judged = [_adding(item, worn, case, policy, catalogue) for item in catalogue.items if item in able]
    may = sorted((one.item for one in judged if one.may), key=lambda item: item not in wanted)
    return tuple(judged), _fewest(may, worn, case, policy, catalogue)


def _adding(item: str, worn: Worn, case: Case, policy: Policy, catalogue: Catalogue) -> Adding:
    why = _why_not(item, worn, case, policy, catalogue)
    return Adding(item=item, may=why is None, why=why)


def _why_not(item: str, worn: Worn, case: Case, policy: Policy, catalogue: Catalogue) -> Why | None:
    kind = catalogue.items[item].kind
    if kind in NEVER_INSIDE:
        return "face-or-head"
    if _belongs_under(item, worn, catalogue):
        return "under-what-is-worn"
    if case.gear and item not in case.gear:
        return "not-at-hand"
    return None if kind in policy.add_inside else "policy"


def _belongs_under(item: str, worn: Worn, catalogue: Catalogue) -> bool:
    """Whether a donning rule wants it beneath something worn at the same site, or a like piece is worn already."""
    kind, layer = catalogue.items[item].kind, catalogue.items[item].layer
    alike = any(catalogue.items[one].kind == kind and catalogue.items[one].layer == layer for one in worn)
    worn_below = kind in STAYS_ON or layer in ("inner", "single", "fresh")
    return (
        alike
        or worn_below
        or any(
            later == item and _sites(item, catalogue) & _sites(over, catalogue)
            for later, over, _ in donning_rules_broken((*worn, item), catalogue)
        )
    )


def _sites(item: str, catalogue: Catalogue) -> set[str]:
    return {site for face in catalogue.items[item].faces for site in face.at}


def _fewest(may: list[str], worn: Worn, case: Case, policy: Policy, catalogue: Catalogue) -> Worn:
    needs = requirements_of(case, catalogue, policy.jurisdiction)
    for size in range(1, MOST_ADDED + 1):
        for items in combinations(may, size):
            if not unmet(catalogue, (*worn, *items), needs):
                return items
    return ()

"""What is contaminated on arrival: the load classes that the room puts on exposed faces."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import cast

from vestry.contact.surfaces import Worn, faces_at, is_sheltered, surface
from vestry.trade import Catalogue, Face
from vestry.trade.values import VirusClass

_LOWER = {"high": "low", "low": "none", "none": "none"}
_RANK = {"none": 0, "low": 1, "high": 2}


@dataclass(frozen=True)
class Setting:
    """For whom a sequence is checked.

    presentation     dry or wet
    air              the air of the room is contaminated
    virus_class      decides which hygiene agents clear
    switched_off     published conventions that are not relied on
    every_cleaning   weak cleanings are compiled too, convention or not: for amounts, where each takes what it takes
    """

    presentation: str = "dry"
    air: bool = False
    virus_class: str = "enveloped"
    switched_off: frozenset[str] = frozenset()
    every_cleaning: bool = False


def load_of_zone(catalogue: Catalogue, zone_id: str, setting: Setting) -> str:
    """The load class of an exposure zone; a convention that is switched off gives its class `without`."""
    zone = catalogue.zones[zone_id]
    load = zone.wet if setting.presentation == "wet" else zone.dry
    if zone.counts_clean in setting.switched_off and zone.without is not None:
        load = max(load, zone.without, key=_RANK.__getitem__)
    return load


def loads_on_arrival(catalogue: Catalogue, worn: Worn, setting: Setting) -> dict[str, str]:
    """Surface to load class (`low` or `high`) for every face of what is worn that the room exposes."""
    return loads_by_zone(catalogue, worn, lambda zone: load_of_zone(catalogue, zone, setting))


def loads_by_zone(catalogue: Catalogue, worn: Worn, load_of: Callable[[str], str]) -> dict[str, str]:
    """Surface to load class (`low` or `high`) for every exposed face, `load_of` giving the class of a zone."""
    loads: dict[str, str] = {}
    for item in worn:
        for face in catalogue.items[item].faces:
            load = _load_of_face(catalogue, worn, item, face, load_of(face.zone))
            if load != "none":
                loads[surface(item, face.id)] = load
    return loads


def _load_of_face(catalogue: Catalogue, worn: Worn, item: str, face: Face, zone_load: str) -> str:
    best = "none"
    for site in face.at:
        shelter = is_sheltered(catalogue, worn, item, site)
        load = {"bare": zone_load, "open": _LOWER[zone_load], "sealing": "none"}[shelter]
        best = max(best, load, key=_RANK.__getitem__)
    return best


def coverage_gaps(catalogue: Catalogue, worn: Worn, air: bool, loads: Collection[str] = ()) -> tuple[str, ...]:
    """Body sites that nothing shelters, and `airways` when the air is contaminated and nothing worn filters it.

    A site is open too where only a face worn to work lies on it and the room loads that face (a shoe without a cover).
    """
    gaps = []
    for site in catalogue.body:
        lying = [(item, face) for item, face in faces_at(catalogue, worn, site) if face.cover != "narrow"]
        clothed = any(site in catalogue.items[item].clothes for item in worn)
        loaded = all(face.endpoint and surface(item, face.id) in loads for item, face in lying)
        if (lying and loaded) or not (lying or clothed):
            gaps.append(site)
    if air and not filters_air(catalogue, worn):
        gaps.append("airways")
    return tuple(gaps)


def filters_air(catalogue: Catalogue, worn: Worn) -> bool:
    """Whether something worn over nose and mouth filters air."""
    return any(catalogue.items[item].filters_air for item, _ in faces_at(catalogue, worn, "nose-mouth"))


def airways_covered(catalogue: Catalogue, worn: Worn) -> bool:
    """Whether anything seals over nose and mouth (a mask does, though it does not filter: that is a coverage gap)."""
    return any(face.cover == "sealing" for _, face in faces_at(catalogue, worn, "nose-mouth"))


def clears(catalogue: Catalogue, agent_id: str, on: str, setting: Setting) -> bool:
    """Whether a hygiene agent clears in Booleans and cut sets: central reduction of at least 2 log10, convention on."""
    agent = catalogue.agents[agent_id]
    if setting.every_cleaning:
        return bool(agent.figures(on))
    if "cleaning-clears" in setting.switched_off:
        return False
    return agent.log10(on, cast(VirusClass, setting.virus_class)) >= 2.0


def in_force(catalogue: Catalogue, setting: Setting) -> Collection[str]:
    """The conventions that a verdict rests on."""
    return [name for name in catalogue.conventions if name not in setting.switched_off]

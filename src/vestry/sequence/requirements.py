"""Requirements: what hazard, presentation and tasks ask of the gear, and whether an ensemble meets it."""

from __future__ import annotations

from dataclasses import dataclass

from vestry.contact.surfaces import faces_at
from vestry.sequence.case import Case
from vestry.trade import Catalogue
from vestry.trade.jurisdictions import UNSTATED
from vestry.trade.values import Requirement

_BARRIERS = {None: 0, "isolation": 1, "fluid-resistant": 2, "impermeable": 3}


@dataclass(frozen=True)
class Unmet:
    """A site that the gear at hand cannot protect: by which route, for which requirement, and what would."""

    site: str
    route: str
    requirement: str
    source: str
    would: tuple[str, ...]


def requirements_of(case: Case, catalogue: Catalogue, jurisdiction: str = UNSTATED) -> tuple[Requirement, ...]:
    """The requirements that hold for a case under a jurisdiction, in file order."""
    hazard = catalogue.hazards[case.hazard]
    routes = set(hazard.routes.value or hazard.routes.default or ())

    def holds(requirement: Requirement) -> bool:
        return (
            (not requirement.families or hazard.family in requirement.families)
            and (not requirement.routes or bool(routes & set(requirement.routes)))
            and (not requirement.presentations or case.presentation in requirement.presentations)
            and (not requirement.tasks or bool(set(case.tasks) & set(requirement.tasks)))
            and (not requirement.jurisdictions or jurisdiction in requirement.jurisdictions)
        )

    return tuple(one for one in catalogue.requirements.values() if holds(one))


def meets(catalogue: Catalogue, worn: tuple[str, ...], requirement: Requirement, site: str) -> bool:
    """Whether what is worn meets a requirement at one of its sites."""
    lying = [(item, face) for item, face in faces_at(catalogue, worn, site) if face.cover != "narrow"]
    match requirement.need:
        case "covered":
            return bool(lying)
        case "sealed":
            return any(face.cover == "sealing" for _, face in lying)
        case "filters-air":
            return any(catalogue.items[item].filters_air for item, _ in lying)
        case "two-layers":
            return sum(face.cover == "sealing" for _, face in lying) >= 2
        case _:
            wanted = _BARRIERS[requirement.need]
            return any(
                _BARRIERS[catalogue.items[item].barrier_class] >= wanted
                for item, face in lying
                if face.cover == "sealing"
            )


def unmet(catalogue: Catalogue, worn: tuple[str, ...], needs: tuple[Requirement, ...]) -> tuple[Unmet, ...]:
    """Every requirement and site that the ensemble leaves open, with the catalogue items that would meet it."""
    open_sites = []
    for need in needs:
        for site in need.sites:
            if not meets(catalogue, worn, need, site):
                would = tuple(
                    item for item in catalogue.items if item not in worn and meets(catalogue, (*worn, item), need, site)
                )
                open_sites.append(Unmet(site, need.route, need.id, need.source, would))
    return tuple(open_sites)

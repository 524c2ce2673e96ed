"""Surfaces and layers: what lies over what, and what can be touched at a site.

A surface id is OWNER.FACE: a worn item's face, `body.SITE`, `place.THING`, `assistant.FACE`, `observer.FACE`,
`air.ZONE`.
The order of `worn` makes the layers: at a site the item later in the tuple lies over the earlier ones.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from vestry.trade import Catalogue, Face, Item

Worn = tuple[str, ...]


def surface(owner: str, face: str) -> str:
    """The id of a face."""
    return f"{owner}.{face}"


def faces_at(catalogue: Catalogue, worn: Worn, site: str) -> list[tuple[str, Face]]:
    """The faces that lie at a site, lowest first."""
    return [(item, face) for item in worn for face in catalogue.items[item].faces if site in face.at]


def touchable(catalogue: Catalogue, worn: Worn, site: str, without: Iterable[str] = ()) -> list[str]:
    """What a touch at this site meets: the topmost sheltering face (or the body), then narrow faces lying over it.

    `without` leaves out items, as if they were already lifted away.
    """
    left_out = set(without)
    narrow: list[str] = []
    for item, face in reversed(faces_at(catalogue, worn, site)):
        if item in left_out:
            continue
        if face.cover != "narrow":
            return [surface(item, face.id), *narrow]
        narrow.append(surface(item, face.id))
    return [surface("body", site), *narrow]


def beneath(catalogue: Catalogue, worn: Worn, item: str, site: str, without: Iterable[str] = ()) -> str:
    """The sheltering face or the body that lies next beneath an item at a site."""
    below = worn[: worn.index(item)]
    return touchable(catalogue, below, site, without)[0]


def is_sheltered(catalogue: Catalogue, worn: Worn, item: str, site: str) -> str:
    """How strongly the items over this one shelter it at a site: `sealing`, `open`, or `bare`."""
    above = worn[worn.index(item) + 1 :]
    covers = {face.cover for _, face in faces_at(catalogue, above, site)}
    return "sealing" if "sealing" in covers else "open" if "open" in covers else "bare"


def place_under_sleeve(catalogue: Catalogue, worn: Worn, item: Item) -> Worn:
    """`worn` with an item put on now.

    Gloves put on during doffing end at the sleeve edge, so they lie under a sleeve.
    """
    if item.under_sleeve:
        for index, other in enumerate(worn):
            face = next((f for f in catalogue.items[other].faces if "wrist-l" in f.at), None)
            if face is not None and catalogue.items[other].kind != item.kind:
                return (*worn[:index], item.id, *worn[index:])
    return (*worn, item.id)


def endpoint_classes(catalogue: Catalogue, worn: Worn, exposed: Collection[str] = ()) -> dict[str, str]:
    """Every endpoint surface of this ensemble, and its class.

    Classes: mucosa, skin, clothing, helper, place. A body site that a worn item clothes is work clothing.
    A face worn to work that the room itself loads (`exposed`: a shoe without a cover) is a coverage gap and no
    endpoint: undressing cannot keep clean what came in contaminated.
    """
    clothed = {site for item in worn for site in catalogue.items[item].clothes}
    classes: dict[str, str] = {}
    for site in catalogue.body.values():
        classes[surface("body", site.id)] = "clothing" if site.id in clothed else site.endpoint
    for item in worn:
        for face in catalogue.items[item].faces:
            if face.endpoint is not None and surface(item, face.id) not in exposed:
                classes[surface(item, face.id)] = face.endpoint
    for helper in catalogue.helpers.values():
        classes[surface(helper.id, "skin")] = "helper"
        classes[surface(helper.id, "clothing")] = "helper"
    for place in catalogue.places.values():
        if place.endpoint is not None:
            classes[surface("place", place.id)] = "place"
    return classes

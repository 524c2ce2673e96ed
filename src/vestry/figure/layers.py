"""What lies over what, and which surfaces are outermost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache

from vestry.trade import Item, load_catalogue

_SLEEVED = frozenset({"gown", "coverall"})


@cache
def catalogue() -> Mapping[str, Item]:
    """Every item of the shipped catalogue, by id."""
    return load_catalogue().items


def surfaces(item: str) -> tuple[str, ...]:
    """The surface ids of an item."""
    return tuple(f"{item}.{face.id}" for face in catalogue()[item].faces)


def order(worn: Sequence[str], under: Sequence[tuple[str, str]] = ()) -> tuple[str, ...]:
    """Items from the innermost out: as donned, but what goes under a sleeve or is said to lie
    under another item is put beneath it."""
    known = catalogue()
    out: list[str] = []
    for item in worn:
        if item in out:
            continue
        place = len(out)
        if known[item].under_sleeve:
            place = next((i for i, o in enumerate(out) if known[o].kind in _SLEEVED), place)
        out.insert(place, item)
    for item, over in under:
        if item in out and over in out and out.index(item) > out.index(over):
            out.remove(item)
            out.insert(out.index(over), item)
    return tuple(out)


def kinds(items: Sequence[str]) -> frozenset[str]:
    """The kinds among items; a suit with a hood also counts as `coverall-hood`."""
    known = catalogue()
    extra = {"coverall-hood"} if "coverall-hooded" in items else set()
    return frozenset(known[i].kind for i in items) | extra


def outermost(surface: str, ordered: Sequence[str]) -> bool:
    """Whether nothing that shelters it lies over this surface.

    Body sites count as bare under work clothing, because it is the work clothing that is meant.
    """
    owner, _, name = surface.partition(".")
    known = catalogue()
    if owner == "body":
        above: Sequence[str] = ordered
        sites = frozenset({name})
    else:
        if owner not in ordered:
            return False
        face = next((f for f in known[owner].faces if f.id == name), None)
        if face is None or face.inside:
            return False
        above = ordered[ordered.index(owner) + 1 :]
        sites = frozenset(face.at)
        if not sites:
            return not any(f.id == name for i in above for f in known[i].faces)
    sheltered = {s for i in above for f in known[i].faces if f.cover == "sealing" for s in f.at}
    return not sites <= sheltered

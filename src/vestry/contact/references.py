"""References of a written touch (`act = "touch"`): whether one names anything, and whether it is worn at its step."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from difflib import get_close_matches

from vestry.contact.surfaces import Worn
from vestry.trade import Catalogue

HANDS = ("hand", "hand-l", "hand-r")
FORMS = "write hand, outer@SITE, body.SITE, place.THING, helper.FACE or ITEM.FACE; `vestry catalog` lists them"


def unknown_reference(ref: str, handled: tuple[str, ...], catalogue: Catalogue) -> str | None:
    """What is wrong with a reference that can never name a surface, and what would be right; None when it can.

    handled   the items of the step, for `self.FACE`
    """
    if ref in HANDS or ref == "agent":
        return None
    head, at, site = ref.partition("@")
    if at:
        if head not in ("outer", "under"):
            return f"{ref}: before @ stands outer or under"
        return _among(site, catalogue.body, "no site of the body", ref)
    owner, dot, face = ref.partition(".")
    if not dot:
        return f"{ref} names no surface; {FORMS}"
    if owner in ("body", "place", "air"):
        known = {"body": tuple(catalogue.body), "place": tuple(catalogue.places), "air": ("room",)}[owner]
        return _among(face, known, "nothing", ref)
    if owner == "helper" or owner in catalogue.helpers:
        helpers = catalogue.helpers.values() if owner == "helper" else (catalogue.helpers[owner],)
        return _among(face, [one for helper in helpers for one in helper.faces], "no face of a helper", ref)
    if owner == "self" and not handled:
        return f"{ref}: the step names no item, so self is nobody"
    items = handled if owner == "self" else items_of(owner, catalogue)
    if not items:
        names = (*catalogue.items, *{one.kind for one in catalogue.items.values()})
        return f"{ref}: {_like(owner, names, f'no item is called {owner}')}; {FORMS}"
    faces = [one.id for item in items for one in catalogue.items[item].faces]
    return _among(face, [*faces, *(one[:-2] for one in faces if one.endswith(("-l", "-r"))), "*"], "no face", ref)


def items_of(owner: str, catalogue: Catalogue) -> tuple[str, ...]:
    """The items that an owner may mean: the item of that id, else those of that kind."""
    if owner in catalogue.items:
        return (owner,)
    return tuple(one.id for one in catalogue.items.values() if one.kind == owner)


def touches_nothing(ref: str, handled: tuple[str, ...], worn: Worn, catalogue: Catalogue) -> bool:
    """Whether a known reference names an item that is not worn and not handled at its step."""
    owner, dot, _ = ref.partition(".")
    items = items_of(owner, catalogue) if dot else ()
    return bool(items) and not any(item in (*worn, *handled) for item in items)


def _among(name: str, known: Iterable[str], what: str, ref: str) -> str | None:
    names = list(dict.fromkeys(known))
    if name in names:
        return None
    return f"{ref}: {_like(name, names, f'{what} is called {name}')}"


def _like(name: str, names: Collection[str], sentence: str) -> str:
    close, known = get_close_matches(name, names, 3, 0.5), sorted(set(names))
    if close:
        return f"{sentence}; like it are {', '.join(close)}"
    return f"{sentence}; there are {', '.join(known)}" if len(known) < 40 else sentence

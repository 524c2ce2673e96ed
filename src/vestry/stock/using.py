"""What an entry uses up, and which lots it is taken from.

Worn once: one of each item that is put on and not reused, gloves in pairs, the fresh pair on the way out with them.
Reusable things are not used up; they go to be cleaned. What was torn before going in was replaced; gloves changed
inside were taken from the shelf. First to expire is first out.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from vestry.sequence import Plan, PlanStep
from vestry.stock.ledger import OnHand
from vestry.trade import Catalogue

Area = Literal["donning", "doffing"]
Part = Literal["wearer", "observer", "assistant"]
BROUGHT = frozenset({"scrubs", "shoes", "boots"})
"""Kinds that are laundered or personal: no stock is kept of them here."""
FRESH = "fresh-gloves"


@dataclass(frozen=True)
class Take:
    """So many of an item, laid out in an area for one part of the team.

    size       None: whose it is, is not known, and nothing is taken; with `any_size` any will do
    model      None: any
    """

    item: str
    size: str | None
    quantity: int
    area: Area
    model: str | None = None
    part: Part = "wearer"
    any_size: bool = False

    def takes_from(self, one: OnHand) -> bool:
        """Whether this lot is what is wanted."""
        in_size = self.size == one.lot.size or (self.size is None and self.any_size)
        return one.lot.item == self.item and in_size and self.model in (None, one.lot.model)


@dataclass(frozen=True)
class Pick:
    """So many to fetch from a lot at a place."""

    take: Take
    there: OnHand
    quantity: int


@dataclass(frozen=True)
class Picking:
    """What to fetch, first to expire first, and what is wanting."""

    picks: tuple[Pick, ...]
    wanting: tuple[Take, ...]

    @property
    def complete(self) -> bool:
        """Whether nothing is wanting."""
        return not self.wanting


def consumed(plan: Plan, catalogue: Catalogue, done: Collection[str] | None = None) -> Mapping[str, int]:
    """Items that one wearer's pass along the plan uses up, and how many.

    done    ids of the steps that were done; None: the whole plan. An item put on in a step not done was not used.
    """
    found: Counter[str] = Counter()
    for step in plan.steps:
        if done is None or step.id in done:
            found.update(put_on(step))
    return {item: count for item, count in found.items() if used_up(item, catalogue)}


def put_on(step: PlanStep) -> tuple[str, ...]:
    """The items that a step puts on; a change of gloves that names none puts on the fresh pair."""
    match step.act:
        case "don":
            return step.items
        case "change-gloves":
            return step.items or (FRESH,)
        case _:
            return ()


def reused(plan: Plan, catalogue: Catalogue, part: Part = "wearer") -> tuple[str, ...]:
    """Items that this part of the team wears and that go to be cleaned and come back."""
    members = (item for member in plan.team if member.role == part for item in member.worn)
    worn = plan.worn if part == "wearer" else tuple(members)
    return tuple(one for one in worn if catalogue.items[one].reusable and catalogue.items[one].kind not in BROUGHT)


def used_up(item: str, catalogue: Catalogue) -> bool:
    """Whether an item that is put on is thrown away after; not so what is cleaned, laundered or brought."""
    known = catalogue.items.get(item)
    return known is not None and not known.reusable and known.kind not in BROUGHT


def glove_pairs(used: Mapping[str, int], catalogue: Catalogue) -> int:
    """How many pairs of gloves are among what is used up."""
    return sum(count for item, count in used.items() if catalogue.items[item].kind == "gloves")


def steps_of(plan: Plan, part: Part) -> tuple[PlanStep, ...]:
    """What this part of the team does: the wearer's pass, or a helper's own dressing and undressing."""
    if part == "wearer":
        return plan.steps
    return tuple(step for member in plan.team if member.role == part for step in member.steps)


def takes(
    plan: Plan,
    catalogue: Catalogue,
    sizes: Mapping[str, str],
    models: Mapping[str, str] | None = None,
    part: Part = "wearer",
    any_size: bool = False,
) -> tuple[Take, ...]:
    """What one part of the team needs laid out: for donning what is put on before, for doffing the fresh gloves.

    sizes      item to size of this person; fresh gloves take the size of the innermost gloves where they are not named
    models     item to model, of what was fitted
    any_size   nobody in particular: where no size is known any will do
    """
    counts: dict[Area, Counter[str]] = {"donning": Counter(), "doffing": Counter()}
    for step in steps_of(plan, part):
        area: Area = "donning" if step.phase in ("before", "donning", "entry") else "doffing"
        counts[area].update(item for item in put_on(step) if used_up(item, catalogue))
    return tuple(
        Take(item, size_of(item, sizes, catalogue), quantity, area, (models or {}).get(item), part, any_size)
        for area, items in counts.items()
        for item, quantity in items.items()
    )


def size_of(item: str, sizes: Mapping[str, str], catalogue: Catalogue) -> str | None:
    """The size that somebody takes of an item: as given, the one size that there is, or as of other gloves."""
    if item in sizes:
        return sizes[item]
    known = catalogue.items[item]
    if len(known.sizes) == 1:
        return known.sizes[0]
    if known.kind == "gloves":
        return next((size for other, size in sizes.items() if _gloves(other, catalogue)), None)
    return None


def _gloves(item: str, catalogue: Catalogue) -> bool:
    return item in catalogue.items and catalogue.items[item].kind == "gloves"


def picking(wanted: Iterable[Take], there: Iterable[OnHand], places: tuple[str, ...] = ()) -> Picking:
    """Which lots to take it from: first to expire first out, then the place that `places` names first.

    Nothing that is expired or on hold is taken, and nothing is taken twice. What any size will do for is taken last, so
    that it leaves nobody without theirs.
    """
    left = {(one.lot.id, one.place): one.usable for one in there}
    shelf = sorted((one for one in there if one.usable), key=lambda one: _order(one, places))
    picks: list[Pick] = []
    wanting: list[Take] = []
    for take in sorted(wanted, key=lambda one: one.size is None):
        missing = take.quantity
        for one in shelf:
            if missing and take.takes_from(one):
                key = (one.lot.id, one.place)
                quantity = min(missing, left[key])
                if quantity:
                    left[key] -= quantity
                    missing -= quantity
                    picks.append(Pick(take, one, quantity))
        if missing:
            wanting.append(replace(take, quantity=missing))
    return Picking(tuple(picks), tuple(wanting))


def _order(one: OnHand, places: tuple[str, ...]) -> tuple[datetime.date, int, str, str]:
    near = places.index(one.place) if one.place in places else len(places)
    return (one.lot.expiry or datetime.date.max, near, one.lot.number, one.place)

"""The contract `Substitution`: an item of a plan cannot be had, or not worn; the plan without it.

It is computed, not approved: nobody has practised it that anyone knows of.
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from vestry.sequence.assurance import Assurance
from vestry.sequence.comparison import Comparison
from vestry.sequence.plan import Plan
from vestry.trade.values import Id, Value

Because = Literal["shelf", "fit-test"]
OwnOrder = Literal["none", "kept", "renamed", "dropped"]


class Substitution(Value):
    """What becomes of a plan without one of its items.

    instead        the items that were asked for in its place; empty: what the unit's policy prefers of what is at hand
    because        the shelf lacks it, or the wearer has no fit test for it
    left_aside     other items left aside, so that those asked for are worn
    own_order      the unit's own order of removals: there is none, it was kept, the lost kind was renamed in it, or it
                   fits no longer and the order was searched
    comparison     a: the plan before; b: the plan without the item
    practised_by   how many have practised it: nobody that anyone knows of; `practised-of`: of how many, null: not known
    """

    format_version: Literal[1] = 1
    before: str
    without: Id
    instead: tuple[Id, ...]
    because: Because
    left_aside: tuple[Id, ...]
    own_order: OwnOrder
    plan: Plan
    assurance: Assurance
    comparison: Comparison
    approved: Literal[False] = False
    practised_by: Literal[0] = 0
    practised_of: int | None = Field(default=None)

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return dict(self.model_dump(mode="json", by_alias=True))

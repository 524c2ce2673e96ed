"""Removals: what comes off in one go, and the hygiene that the unit's rules put around it.

A removal is one item, or a group that is not broken (once the hose is off, the hood comes off). Gloves are disinfected
before a removal unless nothing was touched since; so an option left out never leaves two glove disinfections in a row.
"""

from __future__ import annotations

from dataclasses import dataclass

from vestry.sequence.case import Case
from vestry.sequence.policy import HandsOn, Policy
from vestry.sequence.rules import trapped
from vestry.trade import Catalogue, Step
from vestry.trade.values import Who

TIGHT_FACE_KINDS = ("mask", "respirator", "papr-helmet")
FACE_KINDS = frozenset({"shield", "goggles", "mask", "respirator", "papr-hood", "papr-helmet", "papr-shroud"})
STAYS_ON = frozenset({"scrubs", "shoes", "boots"})
POWERED_GROUP = (("papr-hose", "papr-belt-unit"), ("papr-hood",))
TOGETHER = frozenset({"both", "wearer-and-observer"})
HELPED_KINDS = frozenset({"coverall", "papr-hood", "papr-hose", "papr-belt-unit", "apron"})


@dataclass(frozen=True)
class Removal:
    """Steps of items that come off in one go; `name` is the first item's id."""

    parts: tuple[tuple[str, ...], ...]

    @property
    def name(self) -> str:
        return self.parts[0][0]

    @property
    def items(self) -> tuple[str, ...]:
        return tuple(item for part in self.parts for item in part)


@dataclass(frozen=True)
class Hands:
    """The state of the hands between removals.

    gloves    the pair on top, or None
    untouched nothing was touched since they were disinfected, washed, or put on
    helped    the helper touched something since the last disinfection
    """

    gloves: str | None
    untouched: bool
    helped: bool = False


@dataclass(frozen=True)
class Placed:
    """A step put into the order, with the marks that the plan carries."""

    step: Step
    context: str
    group: str | None = None
    topic: str | None = None


def removals_of(worn: tuple[str, ...], catalogue: Catalogue) -> tuple[Removal, ...]:
    """What has to come off, apart from the gloves that stay on to the end."""
    kinds = {catalogue.items[item].kind: item for item in worn}
    found: list[Removal] = []
    grouped: set[str] = set()
    if {"papr-hose", "papr-belt-unit", "papr-hood"} <= set(kinds):
        found.append(Removal(tuple(tuple(kinds[kind] for kind in part) for part in POWERED_GROUP)))
        grouped = set(found[0].items)
    last_gloves = lowest_gloves(worn, catalogue)
    for item in worn:
        if item in grouped or item == last_gloves or catalogue.items[item].kind in STAYS_ON:
            continue
        found.append(Removal(((item,),)))
    return tuple(found)


def lowest_gloves(worn: tuple[str, ...], catalogue: Catalogue) -> str | None:
    """The pair next to the skin."""
    return next((item for item in worn if catalogue.items[item].kind == "gloves"), None)


def top_gloves(worn: tuple[str, ...], catalogue: Catalogue) -> str | None:
    """The pair that touches things."""
    return next((item for item in reversed(worn) if catalogue.items[item].kind == "gloves"), None)


class Hygiene:
    """Places glove disinfection, hand hygiene and glove change around removals, by the unit's policy."""

    def __init__(self, case: Case, policy: Policy, catalogue: Catalogue) -> None:
        self.case, self.policy, self.catalogue = case, policy, catalogue

    def possible(self, removal: Removal, worn: tuple[str, ...]) -> bool:
        """Whether nothing worn over it traps it, and a glove change that goes before it can be made."""
        if any(trapped(item, worn, self.catalogue, removal.items) for item in removal.items):
            return False
        return not self.wants_change(removal, top_gloves(worn, self.catalogue)) or (
            top_gloves(worn, self.catalogue) == lowest_gloves(worn, self.catalogue)
        )

    def before(self, removal: Removal, worn: tuple[str, ...], hands: Hands, zone: str) -> tuple[list[Placed], Hands]:
        """What is done before a removal. Who is still in the room leaves it before the airways are uncovered."""
        steps, hands = self._clean(hands, removal.name)
        if self.wants_change(removal, hands.gloves):
            changed, hands = self.change(worn, hands, removal.name)
            steps.extend(changed)
        if zone == "room" and self._uncovers_airways(removal):
            steps.append(Placed(Step(act="move", to="anteroom"), removal.name))
        return steps, hands

    def change(self, worn: tuple[str, ...], hands: Hands, context: str) -> tuple[list[Placed], Hands]:
        """Gloves off, hand hygiene, fresh gloves on; the gloves are disinfected first."""
        steps, hands = self._clean(hands, context)
        assert hands.gloves is not None
        steps.append(Placed(Step(act="doff", item=hands.gloves), context))
        steps.append(Placed(Step(act="hand-hygiene", agent=self.policy.hand_agent), context))
        steps.append(Placed(Step(act="don", item="fresh-gloves"), context))
        return steps, Hands("fresh-gloves", True)

    def take_off(self, removal: Removal, worn: tuple[str, ...], hands: Hands) -> tuple[list[Placed], Hands]:
        """The removal itself, and the look at inner gloves once outer gloves are off."""
        group = removal.name if len(removal.parts) > 1 else None
        steps = self._opened(removal, hands)
        helped = False
        for part in removal.parts:
            kind = self.catalogue.items[part[0]].kind
            helper = self.helper if kind in HELPED_KINDS else None
            helped = helped or helper is not None
            step = Step(items=part, act="doff", who=helper) if helper else Step(items=part, act="doff")
            steps.append(Placed(step, removal.name, group))
        left = tuple(item for item in worn if item not in removal.items)
        if self.catalogue.items[removal.name].kind == "gloves":
            steps.append(Placed(Step(act="inspect", who="observer"), removal.name, None, "inner-gloves"))
        return steps, Hands(top_gloves(left, self.catalogue), False, helped)

    def _opened(self, removal: Removal, hands: Hands) -> list[Placed]:
        """A suit is opened first, and what touched its flap is cleaned before the zip: steps of their own."""
        if self.catalogue.items[removal.name].kind != "coverall":
            return []
        cleaned, _ = self._clean(Hands(hands.gloves, False), removal.name)
        return [Placed(Step(act="release", item=removal.name), removal.name), *cleaned]

    def finish(self, worn: tuple[str, ...], hands: Hands) -> tuple[list[Placed], Hands]:
        """Shoes wiped where the unit does so; then the last gloves off and hand hygiene on bare hands."""
        steps: list[Placed] = []
        shoes = next((item for item in worn if self.catalogue.items[item].kind in ("shoes", "boots")), None)
        if self.policy.wipe_shoes_last and shoes is not None and hands.gloves is not None:
            more, hands = self._clean(hands, "shoes")
            steps.extend(more)
            steps.append(Placed(Step(act="wipe", item=shoes, agent=self.policy.surface_agent), "shoes"))
            hands = Hands(hands.gloves, False)
        more, hands = self._clean(hands, "last")
        steps.extend(more)
        if hands.gloves is not None:
            steps.append(Placed(Step(act="doff", item=hands.gloves), "last"))
            hands = Hands(None, False)
        if not hands.untouched:
            steps.append(Placed(Step(act="hand-hygiene", agent=self.policy.hand_agent), "last"))
        return steps, Hands(None, True)

    @property
    def helper(self) -> Who | None:
        """Who does what takes two, by policy; None when nobody beside the wearer may touch."""
        who: dict[HandsOn, tuple[bool, Who]] = {
            "assistant": (self.policy.assistant, "both"),
            "observer": (self.policy.observer, "wearer-and-observer"),
        }
        there, together = who.get(self.policy.hands_on, (False, "both"))
        return together if there else None

    def _uncovers_airways(self, removal: Removal) -> bool:
        """What filters or covers the airways comes off outside the room, the door shut."""
        kinds = {self.catalogue.items[item].kind for item in removal.items}
        return bool(kinds & {*TIGHT_FACE_KINDS, "papr-hood"})

    def wants_change(self, removal: Removal, gloves: str | None) -> bool:
        """Whether the policy wants fresh gloves on before this removal."""
        kind = self.catalogue.items[removal.name].kind
        return (
            self.policy.glove_change == "before-face-item"
            and kind in TIGHT_FACE_KINDS
            and gloves is not None
            and self.catalogue.items[gloves].layer != "fresh"
        )

    def _clean(self, hands: Hands, context: str) -> tuple[list[Placed], Hands]:
        if hands.untouched:
            return [], hands
        if hands.gloves is None:
            step = Step(act="hand-hygiene", agent=self.policy.hand_agent)
        elif not self.policy.disinfect_gloves:
            return [], hands
        elif hands.helped:
            step = Step(act="disinfect-gloves", agent=self.policy.glove_agent, who=self.helper)
        else:
            step = Step(act="disinfect-gloves", agent=self.policy.glove_agent)
        return [Placed(step, context)], Hands(hands.gloves, True)

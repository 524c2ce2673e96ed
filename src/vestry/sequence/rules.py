"""Published order rules as constraints that policy switches: which item must come off before which."""

from __future__ import annotations

from collections.abc import Iterable

from vestry.sequence.case import Case
from vestry.sequence.policy import Policy
from vestry.trade import Catalogue
from vestry.trade.values import Rule


def rules_in_force(case: Case, policy: Policy, catalogue: Catalogue) -> tuple[Rule, ...]:
    """The order rules that hold for this hazard's family and are not switched off, or that are switched on."""
    family = catalogue.hazards[case.hazard].family
    return tuple(
        rule
        for rule in catalogue.rules.values()
        if rule.kind == "order"
        and rule.before
        and (rule.default_on or rule.id in policy.switched_on)
        and rule.id not in policy.switched_off
        and (not rule.for_families or family in rule.for_families)
    )


def matters(rule: Rule, worn: Iterable[str], catalogue: Catalogue) -> bool:
    """Whether the rule is about things that are worn: one of each side."""
    items = list(worn)
    return all(any(_named(item, kinds, rule, catalogue) for item in items) for kinds in (rule.before, rule.after))


def switched(policy: Policy, rule: Rule, on: bool) -> Policy:
    """The policy with an order rule on or off, in the one way of writing it."""
    off = tuple(one for one in policy.switched_off if one != rule.id)
    also = tuple(one for one in policy.switched_on if one != rule.id)
    if on and not rule.default_on:
        also = (*also, rule.id)
    if not on and rule.default_on:
        off = (*off, rule.id)
    return policy.model_copy(update={"switched_off": off, "switched_on": also})


def allowed(item: str, left: Iterable[str], rules: Iterable[Rule], catalogue: Catalogue) -> bool:
    """Whether an item may come off while these are still worn: no rule wants one of them off first, none traps it."""
    left = [other for other in left if other != item]
    return not any(
        _named(item, rule.after, rule, catalogue) and any(_named(other, rule.before, rule, catalogue) for other in left)
        for rule in rules
    )


def broken_rules(removals: Iterable[str], rules: Iterable[Rule], catalogue: Catalogue) -> tuple[Rule, ...]:
    """The rules that an order of removals breaks."""
    left = list(removals)
    broken: dict[str, Rule] = {}
    while left:
        item = left.pop(0)
        for rule in rules:
            if not allowed(item, left, [rule], catalogue):
                broken[rule.id] = rule
    return tuple(broken.values())


def trapped(item: str, worn: tuple[str, ...], catalogue: Catalogue, together: Iterable[str] = ()) -> bool:
    """Whether something worn over the item, and not taken off with it, traps it."""
    kind = catalogue.items[item].kind
    above = worn[worn.index(item) + 1 :]
    return any(kind in catalogue.items[over].traps for over in above if over not in together)


def _named(item: str, kinds: tuple[str, ...], rule: Rule, catalogue: Catalogue) -> bool:
    record = catalogue.items[item]
    if record.kind not in kinds:
        return False
    if record.kind != "gloves" or rule.glove_layer is None:
        return True
    layers = {"outer": ("outer",), "inner": ("inner", "single")}[rule.glove_layer]
    return record.layer in layers

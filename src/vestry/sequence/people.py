"""Who has to be there: published minimum rules of second persons, never optimised away."""

from __future__ import annotations

from vestry.sequence.case import Case
from vestry.sequence.errors import NoPlan
from vestry.sequence.policy import Policy
from vestry.trade import Catalogue

OBSERVER_RULE = "observer-at-every-step"
ASSISTANT_RULE = "assistant-for-powered-unit-or-coverall"
ASSISTED_KINDS = frozenset({"coverall", "papr-hood", "papr-helmet", "papr-belt-unit"})


def require_people(case: Case, policy: Policy, worn: tuple[str, ...], catalogue: Catalogue) -> None:
    """NoPlan when a person is missing that a published rule in force for this hazard asks for.

    Switching such a rule off is the hospital's own decision and is in the policy by name.
    """
    if not policy.observer and _in_force(OBSERVER_RULE, case, policy, catalogue):
        raise NoPlan((), f"a trained observer at every step is required ({OBSERVER_RULE})")
    assisted = any(catalogue.items[item].kind in ASSISTED_KINDS for item in worn)
    if assisted and not policy.assistant and _in_force(ASSISTANT_RULE, case, policy, catalogue):
        raise NoPlan((), f"a doffing assistant is required for a powered respirator or a coverall ({ASSISTANT_RULE})")


def _in_force(rule_id: str, case: Case, policy: Policy, catalogue: Catalogue) -> bool:
    rule = catalogue.rules[rule_id]
    family = catalogue.hazards[case.hazard].family
    return rule_id not in policy.switched_off and (not rule.for_families or family in rule.for_families)

"""Facts that differ by country: the waste stream of a hazard, the factor assigned to a respirator.

waste_rule(...)           the rule in force on a hazard's waste, or None where none is held
waste_stream(...)         the stream, as a fact with its source and certainty
protection_factors(...)   the classes of respirator that a kind of item can be, with the factor assigned to each
"""

from __future__ import annotations

from vestry.trade.catalogue import Catalogue
from vestry.trade.values import Fact, ProtectionFactor, WasteRule

UNSTATED = "unstated"


def waste_rule(catalogue: Catalogue, hazard: str, jurisdiction: str) -> WasteRule | None:
    """The latest edition that speaks of this hazard's waste here; None when nothing is held."""
    rules = [
        rule for rule in catalogue.waste_rules.values() if rule.jurisdiction == jurisdiction and hazard in rule.hazards
    ]
    return max(rules, key=lambda rule: rule.category.year or 0, default=None)


def waste_stream(catalogue: Catalogue, hazard: str, jurisdiction: str = UNSTATED) -> Fact[str]:
    """The stream that waste of this hazard goes into here: by the jurisdiction's rule, else by common practice."""
    rule = waste_rule(catalogue, hazard, jurisdiction)
    if rule is not None and rule.stream is not None:
        return rule.stream
    return catalogue.hazards[hazard].waste_stream


def protection_factors(catalogue: Catalogue, kind: str, jurisdiction: str) -> tuple[ProtectionFactor, ...]:
    """The factors that this jurisdiction assigns to classes of respirator that this kind of item can be.

    Empty: unknown. Factors of another jurisdiction are never handed out in its place.
    """
    return tuple(
        one for one in catalogue.protection_factors.values() if one.jurisdiction == jurisdiction and kind in one.kinds
    )

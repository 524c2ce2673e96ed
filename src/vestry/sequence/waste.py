"""Where what comes off goes."""

from __future__ import annotations

from vestry.sequence.case import Case
from vestry.sequence.policy import Policy
from vestry.trade import Catalogue
from vestry.trade.jurisdictions import waste_stream


def stream_for(items: tuple[str, ...], case: Case, policy: Policy, catalogue: Catalogue) -> str:
    """The waste stream of what comes off together: its own way for what is used again, else that of the hazard here."""
    if items and all(catalogue.items[item].reusable for item in items):
        return "reusable-parts"
    fact = waste_stream(catalogue, case.hazard, policy.jurisdiction)
    return fact.value or fact.default or "infectious-lined"

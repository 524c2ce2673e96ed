"""The setting of the contact model that a case asks for."""

from __future__ import annotations

from vestry.contact.compiler import setting_of
from vestry.contact.exposure import Setting
from vestry.sequence.case import Case
from vestry.trade import Catalogue, Order, OrderCase, Step


def setting_for(case: Case, catalogue: Catalogue, switched_off: frozenset[str] = frozenset()) -> Setting:
    """The setting of the contact model that a case asks for."""
    order = Order(
        format_version=1,
        title="case",
        worn=(),
        steps=(Step(act="confirm"),),
        case=OrderCase(hazard=case.hazard, presentation=case.presentation),
    )
    return setting_of(order, catalogue, switched_off)

"""What could be worn when something runs out, and what that does to the further errors before exposure.

Each is planned and checked against the contact model afresh; none is approved, and nobody is known to have practised
it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from vestry.sequence import Assurance, NoPlan, Plan, Substitution, Table, assure, substitute
from vestry.sequence.assurance import EndpointClass
from vestry.trade import Catalogue
from vestry.trade.values import Id, Value

Margin = int | None


class Further(Value):
    """Fewest errors until one endpoint is reached at any time, before and after; null: more than were searched for."""

    endpoint: EndpointClass
    before: Margin
    after: Margin


class Instead(Value):
    """A plan without an item that runs out.

    found       planned: there is one; no-plan: nothing at hand protects; team-only: only observer or assistant wears it
    worn        what is put on that was not before; left: what is no longer worn, the item itself included
    clean       whether nothing is reached with every step as taught
    fewest      fewest further errors before exposure at any step, before and after; null: more than were searched for
    watch       steps at which one error suffices, before and after
    """

    ensemble: Id
    without: Id
    found: Literal["planned", "no-plan", "team-only"]
    why_not: str = ""
    plan: str | None = None
    worn: tuple[Id, ...] = ()
    left: tuple[Id, ...] = ()
    clean: bool | None = None
    fewest: tuple[Margin, Margin] = (None, None)
    watch: tuple[int, int] = (0, 0)
    further: tuple[Further, ...] = ()


def instead_of(ensemble: str, plan: Plan, item: str, at_hand: Iterable[str], catalogue: Catalogue) -> Instead:
    """The plan of an ensemble without an item; `at_hand`: what else there is."""
    return planned_instead(ensemble, plan, item, at_hand, catalogue)[0]


def planned_instead(
    ensemble: str, plan: Plan, item: str, at_hand: Iterable[str], catalogue: Catalogue
) -> tuple[Instead, Plan | None]:
    """As `instead_of`, with the plan itself, where there is one."""
    if item not in plan.worn:
        return Instead(ensemble=ensemble, without=item, found="team-only"), None
    team = {one for member in plan.team for one in member.worn}
    hand = [one for one in catalogue.items if one in {*plan.worn, *team, *at_hand}]
    asked = plan.model_copy(update={"case": plan.case.model_copy(update={"gear": tuple(hand)})})
    try:
        found = substitute(asked, item, catalogue)
    except NoPlan as none:
        return Instead(ensemble=ensemble, without=item, found="no-plan", why_not=none.why), None
    return _told(ensemble, plan, item, found, assure(plan, catalogue)), found.plan


def _told(ensemble: str, plan: Plan, item: str, found: Substitution, before: Assurance) -> Instead:
    a, b = found.comparison.a, found.comparison.b
    margins = [{one.endpoint: one.margin for one in _plain(which).endpoints} for which in (before, found.assurance)]
    return Instead(
        ensemble=ensemble,
        without=item,
        found="planned",
        plan=found.plan.hash,
        worn=tuple(one for one in found.plan.worn if one not in plan.worn),
        left=tuple(one for one in plan.worn if one not in found.plan.worn),
        clean=found.assurance.clean,
        fewest=(a.fewest, b.fewest),
        watch=(a.watch, b.watch),
        further=tuple(
            Further(endpoint=endpoint, before=margins[0][endpoint], after=margins[1].get(endpoint))
            for endpoint in margins[0]
        ),
    )


def _plain(assurance: Assurance) -> Table:
    """Counts from all loads, when nothing has a hidden fault."""
    return next(one for one in assurance.tables if one.loads == "all" and not one.latent)

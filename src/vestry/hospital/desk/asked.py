"""What a page of findings is asked about: a published order, a planned case, or a version of a procedure.

It is named in the address as `order:ID`, `case:UUID` or `procedure:UUID`.
"""

from __future__ import annotations

import uuid
from functools import lru_cache
from typing import Any

from django.http import Http404
from django.utils.translation import gettext

from vestry.hospital import facts
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import PlannedCase, ProcedureVersion
from vestry.hospital.desk.showing import title_of
from vestry.sequence import Comparison, Plan, Subject, compare, subject_of_order, subject_of_plan
from vestry.trade import BadFacts, Order, read_order
from vestry.trade.orders import packaged_orders

PRESENTATIONS = ("dry", "wet")


@lru_cache(maxsize=1)
def orders() -> dict[str, Order]:
    """The published and practice orders that are shipped, by id."""
    return {name: read_order(text, name) for name, text in packaged_orders().items()}


def presentation_of(request: Any) -> str | None:
    """The presentation that the address asks for; anything else is none."""
    asked = request.GET.get("presentation")
    return asked if asked in PRESENTATIONS else None


def subject_of(name: str, presentation: str | None = None) -> Subject:
    """The subject that an address names; Http404 where there is none. A plan is always judged for its own case."""
    sort, _, key = name.partition(":")
    if sort == "order" and key in orders():
        return order_subject(key, presentation or orders()[key].case.presentation)
    if sort == "case":
        return plan_subject(planned_plan(key))
    if sort == "procedure":
        version = ProcedureVersion.objects.select_related("procedure").filter(pk=_uuid(key)).first()
        if version is not None:
            plan = approved_of(version.pk).plan
            return subject_of_plan(plan, plan.hash, str(version), facts.catalogue_of(version.facts))
    raise Http404(f"nothing is called {name}")


def plan_of(name: str) -> Plan:
    """The plan that an address names; Http404 for an order, which has none."""
    plan = subject_of(name).plan
    if plan is None:
        raise Http404(f"{name} is no plan")
    return plan


def planned_plan(key: str) -> Plan:
    """The plan of a planned case."""
    planned = PlannedCase.objects.filter(pk=_uuid(key), state=PlannedCase.PLANNED).first()
    if planned is None or planned.worked_out is None:
        raise Http404("no such planned case")
    return Plan.model_validate(planned.worked_out["plan"])


def plan_subject(plan: Plan) -> Subject:
    """A plan that is not approved, as a subject. On the facts as shipped where a fact that it names was retired."""
    try:
        return subject_of_plan(plan, plan.hash, title_of(plan, facts.catalogue()), facts.catalogue())
    except (BadFacts, KeyError):
        return subject_of_plan(plan, plan.hash, title_of(plan, facts.shipped()), facts.shipped())


def order_subject(name: str, presentation: str) -> Subject:
    """A shipped order as a subject, on today's facts; kept, since an order never changes.

    On the facts as shipped where those of the hospital no longer hold what the order names.
    """
    return _order_subject(name, presentation, facts.catalogue().digest)


@lru_cache(maxsize=256)
def _order_subject(name: str, presentation: str, digest: str) -> Subject:
    order = orders()[name]
    case = order.case.model_copy(update={"presentation": presentation})
    judged = order.model_copy(update={"case": case})
    try:
        return subject_of_order(judged, name, facts.catalogue_of(digest))
    except BadFacts:
        return subject_of_order(judged, name, facts.shipped())


@lru_cache(maxsize=256)
def orders_compared(a: str, b: str, presentation: str, digest: str) -> Comparison:
    """Two shipped orders compared; kept."""
    return compare(order_subject(a, presentation), order_subject(b, presentation))


def _uuid(key: str) -> uuid.UUID:
    try:
        return uuid.UUID(key)
    except ValueError:
        raise Http404("no such id") from None


def choices() -> list[tuple[str, list[tuple[str, str]]]]:
    """Everything that can be asked about, in groups, for a list to choose from."""
    versions = ProcedureVersion.objects.select_related("procedure").defer("approved")
    planned = PlannedCase.objects.filter(state=PlannedCase.PLANNED).defer("worked_out")[:30]
    return [
        (gettext("Procedures"), [(f"procedure:{one.pk}", str(one)) for one in versions]),
        (
            gettext("Cases planned, unapproved"),
            [(f"case:{one.pk}", f"{one}, {one.asked_at:%d %B %Y}") for one in planned],
        ),
        (
            gettext("Published orders and common practice"),
            [(f"order:{name}", one.title) for name, one in orders().items()],
        ),
    ]

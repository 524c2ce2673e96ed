"""Where the approved versions stand today: retired, due for review, or with other facts beneath them."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from django.utils import timezone

from vestry.hospital import facts
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ApprovalBasis, ProcedureVersion
from vestry.procedure import Approval, Standing, Touched, standing, touched, used
from vestry.sequence import Plan, program_of
from vestry.sequence.assurance import MODEL_VERSION
from vestry.trade import Catalogue

Basis = tuple[dict[str, str], dict[str, Any]]
"""The records used, and the compiled way out."""
_BASES: dict[tuple[str, str], Basis] = {}


def standing_of(version: ProcedureVersion, model: str = MODEL_VERSION) -> Standing:
    """Where this version stands on the facts in force today."""
    return standing(
        _approval(version),
        facts=facts.catalogue().digest,
        model=model,
        today=timezone.localdate().isoformat(),
        retired=version.retired,
        touched=touched_under(version),
    )


def touched_under(version: ProcedureVersion) -> tuple[Touched, ...] | None:
    """The facts beneath a version that are others now; None where it was approved before it was kept which it uses."""
    if version.facts == facts.catalogue().digest:
        return ()
    return _touched(version.pk, facts.catalogue().digest)


def in_force(versions: Iterable[ProcedureVersion] | None = None) -> list[ProcedureVersion]:
    """The newest version of each procedure that is not retired, by title."""
    newest: dict[int, ProcedureVersion] = {}
    if versions is None:
        versions = (
            ProcedureVersion.objects.filter(retirement=None)
            .select_related("procedure", "approved_by")
            .defer("approved")
        )
    for version in versions:
        newest.setdefault(version.procedure_id, version)
    return sorted(newest.values(), key=lambda one: one.procedure.title)


def basis_of(plan: Plan, catalogue: Catalogue) -> Basis:
    """What an approval of this plan on these facts rests on; kept, since neither ever changes."""
    name = (plan.hash, catalogue.digest)
    if name not in _BASES:
        if len(_BASES) >= 32:
            _BASES.clear()
        _BASES[name] = (used(plan, catalogue), program_of(plan, catalogue).as_json())
    return _BASES[name]


@lru_cache(maxsize=256)
def _touched(key: uuid.UUID, digest: str) -> tuple[Touched, ...] | None:
    basis = ApprovalBasis.objects.filter(version=key).values_list("used", flat=True).first()
    if basis is None:
        return None
    return touched(basis, approved_of(key).plan, facts.catalogue())


def _approval(version: ProcedureVersion) -> Approval:
    return Approval(
        procedure=version.procedure.slug,
        version=version.number,
        reason=version.reason,
        approved_by=version.approved_by.name,
        at=version.at.isoformat(),
        review_on=version.review_on.isoformat(),
        plan=version.plan_hash,
        facts=version.facts,
        model=version.model,
    )

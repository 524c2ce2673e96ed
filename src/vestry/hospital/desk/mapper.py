"""Rows of the desk to frozen values. A version is never changed, so what was read once is kept."""

from __future__ import annotations

import uuid
from functools import lru_cache
from typing import Any

from vestry.hospital import facts
from vestry.hospital.desk.models import ProcedureVersion
from vestry.procedure import Approved, Scene, own_scenes, recovery_scenes
from vestry.sequence import Case, Policy
from vestry.trade import BadFacts


@lru_cache(maxsize=32)
def approved_of(key: uuid.UUID) -> Approved:
    """The approved procedure of a version, by the version's id."""
    return Approved.model_validate(ProcedureVersion.objects.values_list("approved", flat=True).get(pk=key))


@lru_cache(maxsize=64)
def answer_scenes_of(key: uuid.UUID, name: str) -> tuple[Scene, ...]:
    """The scenes of an approved answer; none where the facts of its approval can no longer be read."""
    approved = approved_of(key)
    answer = approved.answer_named(name)
    try:
        return recovery_scenes(approved, answer, facts.catalogue_of(approved.approval.facts)) if answer else ()
    except BadFacts:
        return ()


@lru_cache(maxsize=64)
def own_scenes_of(key: uuid.UUID, role: str) -> tuple[Scene, ...]:
    """The scenes of somebody's own way out; none where the facts of its approval can no longer be read."""
    approved = approved_of(key)
    member = next((one for one in approved.plan.team if one.role == role), None)
    try:
        return own_scenes(approved.plan, member, facts.catalogue_of(approved.approval.facts)) if member else ()
    except BadFacts:
        return ()


def case_of(document: Any) -> Case:
    return Case.model_validate(document)


def policy_of(document: Any) -> Policy:
    return Policy.model_validate(document)

"""What the board needs of an approved version: made once, since a version never changes."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from functools import lru_cache

from vestry.contact.lane import Between
from vestry.contact.program import Program
from vestry.hospital import facts
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ApprovalBasis
from vestry.procedure import Approved
from vestry.sequence import program_of
from vestry.sequence.lane import shared_owners, turnaround
from vestry.sequence.setting import setting_for
from vestry.sequence.timing import span_of
from vestry.trade import Catalogue

_SHOWN = ("gown", "coverall", "apron", "respirator", "mask", "papr-hood", "papr-helmet", "shield", "goggles", "hood")
MOST_SHOWN = 3


@dataclass(frozen=True)
class OfVersion:
    """seconds: by step, reckoned slow; turned_around: how long the lane takes between two, reckoned slow."""

    limit: timedelta
    seconds: Mapping[str, int]
    worn: tuple[str, ...]
    case: str
    wet: bool
    hazard: str
    turned_around: timedelta
    program: Program
    between: tuple[Between, ...]
    shared: frozenset[str]


@lru_cache(maxsize=32)
def of_version(key: uuid.UUID) -> OfVersion:
    """What the board needs of it."""
    approved = approved_of(key)
    plan, catalogue = approved.plan, facts.catalogue_of(approved.approval.facts)
    return OfVersion(
        limit=timedelta(minutes=plan.policy.limit_minutes),
        seconds={step.id: span_of(step.act, step.items, step.agent, catalogue).most for step in plan.steps}
        | {
            step.id: span_of(step.act, step.items, step.agent, catalogue).most
            for answer in approved.answers
            for step in answer.steps
        },
        worn=_worn(approved, catalogue),
        case=plan.case.code,
        wet=plan.case.presentation == "wet",
        hazard=plan.case.hazard,
        turned_around=_turned_around(catalogue),
        program=_program(key, approved, catalogue),
        between=turnaround(plan.policy, catalogue, setting_for(plan.case, catalogue)),
        shared=shared_owners(catalogue),
    )


def _worn(approved: Approved, catalogue: Catalogue) -> tuple[str, ...]:
    """The few items that tell one ensemble from another."""
    known = {item: catalogue.items[item].kind for item in approved.plan.worn if item in catalogue.items}
    listed = sorted((item for item in known if known[item] in _SHOWN), key=lambda item: _SHOWN.index(known[item]))
    return tuple(listed[:MOST_SHOWN])


def _turned_around(catalogue: Catalogue) -> timedelta:
    """Each thing wiped, and the gloves at the end."""
    wipes = len(catalogue.turnarounds) - 1
    spans = [
        *(span_of("wipe", (), None, catalogue) for _ in range(wipes)),
        span_of("disinfect-gloves", (), None, catalogue),
    ]
    return timedelta(seconds=sum(one.most for one in spans))


def _program(key: uuid.UUID, approved: Approved, catalogue: Catalogue) -> Program:
    basis = ApprovalBasis.objects.filter(version=key).first()
    return Program.from_json(basis.program) if basis else program_of(approved.plan, catalogue)

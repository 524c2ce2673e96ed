"""Planning a case beside the page that asked for it: gather, work out, store.

The computation runs outside any transaction. Where the process ends half-way, the case stays waiting, and the page
offers to plan it again.
"""

from __future__ import annotations

import logging
import threading
import uuid
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.db import close_old_connections
from django.utils import timezone
from django.utils.translation import gettext_noop

from vestry.hospital import facts
from vestry.hospital.desk.mapper import case_of, policy_of
from vestry.hospital.desk.models import PlannedCase
from vestry.hospital.later import later
from vestry.hospital.writing import writing
from vestry.procedure import Answer, Scene, answers_of, scenes_of
from vestry.sequence import Assurance, Case, NoPlan, Plan, Policy, assure, plan_case, recoveries
from vestry.trade import BadFacts
from vestry.trade.values import Value

log = logging.getLogger("vestry.planning")
_ONE_AT_A_TIME = ThreadPoolExecutor(max_workers=1, thread_name_prefix="planning")
_progress: dict[uuid.UUID, str] = {}
_lock = threading.Lock()


class WorkedOut(Value):
    """Everything that planning makes of a case, and that the lead approves together."""

    plan: Plan
    assurance: Assurance
    scenes: tuple[Scene, ...]
    answers: tuple[Answer, ...]


@dataclass(frozen=True)
class Report:
    """How far planning is, in words; None: nothing is being worked on."""

    words: str | None


def work_out(case: Case, policy: Policy, say: Any = lambda words: None) -> WorkedOut:
    """The plan, its assurance, its scenes and its answers. NoPlan and BadFacts as plan_case gives them."""
    catalogue = facts.catalogue()
    say(later(gettext_noop("Choosing the ensemble and the order")))
    plan = plan_case(case, policy, catalogue)
    say(later(gettext_noop("Checking every step against the contact model")))
    assurance = assure(plan, catalogue)
    scenes = scenes_of(plan, catalogue)
    answering = gettext_noop("Answers to deviations: step %(one)s of %(all)s")
    found = recoveries(plan, catalogue, lambda done, all_: say(later(answering, one=done + 1, all=all_)))
    return WorkedOut(plan=plan, assurance=assurance, scenes=scenes, answers=answers_of(plan, found, catalogue))


def plan_later(planned: PlannedCase) -> None:
    """Work a case out beside the request; in place where the settings say so."""
    with _lock:
        if planned.pk in _progress:
            return
        _progress[planned.pk] = later(gettext_noop("Waiting for its turn"))
    if settings.PLAN_IN_PLACE:
        _run(planned.pk, keep_connection=True)
    else:
        _ONE_AT_A_TIME.submit(_run, planned.pk)


def report(planned: PlannedCase) -> Report:
    return Report(_progress.get(planned.pk))


def _run(key: uuid.UUID, keep_connection: bool = False) -> None:
    try:
        planned = PlannedCase.objects.get(pk=key)
        changes = _outcome(planned, key)
        with writing():
            PlannedCase.objects.filter(pk=key).update(done_at=timezone.now(), **changes)
    except Exception:
        log.exception("planning %s was not stored", key)
    finally:
        with _lock:
            _progress.pop(key, None)
        if not keep_connection:
            close_old_connections()


def _outcome(planned: PlannedCase, key: uuid.UUID) -> dict[str, Any]:
    try:
        done = work_out(case_of(planned.case), policy_of(planned.policy), lambda words: _progress.update({key: words}))
    except NoPlan as no:
        return {"state": PlannedCase.REFUSED, "refusal": refusal(no)}
    except BadFacts as bad:
        problems = [{"field": one.field, "what": one.what} for one in bad.problems]
        return {"state": PlannedCase.FAILED, "refusal": {"problems": problems}}
    except Exception:
        log.exception("planning %s failed", key)
        return {"state": PlannedCase.FAILED, "refusal": {"problems": []}}
    document = done.model_dump(mode="json", by_alias=True)
    return {"state": PlannedCase.PLANNED, "plan_hash": done.plan.hash, "worked_out": document, "refusal": None}


def refusal(no: NoPlan) -> dict[str, Any]:
    """A refusal as plain data."""
    return {
        "why": no.why,
        "reasons": [
            {"site": one.site, "route": one.route, "requirement": one.requirement, "would": list(one.would)}
            for one in no.reasons
        ],
    }

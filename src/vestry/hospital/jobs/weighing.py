"""Weighing rules beside the page that asked. A result is kept for a while and stored nowhere."""

from __future__ import annotations

import logging
import threading
from collections import OrderedDict
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from django.conf import settings
from django.utils.translation import gettext_noop

from vestry.hospital import facts
from vestry.hospital.later import later
from vestry.sequence import Case, NoPlan, Policy, Weighing, weigh
from vestry.trade import BadFacts, Catalogue

log = logging.getLogger("vestry.weighing")
_ONE_AT_A_TIME = ThreadPoolExecutor(max_workers=1, thread_name_prefix="weighing")
_KEPT = 24
_lock = threading.Lock()
_done: OrderedDict[str, State] = OrderedDict()
_under_way: dict[str, State] = {}


@dataclass(frozen=True)
class State:
    """How far a weighing is: words while it is under way; then what was found, or why there is nothing."""

    words: str = ""
    found: Weighing | None = None
    why: str = ""


def weighed(case: Case, policy: Policy) -> State:
    """The weighing of a case under a policy, or how far it is; asking starts it."""
    catalogue = facts.catalogue()
    key = f"{catalogue.digest} {case.model_dump_json()} {policy.model_dump_json()}"
    with _lock:
        if key in _done:
            _done.move_to_end(key)
            return _done[key]
        if key in _under_way:
            return _under_way[key]
        _under_way[key] = State(words=later(gettext_noop("Waiting for its turn")))
    if settings.PLAN_IN_PLACE:
        _run(key, case, policy, catalogue)
        return _done[key]
    _ONE_AT_A_TIME.submit(_run, key, case, policy, catalogue)
    return _under_way.get(key) or _done[key]


def _run(key: str, case: Case, policy: Policy, catalogue: Catalogue) -> None:
    def say(done: int, all_: int) -> None:
        _under_way[key] = State(words=later(gettext_noop("Rule %(one)s of %(all)s"), one=done + 1, all=all_))

    try:
        state = State(found=weigh(case, policy, catalogue, say))
    except NoPlan as none:
        state = State(why=str(none))
    except BadFacts as bad:
        state = State(why="; ".join(problem.what for problem in bad.problems))
    except Exception:
        log.exception("weighing failed")
        state = State(why="It failed. It is Vestry's fault, not yours; the log says more.")
    with _lock:
        _done[key] = state
        while len(_done) > _KEPT:
            _done.popitem(last=False)
        _under_way.pop(key, None)

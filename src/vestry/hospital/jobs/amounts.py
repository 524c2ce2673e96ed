"""Amounts beside the page that asked: drawn outside any transaction, told how far they are, stopped when asked to.

An answer is kept for a while and stored nowhere. Twenty thousand runs are there before the page has to wait; more are
drawn beside the request, and the page says how far they are.
"""

from __future__ import annotations

import hashlib
import logging
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, replace

from django.conf import settings
from django.utils.translation import gettext_noop

from vestry.hospital.later import later
from vestry.sequence import NoPlan
from vestry.sequence.amounts import Asked, amounts, differ
from vestry.sequence.amounts_found import AmountsDiffer, AmountsFound, WhatIf
from vestry.sequence.whatif import what_if
from vestry.trade import BadFacts

log = logging.getLogger("vestry.amounts")
_ONE_AT_A_TIME = ThreadPoolExecutor(max_workers=1, thread_name_prefix="amounts")
_KEPT = 16
PATIENCE = 4.0  # seconds that a page waits before it says how far the runs are
_lock = threading.Lock()
_done: OrderedDict[str, State] = OrderedDict()
_under_way: dict[str, State] = {}
_futures: dict[str, Future[None]] = {}
_stopping: set[str] = set()
STAGES = {
    "draws": gettext_noop("Runs"),
    "contributions": gettext_noop("What goes with each step: runs"),
    "unknowns": gettext_noop("Which estimate matters: runs"),
    "changes": gettext_noop("Changes"),
    "other": gettext_noop("The other sequence"),
}
_COUNTED = gettext_noop("%(what)s %(done)s of %(all)s")


class Stopped(Exception):
    """Somebody asked for it to stop."""


@dataclass(frozen=True)
class Found:
    """What was found: amounts with, where another was named, the difference; or what changes buy. Seconds it took."""

    seconds: float
    amounts: AmountsFound | None = None
    other: AmountsFound | None = None
    differ: AmountsDiffer | None = None
    changes: WhatIf | None = None
    bound: Asked | None = None
    beside: Asked | None = None


@dataclass(frozen=True)
class State:
    """How far it is: words while it is under way; then what was found, or why there is nothing."""

    name: str
    words: str = ""
    found: Found | None = None
    why: str = ""
    stopped: bool = False


Progress = Callable[[str, int, int], bool]


def amounts_of(asked: Asked, other: Callable[[], Asked] | None) -> Callable[[Progress], Found]:
    """The question of the first page: everything on one sequence, and beside another where one is named."""

    def ask(progress: Progress) -> Found:
        start = time.perf_counter()
        found = amounts(asked, progress=progress)
        if other is None:
            return Found(time.perf_counter() - start, amounts=found, bound=asked)
        progress("other", 0, 0)
        beside = other()
        theirs = amounts(beside, with_contributions=False, with_unknowns=False, progress=progress)
        both = differ(asked, beside)
        return Found(time.perf_counter() - start, found, theirs, both, bound=asked, beside=beside)

    return ask


def changes_of(asked: Asked) -> Callable[[Progress], Found]:
    """The question of the second page: what a change would buy."""

    def ask(progress: Progress) -> Found:
        start = time.perf_counter()
        found = what_if(asked, lambda done, total: progress("changes", done, total))
        return Found(time.perf_counter() - start, changes=found, bound=asked)

    return ask


def name_of(key: str) -> str:
    """A short name for a question, for addresses and forms."""
    return hashlib.sha256(key.encode()).hexdigest()[:32]


def answered(key: str, ask: Callable[[Progress], Found], *, again: bool = False) -> State:
    """The answer to a question, or how far it is; asking starts it, once.

    again    forget that it was stopped, or failed, and ask anew
    """
    name = name_of(key)
    with _lock:
        known = _done.get(name)
        if known is not None and not (again and known.found is None):
            _done.move_to_end(name)
            return known
        _done.pop(name, None)
        if name not in _under_way:
            _under_way[name] = State(name, words=later(gettext_noop("Waiting for its turn")))
            _stopping.discard(name)
            future = None
            if not settings.PLAN_IN_PLACE:
                future = _futures[name] = _ONE_AT_A_TIME.submit(_run, name, ask)
        else:
            future = _futures.get(name)
    if settings.PLAN_IN_PLACE:
        _run(name, ask)
    elif future is not None:
        wait([future], PATIENCE)
    with _lock:
        return _done.get(name) or _under_way.get(name) or State(name, why="It was forgotten. Ask again.")


def stop(name: str) -> bool:
    """Ask for a question to be given up; whether it was under way."""
    with _lock:
        if name in _under_way:
            _stopping.add(name)
        return name in _under_way


def _run(name: str, ask: Callable[[Progress], Found]) -> None:
    said = later(gettext_noop("Beginning"))

    def progress(stage: str, done: int, total: int) -> bool:
        nonlocal said
        if name in _stopping:
            raise Stopped(said)
        said = later(STAGES[stage]) if not total else later(_COUNTED, what=later(STAGES[stage]), done=done, all=total)
        _under_way[name] = State(name, words=said)
        return True

    try:
        progress("draws", 0, 0)
        state = State(name, found=ask(progress))
    except Stopped as stopped:
        state = State(name, why=later(gettext_noop("Stopped at: %(stage)s."), stage=stopped.args[0]), stopped=True)
    except NoPlan as none:
        state = State(name, why=str(none))
    except BadFacts as bad:
        state = State(name, why="; ".join(str(problem) for problem in bad.problems))
    except Exception:
        log.exception("amounts failed")
        state = State(name, why="It failed. It is Vestry's fault, not yours; the log says more.")
    with _lock:
        _done[name] = state
        while len(_done) > _KEPT:
            _done.popitem(last=False)
        _under_way.pop(name, None)
        _futures.pop(name, None)
        _stopping.discard(name)


def warm_up() -> None:
    """Load and compile the fast engine in the background, so that the first who asks need not wait for it."""

    def run() -> None:
        from vestry.contact.amounts import warm
        from vestry.sequence import subject_of_order
        from vestry.sequence.amounts import context_of
        from vestry.trade import load_catalogue, load_evidence, read_order
        from vestry.trade.orders import packaged_orders

        try:
            warm()
            name, text = next(iter(packaged_orders().items()))
            subject = subject_of_order(read_order(text, name), name, load_catalogue())
            asked = Asked(subject, load_evidence(), context_of(subject), draws=200)
            amounts(replace(asked, choice="auto"))
        except Exception:
            log.exception("the fast engine could not be made ready; the plain one runs")

    threading.Thread(target=run, name="amounts-warm", daemon=True).start()

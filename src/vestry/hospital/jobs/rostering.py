"""Proposing a roster beside the page that asked. The same rota gives the same roster, so nothing of it is stored."""

from __future__ import annotations

import hashlib
import logging
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass

from django.conf import settings
from django.utils.translation import gettext as _

from vestry.roster import Roster, Rota, propose
from vestry.roster.closing import closing
from vestry.roster.found import Closing
from vestry.trade import BadFacts

log = logging.getLogger("vestry.rostering")
_ONE_AT_A_TIME = ThreadPoolExecutor(max_workers=1, thread_name_prefix="rostering")
_KEPT = 16
PATIENCE = 1.0  # seconds that a page waits before it says that it is being worked out
_lock = threading.Lock()
_done: OrderedDict[str, State] = OrderedDict()
_under_way: dict[str, Future[None]] = {}


@dataclass(frozen=True)
class State:
    """What is proposed, or why nothing is; neither while it is under way. `name`: of exactly this proposal."""

    found: Roster | None = None
    closing: Closing | None = None
    why: str = ""

    @property
    def waiting(self) -> bool:
        """Whether it is still under way."""
        return self.found is None and self.closing is None and not self.why

    @property
    def name(self) -> str:
        """What is taken has to be what was seen."""
        return hashlib.sha256(self.found.model_dump_json().encode()).hexdigest()[:32] if self.found else ""


def proposed(rota: Rota) -> State:
    """The proposal for a rota that has been checked, or that it is under way; asking starts it, once."""
    return _answered(rota.model_dump_json(), lambda: State(propose(rota)))


def closed(rota: Rota, uncovered: int) -> State:
    """The smallest change that would close so many empty places of a rota whose roster is settled (`fixed`)."""
    return _answered(f"closing {rota.model_dump_json()}", lambda: State(closing=closing(rota, uncovered)))


def _answered(asked: str, ask: Callable[[], State]) -> State:
    key = hashlib.sha256(asked.encode()).hexdigest()
    with _lock:
        if key in _done:
            _done.move_to_end(key)
            return _done[key]
        future = _under_way.get(key)
        if future is None and not settings.PLAN_IN_PLACE:
            future = _under_way[key] = _ONE_AT_A_TIME.submit(_run, key, ask)
    if future is None:
        _run(key, ask)
    else:
        wait([future], PATIENCE)
    with _lock:
        return _done.get(key) or State()


def _run(key: str, ask: Callable[[], State]) -> None:
    try:
        state = ask()
    except BadFacts as bad:
        state = State(why="; ".join(problem.what for problem in bad.problems))
    except Exception:
        log.exception("a roster failed")
        state = State(why=_("It failed. It is Vestry's fault, not yours; the log says more."))
    with _lock:
        _done[key] = state
        while len(_done) > _KEPT:
            _done.popitem(last=False)
        _under_way.pop(key, None)

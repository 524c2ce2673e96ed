"""A forecast beside the page that asked. What was found is kept for a while and stored nowhere."""

from __future__ import annotations

import hashlib
import logging
import threading
from collections import OrderedDict
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass

from django.conf import settings
from django.utils.translation import gettext as _

from vestry.readiness import Stay
from vestry.readiness.again_with import Beside, beside
from vestry.trade import BadFacts, Catalogue

log = logging.getLogger("vestry.forecasting")
_ONE_AT_A_TIME = ThreadPoolExecutor(max_workers=1, thread_name_prefix="forecasting")
_KEPT = 16
PATIENCE = 1.5  # seconds that a page waits before it says that it is being worked out
_lock = threading.Lock()
_done: OrderedDict[str, State] = OrderedDict()
_under_way: dict[str, Future[None]] = {}


@dataclass(frozen=True)
class State:
    """What was found, or why there is nothing; neither while it is under way."""

    found: Beside | None = None
    why: str = ""

    @property
    def waiting(self) -> bool:
        """Whether it is still under way."""
        return self.found is None and not self.why


def answered(stay: Stay, catalogue: Catalogue) -> State:
    """The forecast of a stay that has been checked, or that it is under way; asking starts it, once."""
    key = hashlib.sha256(f"{catalogue.digest} {stay.model_dump_json()}".encode()).hexdigest()
    with _lock:
        if key in _done:
            _done.move_to_end(key)
            return _done[key]
        future = _under_way.get(key)
        if future is None and not settings.PLAN_IN_PLACE:
            future = _under_way[key] = _ONE_AT_A_TIME.submit(_run, key, stay, catalogue)
    if future is None:
        _run(key, stay, catalogue)
    else:
        wait([future], PATIENCE)
    with _lock:
        return _done.get(key) or State()


def _run(key: str, stay: Stay, catalogue: Catalogue) -> None:
    try:
        state = State(beside(stay, catalogue))
    except BadFacts as bad:
        state = State(why="; ".join(problem.what for problem in bad.problems))
    except Exception:
        log.exception("a forecast failed")
        state = State(why=_("It failed. It is Vestry's fault, not yours; the log says more."))
    with _lock:
        _done[key] = state
        while len(_done) > _KEPT:
            _done.popitem(last=False)
        _under_way.pop(key, None)

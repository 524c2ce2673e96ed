"""Work beside the page that asked. What was found is kept for a while and stored nowhere."""

from __future__ import annotations

import hashlib
import logging
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from typing import Generic, TypeVar

from django.conf import settings
from django.utils.translation import gettext as _

from vestry.trade import BadFacts

Answer = TypeVar("Answer")


class Beside(Generic[Answer]):
    """One piece of work at a time, each question worked out once, the newest answers kept.

    kind      what it is, for the log and the thread
    why       an answer that says why there is none
    patience  seconds that a page waits before it says that it is being worked out
    """

    def __init__(self, kind: str, why: Callable[[str], Answer], patience: float, kept: int = 16) -> None:
        self._why, self._patience, self._most = why, patience, kept
        self._log = logging.getLogger(f"vestry.{kind}")
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix=kind)
        self._lock = threading.Lock()
        self._done: OrderedDict[str, Answer] = OrderedDict()
        self._under_way: dict[str, Future[None]] = {}

    def answer(self, asked: str, work: Callable[[], Answer]) -> Answer | None:
        """The answer to this question; None while it is under way. Asking starts it, once."""
        key = hashlib.sha256(asked.encode()).hexdigest()
        with self._lock:
            if key in self._done:
                self._done.move_to_end(key)
                return self._done[key]
            future = self._under_way.get(key)
            if future is None and not settings.PLAN_IN_PLACE:
                future = self._under_way[key] = self._pool.submit(self._run, key, work)
        if future is None:
            self._run(key, work)
        else:
            wait([future], self._patience)
        with self._lock:
            return self._done.get(key)

    def _run(self, key: str, work: Callable[[], Answer]) -> None:
        try:
            found = work()
        except BadFacts as bad:
            found = self._why("; ".join(problem.what for problem in bad.problems))
        except Exception:
            self._log.exception("it failed")
            found = self._why(_("It failed. It is Vestry's fault, not yours; the log says more."))
        with self._lock:
            self._done[key] = found
            while len(self._done) > self._most:
                self._done.popitem(last=False)
            self._under_way.pop(key, None)

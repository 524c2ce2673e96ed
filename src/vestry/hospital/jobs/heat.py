"""Predicting heat strain beside the request: the library takes long to come up, and nobody at the door waits for it.

What was predicted for a reading and a procedure is kept in a row, so that it is there after a restart; what somebody
asks at the desk is remembered for a while.
"""

from __future__ import annotations

import hashlib
import json
import logging
from collections import OrderedDict
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict
from threading import Lock

from django.conf import settings
from django.db import close_old_connections
from django.utils import timezone

from vestry.heat import Conditions, Limit, Outside, Predicted, Reason, Shortening, predict, shortenings
from vestry.hospital.rooms.mapper import operations
from vestry.hospital.rooms.models import HeatFound
from vestry.hospital.writing import writing

log = logging.getLogger("vestry.heat")
MOST = 64
_ONE_AT_A_TIME = ThreadPoolExecutor(max_workers=1, thread_name_prefix="heat")
_lock = Lock()
_waiting: set[tuple[str, bool]] = set()
_remembered: OrderedDict[str, Predicted | Outside] = OrderedDict()


def kept(conditions: Conditions) -> Sequence[Shortening] | None:
    """The limits that were predicted; None while they are not known, and then they are worked out. Outside."""
    row = HeatFound.objects.filter(pk=key_of(conditions)).first()
    if row is None:
        later(conditions, keep=True)
        row = HeatFound.objects.filter(pk=key_of(conditions)).first() if settings.PLAN_IN_PLACE else None
    if row is None:
        return None
    if row.found is None:
        raise Outside(tuple(Reason(**one) for one in row.reasons))
    return shortenings(_predicted(row.found, conditions))


def asked(conditions: Conditions) -> Predicted | Outside | None:
    """What the model says, or why not; None while it is being worked out."""
    with _lock:
        found = _remembered.get(key_of(conditions))
    if found is None:
        later(conditions, keep=False)
        with _lock:
            found = _remembered.get(key_of(conditions))
    return found


def later(conditions: Conditions, *, keep: bool) -> None:
    """Work it out beside the request; in place where the settings say so."""
    name = (key_of(conditions), keep)
    with _lock:
        if name in _waiting or len(_waiting) >= MOST:
            return
        _waiting.add(name)
    if settings.PLAN_IN_PLACE:
        _run(conditions, keep, keep_connection=True)
    else:
        _ONE_AT_A_TIME.submit(_run, conditions, keep)


def key_of(conditions: Conditions) -> str:
    """A name for these conditions under the facts in force."""
    said = json.dumps([asdict(conditions), operations().digest], sort_keys=True)
    return hashlib.sha256(said.encode()).hexdigest()


def _run(conditions: Conditions, keep: bool, keep_connection: bool = False) -> None:
    key = key_of(conditions)
    try:
        found: Predicted | Outside
        try:
            found = predict(conditions, operations())
        except Outside as refused:
            found = refused
        if keep:
            _store(key, found)
        with _lock:
            _remembered[key] = found
            while len(_remembered) > MOST:
                _remembered.popitem(last=False)
    except Exception:
        log.exception("a prediction of heat strain failed")
    finally:
        with _lock:
            _waiting.discard((key, keep))
        if not keep_connection:
            close_old_connections()


def _store(key: str, found: Predicted | Outside) -> None:
    reasons = [asdict(one) for one in found.reasons] if isinstance(found, Outside) else []
    said = None if isinstance(found, Outside) else {**asdict(found), "conditions": None}
    with writing():
        if not HeatFound.objects.filter(pk=key).exists():
            HeatFound.objects.create(key=key, found=said, reasons=reasons, at=timezone.now())


def _predicted(said: dict[str, object], conditions: Conditions) -> Predicted:
    limits = {name: Limit(**said[name]) for name in ("core", "loss_half", "loss_most")}  # type: ignore[arg-type]
    return Predicted(**{**said, **limits, "conditions": conditions})  # type: ignore[arg-type]

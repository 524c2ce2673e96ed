"""Who is told that an entry is over, or that more was said of one that was. They are told after it is stored."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vestry.hospital.record.models import Entry

WHEN_OVER: list[Callable[[Entry], None]] = []
"""Other apps add to it when they are ready. None of them may raise: the record stands whatever becomes of the rest."""


def tell(entry: Entry) -> None:
    """Tell everyone, if it is over."""
    if entry.stage in ("closed", "abandoned"):
        for listener in WHEN_OVER:
            listener(entry)

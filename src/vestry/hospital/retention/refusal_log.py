"""The log of refusals, line by line: what of it is old, and cutting that away.

The newest file is written on by the process that serves. That one alone cuts it, holding the lock of its own log;
another process leaves it until it is one of the older files.
"""

from __future__ import annotations

import hashlib
import json
import logging
import os
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import ExitStack
from datetime import datetime
from pathlib import Path

from django.conf import settings

from vestry.retention import Subject

People = Callable[[Iterable[str]], frozenset[str]]


def subjects(people: People, *, live: bool) -> Iterator[Subject]:
    """One for each line that can be read. A hold on a person keeps the lines that name them."""
    known: dict[str, frozenset[str]] = {}
    for file in _files(live):
        for key, line in _lines(file):
            try:
                said = json.loads(line)
                at, who = datetime.fromisoformat(said["at"]), str(said["who"])
            except (ValueError, KeyError, TypeError):
                continue
            if who not in known:
                known[who] = people([who])
            yield Subject("refusals", key, at, people=known[who])


def cut(keys: Collection[str], *, live: bool) -> int:
    """Take these lines away; how many were there."""
    gone = 0
    with ExitStack() as locked:
        for handler in logging.getLogger("vestry.refused").handlers if live else ():
            handler.acquire()
            locked.callback(handler.release)
        for file in _files(live):
            rows = list(_lines(file))
            kept = [line for key, line in rows if key not in keys]
            if len(kept) < len(rows):
                gone += len(rows) - len(kept)
                _over(file, "".join(kept))
    return gone


def _over(file: Path, text: str) -> None:
    """In the same file, so that whoever writes on it writes on behind; the old bytes are overwritten first."""
    with file.open("r+b") as out:
        size = os.fstat(out.fileno()).st_size
        out.write(b"\n" * size)
        out.flush()
        os.fsync(out.fileno())
        out.seek(0)
        out.write(text.encode("utf-8"))
        out.truncate()
        out.flush()
        os.fsync(out.fileno())


def _files(live: bool) -> list[Path]:
    if settings.DATA is None:
        return []
    newest = Path(settings.DATA) / "refused.log"
    older = [newest.with_name(f"refused.log.{number}") for number in range(1, 10)]
    return [one for one in ([newest] if live else []) + older if one.is_file()]


def _lines(file: Path) -> Iterator[tuple[str, str]]:
    """Each line with its key: what it says, and which of its like it is in this file."""
    seen: Counter[str] = Counter()
    with file.open(encoding="utf-8", errors="replace", newline="") as lines:
        for line in lines:
            digest = hashlib.sha256(line.encode("utf-8", "replace")).hexdigest()[:24]
            seen[digest] += 1
            yield f"{digest}:{seen[digest]}", line

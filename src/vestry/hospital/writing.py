"""One writer at a time. SQLite lets writers pass each other unfairly; this lock does not."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from django.db import transaction

_LOCK = threading.RLock()


@contextmanager
def writing() -> Iterator[None]:
    """One short transaction. Nothing that takes time belongs inside it."""
    with _LOCK, transaction.atomic():
        yield

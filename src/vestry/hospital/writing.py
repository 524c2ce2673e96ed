"""One writer at a time. SQLite lets writers pass each other unfairly; this lock does not.

In PostgreSQL several processes may serve one record: there its own lock, held until the transaction ends, stands behind
that of the process. The record's chain needs it: each event names the one before.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction

_LOCK = threading.RLock()
RECORD = 0x76657374
"""The number of PostgreSQL's advisory lock, the same in every process."""


@contextmanager
def writing() -> Iterator[None]:
    """One short transaction. Nothing that takes time belongs inside it."""
    with _LOCK, transaction.atomic():
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_xact_lock(%s)", [RECORD])
        yield

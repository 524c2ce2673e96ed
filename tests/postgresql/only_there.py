"""What only PostgreSQL has to show. test_on_postgresql.py runs it there; by its name nothing else collects it."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction

from vestry.hospital import writing as module
from vestry.hospital.writing import writing

pytestmark = pytest.mark.django_db


def test_these_tests_run_where_they_say():
    assert connection.vendor == "postgresql"


def test_writers_of_other_processes_wait_too():
    other = connection.copy()
    try:
        with writing(), other.cursor() as cursor:
            cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [module.RECORD])
            assert cursor.fetchone() == (False,)
    finally:
        other.close()


def test_a_table_that_is_written_once_cannot_be_emptied_at_once():
    with pytest.raises(DatabaseError, match="is written once"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("TRUNCATE record_event CASCADE")


def test_a_commit_is_on_the_disk_and_a_writer_waits_as_long_as_with_sqlite():
    with connection.cursor() as cursor:
        found: dict[str, Any] = {}
        for name in ("synchronous_commit", "lock_timeout"):
            cursor.execute(f"SHOW {name}")
            found[name] = cursor.fetchone()[0]

    assert found == {"synchronous_commit": "on", "lock_timeout": "20s"}

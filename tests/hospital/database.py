"""What differs between the databases that the same tests run on."""

from __future__ import annotations

from typing import Any

from django.db import connection

ON_POSTGRESQL = connection.vendor == "postgresql"


def drop_trigger(cursor: Any, table: str, act: str) -> None:
    """Take the refusal of this act (update, delete) off a table, as someone with the database in hand could."""
    if ON_POSTGRESQL:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    cursor.execute(f"DROP TRIGGER {table}_no_{act}" + (f" ON {table}" if ON_POSTGRESQL else ""))


def acts_refused(cursor: Any, table: str) -> set[str]:
    """The acts that the database itself refuses on a table."""
    if ON_POSTGRESQL:
        cursor.execute(
            "SELECT event_manipulation FROM information_schema.triggers WHERE event_object_table = %s", [table]
        )
        return {str(row[0]) for row in cursor.fetchall()}
    cursor.execute("SELECT sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s", [table])
    return {row[0].split("BEFORE ")[1].split()[0] for row in cursor.fetchall()}

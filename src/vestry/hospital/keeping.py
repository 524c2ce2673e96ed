"""Rows that are written once: neither the model nor the database lets them be changed or deleted."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.db import migrations, models


class WrittenOnce(Exception):
    """Someone tried to change or delete a row that is never changed."""


class OnceQuerySet(models.QuerySet[Any]):
    """A query set that only reads and adds."""

    def update(self, **_: Any) -> int:
        raise WrittenOnce(f"{self.model._meta.label} is never changed")

    def delete(self) -> tuple[int, dict[str, int]]:
        raise WrittenOnce(f"{self.model._meta.label} is never deleted")


class Once(models.Model):
    """Base of rows that are written once. Triggers in the migrations hold it against everyone else."""

    objects = OnceQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise WrittenOnce(f"{self._meta.label} is never changed")
        kwargs["force_insert"] = True
        super().save(*args, **kwargs)

    def delete(self, *_: Any, **__: Any) -> tuple[int, dict[str, int]]:
        raise WrittenOnce(f"{self._meta.label} is never deleted")


def written_once(*tables: str) -> migrations.RunPython:
    """A step of a migration: rows of these tables are neither changed nor deleted, whoever asks."""

    def run(schema_editor: Any, which: int) -> None:
        write = TRIGGERS[schema_editor.connection.vendor]
        for table in tables:
            for statement in write(table)[which]:
                schema_editor.execute(statement, params=None)

    return migrations.RunPython(lambda apps, editor: run(editor, 0), lambda apps, editor: run(editor, 1))


def triggers(table: str) -> tuple[list[str], list[str]]:
    """SQL that makes SQLite refuse changes and deletions of a table's rows, and SQL that takes it back."""
    acts = ("update", "delete")
    make = [
        f"CREATE TRIGGER {table}_no_{act} BEFORE {act.upper()} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{table} is written once'); END"
        for act in acts
    ]
    return make, [f"DROP TRIGGER {table}_no_{act}" for act in acts]


_REFUSE = """CREATE OR REPLACE FUNCTION vestry_written_once() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '% is written once', TG_TABLE_NAME USING ERRCODE = 'integrity_constraint_violation';
END $$"""


def postgresql_triggers(table: str) -> tuple[list[str], list[str]]:
    """The same for PostgreSQL, where a table can also be emptied at once. Made anew where there is one already:
    a table whose columns change is another one in SQLite, and the same in PostgreSQL."""
    acts = {"update": "ROW", "delete": "ROW", "truncate": "STATEMENT"}
    make = [
        f"CREATE OR REPLACE TRIGGER {table}_no_{act} BEFORE {act.upper()} ON {table} "
        f"FOR EACH {each} EXECUTE FUNCTION vestry_written_once()"
        for act, each in acts.items()
    ]
    return [_REFUSE, *make], [f"DROP TRIGGER IF EXISTS {table}_no_{act} ON {table}" for act in acts]


TRIGGERS: Mapping[str, Callable[[str], tuple[list[str], list[str]]]] = {
    "sqlite": triggers,
    "postgresql": postgresql_triggers,
}

"""Rows that are written once: neither the model nor the database lets them be changed or deleted.

One exception, held by the same triggers: a row that a confirmed removal names (retention.models.LetGo) may go, or, of
an event, lose its content and nothing else. A migration that makes such a table anew in SQLite must set them anew.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
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


_NAMED = (
    "EXISTS (SELECT 1 FROM retention_letgo JOIN retention_removal "
    "ON retention_removal.proposal_id = retention_letgo.proposal_id "
    "WHERE retention_letgo.of_table = '{table}' AND retention_letgo.key = {key})"
)


def let_go_once_named(*tables: str) -> migrations.RunPython:
    """A step of a migration: rows of these written-once tables may be deleted once a removal names them."""

    def run(schema_editor: Any) -> None:
        for table in tables:
            for statement in _deletable(schema_editor.connection.vendor, table):
                schema_editor.execute(statement, params=None)

    return migrations.RunPython(lambda apps, editor: run(editor), migrations.RunPython.noop)


def _deletable(vendor: str, table: str) -> list[str]:
    if vendor == "sqlite":
        named = _NAMED.format(table=table, key="CAST(OLD.id AS TEXT)")
        return [
            f"DROP TRIGGER {table}_no_delete",
            f"CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} WHEN NOT {named} "
            f"BEGIN SELECT RAISE(ABORT, '{table} is written once'); END",
        ]
    named = _NAMED.format(table=table, key="replace(OLD.id::text, '-', '')")
    return [_allowing(f"vestry_let_go_{table}", named, "OLD"), _again(table, "delete", f"vestry_let_go_{table}")]


def emptied_once_named(table: str, key: str, kept: Sequence[str], gone: Mapping[str, str]) -> migrations.RunPython:
    """A step of a migration: a row of this table may lose what is in `gone`, to these SQL values, once a removal names
    it. All of `kept` must stay as it is: together they are every column."""

    def run(schema_editor: Any) -> None:
        vendor = schema_editor.connection.vendor
        same = "IS" if vendor == "sqlite" else "IS NOT DISTINCT FROM"
        rules = [f"NEW.{one} {same} OLD.{one}" for one in kept]
        rules += [f"NEW.{one} {same} {value}" for one, value in gone.items()]
        rules.append(_NAMED.format(table=table, key=f"CAST(OLD.{key} AS TEXT)"))
        lawful = " AND ".join(rules)
        if vendor == "sqlite":
            statements = [
                f"DROP TRIGGER {table}_no_update",
                f"CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table} WHEN NOT ({lawful}) "
                f"BEGIN SELECT RAISE(ABORT, '{table} is written once'); END",
            ]
        else:
            name = f"vestry_emptied_{table}"
            statements = [_allowing(name, lawful, "NEW"), _again(table, "update", name)]
        for statement in statements:
            schema_editor.execute(statement, params=None)

    return migrations.RunPython(lambda apps, editor: run(editor), migrations.RunPython.noop)


def _allowing(name: str, lawful: str, row: str) -> str:
    return f"""CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF {lawful} THEN RETURN {row}; END IF;
  RAISE EXCEPTION '% is written once', TG_TABLE_NAME USING ERRCODE = 'integrity_constraint_violation';
END $$"""


def _again(table: str, act: str, function: str) -> str:
    return (
        f"CREATE OR REPLACE TRIGGER {table}_no_{act} BEFORE {act.upper()} ON {table} "
        f"FOR EACH ROW EXECUTE FUNCTION {function}()"
    )

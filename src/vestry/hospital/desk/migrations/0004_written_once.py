"""Triggers for the rows of 0003; those of the later assurance again, since changing its columns made the table anew."""

from django.db import migrations

from vestry.hospital.keeping import triggers

TABLES = (
    "desk_approvalbasis",
    "desk_factssnapshot",
    "desk_factsversion",
    "desk_caserow",
    "desk_practice",
    "desk_laterassurance",
)


def forwards(apps, schema_editor):
    _run(schema_editor, 0)


def backwards(apps, schema_editor):
    _run(schema_editor, 1)


def _run(schema_editor, which):
    if schema_editor.connection.vendor != "sqlite":
        raise NotImplementedError("triggers are written for SQLite so far")
    for table in TABLES:
        for statement in triggers(table)[which]:
            schema_editor.execute(statement)


class Migration(migrations.Migration):
    dependencies = (("desk", "0003_procedures"),)
    operations = (migrations.RunPython(forwards, backwards),)

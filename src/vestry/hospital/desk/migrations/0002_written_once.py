"""Triggers: rows that are written once are neither changed nor deleted, whoever asks."""

from django.db import migrations

from vestry.hospital.keeping import triggers

TABLES = ("desk_policyversion", "desk_namedoverride", "desk_procedureversion", "desk_retirement", "desk_laterassurance")


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
    dependencies = (("desk", "0001_initial"),)
    operations = (migrations.RunPython(forwards, backwards),)

"""Triggers: rows that are written once are neither changed nor deleted, whoever asks."""

from django.db import migrations

from vestry.hospital.keeping import written_once

TABLES = ("record_event",)


class Migration(migrations.Migration):
    dependencies = (("record", "0001_initial"),)
    operations = (written_once(*TABLES),)
